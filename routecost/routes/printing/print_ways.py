"""Which ways of printing are worth a price: printers x filaments x poses x copies on a plate, or pieces.

Poses are first ranked by what is cheap to measure; only a handful is then measured layer by layer. Of the
ways of one printer and filament, only those remain that no other beats in everything they use.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from math import exp

from routecost.core.arrays import Vector
from routecost.mesh.measuring.measures import Deposit, Fit, Pose
from routecost.mesh.measuring.shape import Shape
from routecost.routes.printing.print_pieces import equal_share, measured_pieces
from routecost.routes.printing.print_poses import MOST_POSES, poses_to_try, unbeaten
from routecost.routes.printing.print_runs import Body, PrintRun, copies_on_plate
from routecost.routes.printing.print_steps import print_operations
from routecost.routes.process.operation import Level, Operation, Reason, Verdict
from routecost.routes.steps.joining import Joint
from routecost.shop.machines import Printer
from routecost.shop.materials import Filament
from routecost.shop.shop import Shop
from routecost.shop.standards import PrintingStandards

PLATE_SIZES = (10**6, 4, 1)
"""A plate is tried full, and with no more than so many: a failed plate loses all on it. The same for any
number of copies, so that one copy more never costs less."""
_NO_NUMBER = 500.0
"""Failures beyond which the expected hours are no number any more."""


@dataclass(frozen=True, eq=False)
class Subject:
    """What is to be printed, and how it is measured."""

    shape: Shape
    whole: Callable[[Pose, Printer], Body]
    split: Callable[[Vector, Printer], Split]
    """Into pieces that go into a volume of x, y and height in mm."""
    enlarged: float = 1.0
    shuns: Callable[[Pose], float] = lambda pose: 0.0
    """One more mark of a pose, the less the better."""
    most_poses: int = MOST_POSES


@dataclass(frozen=True, eq=False)
class Split:
    """A part in pieces; what the fit says holds where it is in one."""

    fit: Fit
    bodies: tuple[Body, ...] = ()

    @property
    def joint(self) -> Joint:
        return Joint.of(self.fit)


@dataclass(frozen=True, eq=False)
class Way:
    """One way to print all copies: a run, or a run for each piece."""

    printer: Printer
    filament: Filament
    runs: tuple[PrintRun, ...]
    joint: Joint
    reasons: tuple[Reason, ...] = ()

    @property
    def pose(self) -> Pose:
        """Of the whole, or of the first piece."""
        return self.runs[0].body.pose

    @property
    def copy_g(self) -> float:
        """Mass of one copy as printed."""
        return sum(run.one_g * run.body.number for run in self.runs)

    @property
    def amounts(self) -> tuple[float, ...]:
        """All that its draws are proportional to; see `PrintRun.amounts`."""
        return tuple(sum(column) for column in zip(*(run.amounts for run in self.runs), strict=True))

    @property
    def placement(self) -> str:
        """`+z up, 4 on a plate`, or how many pieces."""
        if self.joint.pieces > 1:
            return f"in {self.joint.pieces} pieces"
        return f"{direction_words(self.pose.up)} up, {self.runs[0].most_on_a_plate} on a plate"

    def operations(
        self, shop: Shop, tries: float = 1.0, why: str = "", facts: tuple[str, ...] = ()
    ) -> tuple[Operation, ...]:
        """Its steps; `tries` prints for each good one where a later step loses some, and why."""
        return tuple(op for run in self.runs for op in print_operations(run, tries, why, facts))


def direction_words(direction: Vector) -> str:
    """A direction in the part's own frame.

    >>> direction_words((0.0, -1.0, 0.0)), direction_words((0.6, 0.0, 0.8))
    ('-y', '(0.60 0.00 0.80)')
    """
    for axis, c in zip("xyz", direction, strict=True):
        if abs(c) > 0.9999:
            return ("+" if c > 0 else "-") + axis
    return "(" + " ".join(f"{c:.2f}" for c in direction) + ")"


def solid(shape: Shape, shop: Shop, what: str = "", enlarged: float = 1.0) -> Subject:
    """A part or master with walls, skins and infill; a master is `enlarged` by what mold and resin shrink.

    Enlarging takes the measured amounts times its cube, so that nothing is measured again.
    """
    s = shop.the(PrintingStandards)

    def body(deposit: Deposit, pose: Pose, name: str) -> Body:
        # how much is out of reach is only asked where something has to come off
        hidden = shape.reach().none if pose.contact_area_mm2 > 0.0 else 0.0
        return Body(
            pose,
            deposit,
            s.infill_share,
            name,
            amount=enlarged**3,
            supports=enlarged**3,
            lengths=enlarged,
            unreached_share=hidden,
        )

    def whole(pose: Pose, printer: Printer) -> Body:
        laid = shape.deposit(pose.up, printer.layer_mm, printer.line_mm, s.walls, s.skins)
        return body(laid, pose, what)

    def split(volume_mm: Vector, printer: Printer) -> Split:
        fit = shape.fit(volume_mm)
        if fit.fits:
            return Split(fit)
        if not fit.piece_ups:
            return Split(fit, (equal_share(whole(shape.pose(fit.up), printer), fit.pieces),))
        found = measured_pieces(shape, fit, printer.layer_mm, printer.line_mm, s.walls, s.skins)
        named = [f"piece {i} of {len(found)}" for i in range(1, len(found) + 1)]
        return Split(fit, tuple(body(p.deposit, p.pose, name) for p, name in zip(found, named, strict=True)))

    return Subject(shape, whole, split, enlarged)


def ways_to_print(
    subject: Subject,
    shop: Shop,
    copies: int,
    *,
    up: Vector | None = None,
    load_direction: Vector | None = None,
    judge: Callable[[Way], Iterable[Reason]] = lambda way: (),
) -> list[Way]:
    """Every way worth a price. `judge` adds the caller's reasons that depend on printer, filament and pose.

    A part is split for a printer that does not take it whole, or only in a print that wobbles or is lost too
    often. Of ways with the same printer, filament and verdict only those stay that no other beats in
    everything it draws.
    """
    s = shop.the(PrintingStandards)
    found: list[Way] = []
    for printer in shop.printers():

        def ways(layout: _Layout, printer: Printer = printer) -> Iterator[Way]:
            bodies, joint, reasons = layout
            for filament in shop.all(Filament):
                for runs in _runs(bodies, printer, filament, s, copies):
                    yield Way(
                        printer, filament, runs, joint, (*reasons, *_slender(runs, s), *_risky(runs, s))
                    )

        whole = [way for layout in _whole(subject, printer, s, up, load_direction) for way in ways(layout)]
        found += whole
        if all(Verdict(way.reasons).level != "suits" for way in whole):
            lowest = min((way.runs[0].body.height_mm for way in whole), default=None)
            for layout in _split(subject, printer, s, lowest):
                found += ways(layout)

    groups: dict[tuple[str, str, str], list[Way]] = {}
    for way in found:
        judged = replace(way, reasons=(*way.reasons, *judge(way)))
        key = (way.printer.id, way.filament.id, Verdict(judged.reasons).level)
        groups.setdefault(key, []).append(judged)
    return [way for group in groups.values() for way in unbeaten(group, lambda w: w.amounts)]


_Layout = tuple[tuple[Body, ...], Joint, tuple[Reason, ...]]


def _whole(
    subject: Subject, printer: Printer, s: PrintingStandards, up: Vector | None, load_direction: Vector | None
) -> Iterator[_Layout]:
    """In a handful of poses; if no candidate fits upright and square, turned on the bed."""
    shape, one = subject.shape, Joint(1, 0.0, 0.0)
    upright = [
        pose
        for pose in ((shape.pose(up),) if up is not None else shape.poses)
        if copies_on_plate(*_outline(pose, subject.enlarged), printer, s.plate_gap_mm, 1) > 0
    ]
    for pose in poses_to_try(upright, load_direction, subject.shuns, subject.most_poses):
        yield (subject.whole(pose, printer),), one, ()
    if not upright:
        fit = shape.fit(_volume(printer))
        if fit.fits:
            text = f"fits {printer.id} only with {direction_words(fit.up)} up, turned on the bed"
            level: Level = "suits" if up is None else "changes"
            yield (subject.whole(shape.pose(fit.up), printer),), one, (Reason(level, text),)


def _split(
    subject: Subject, printer: Printer, s: PrintingStandards, whole_height_mm: float | None
) -> Iterator[_Layout]:
    """In pieces; those of a part that fits whole but unstably are cut to be lower than it."""
    width, depth, height = _volume(printer)
    if whole_height_mm is not None:
        height = min(height, s.piece_height_share * whole_height_mm / subject.enlarged)
    split = subject.split((width, depth, height), printer)
    if not split.fit.fits:
        too_many: tuple[Reason, ...] = ()
        if not split.fit.piece_ups:
            too_many = (Reason("ruled out", f"it would take {split.fit.pieces} pieces to fit {printer.id}"),)
        yield split.bodies, split.joint, too_many


def _volume(printer: Printer) -> Vector:
    return printer.width_mm, printer.depth_mm, printer.height_mm


def _outline(pose: Pose, enlarged: float) -> tuple[float, tuple[float, float]]:
    short, long = pose.footprint_mm
    return pose.height_mm * enlarged, (short * enlarged, long * enlarged)


def _runs(
    bodies: Sequence[Body], printer: Printer, filament: Filament, s: PrintingStandards, copies: int
) -> Iterator[tuple[PrintRun, ...]]:
    """The bodies with full plates, with fewer on each, and one by one; sizes that come to the same once."""
    seen = set()
    for size in PLATE_SIZES:
        runs = []
        for body in bodies:
            wanted = copies * body.number
            room = copies_on_plate(body.height_mm, body.footprint_mm, printer, s.plate_gap_mm, wanted)
            runs.append(PrintRun(body, printer, filament, s, wanted, max(1, min(size, room))))
        sizes = tuple(run.most_on_a_plate for run in runs)
        most = max(run.failures for run in runs)
        if sizes not in seen and most <= (s.most_failures if max(sizes) > 1 else _NO_NUMBER):
            seen.add(sizes)
            yield tuple(runs)


def _risky(runs: Sequence[PrintRun], s: PrintingStandards) -> Iterator[Reason]:
    """Of one body alone: a fuller plate is a choice, and its losses are in its cost."""
    rate = runs[0].printer.failure_per_h
    hours = max(run.time(1).total_min for run in runs) / 60.0
    lost = 1.0 - exp(-rate * hours)
    if lost <= s.risky_print_share:
        return
    text = f"a print of {hours:.0f} h at {rate:g} failures an hour is lost with {lost:.0%}"
    if rate * hours > s.most_failures:
        yield Reason("ruled out", f"{text}: it practically never succeeds")
    else:
        yield Reason("changes", f"{text}: better split it, or make the printer more reliable")


def _slender(runs: Sequence[PrintRun], s: PrintingStandards) -> Iterator[Reason]:
    body = max((run.body for run in runs), key=lambda body: body.slenderness)
    if body.slenderness > s.slender_limit:
        yield Reason(
            "changes",
            f"stands {body.height_mm:.0f} mm high on {body.footprint_mm[0]:.1f} mm, {body.slenderness:.0f} to 1: "
            f"add a brace (beyond {s.slender_limit:g} to 1 a print wobbles)",
        )
