"""Resin-filled shell: print a thin shell, pour casting resin into it, pour upon pour."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

from routecost.parts.measures import Cavity, Fit, Pose, Vector
from routecost.routes.fdm import finishes_of_print, is_primed, owned_reason
from routecost.routes.finishing import FinishPlan
from routecost.routes.joining import bond_operations, seal_operation, sealing_coats, seam_reason, tests
from routecost.routes.operation import Draw, Operation, ProcessPlan, Reason, Verdict, own_time
from routecost.routes.part import Part
from routecost.routes.print_ways import (
    Piece,
    Split,
    Subject,
    Way,
    cosine,
    equal_share,
    pieces_of,
    ways_to_print,
)
from routecost.routes.printing import Body, strength_share_at
from routecost.routes.running import batch_draws, protection
from routecost.routes.shell_filling import Filling, filling_operations, plan_filling
from routecost.routes.verdicts import (
    haze_reason,
    heat_reason,
    kept,
    load_reason,
    opaque_reason,
    tolerance_reason,
)
from routecost.shop.machines import Printer
from routecost.shop.materials import CastingResin, Filament
from routecost.shop.shop import Shop
from routecost.shop.standards import CastingStandards, JoiningStandards, PrintingStandards

_ALL_WALL = 99
"""Loops enough to make any shell wall solid."""


@dataclass(frozen=True)
class FilledShell:
    """Printers x filaments x poses x resins x finishes."""

    id: str = "filled-shell"
    name: str = "resin-filled shell"

    def plans(self, part: Part, shop: Shop) -> Iterator[ProcessPlan]:
        if part.shape is None:
            return
        shells = _Shells(part, shop)
        always = kept(_void_reason(part), *_room_reasons(part, shop, shells))
        ways = ways_to_print(
            shells.subject, shop, part.copies, up=part.up, judge=lambda way: _reasons(part, shop, way)
        )
        for way in ways:
            for resin in shop.all(CastingResin):
                filling = shells.filling(way, resin)
                for finish in finishes_of_print(part, shop, way.printer):
                    yield _plan(self.id, part, shop, way, shells, filling, finish, always)


FILLED_SHELL = FilledShell()


@dataclass(frozen=True, eq=False)
class _Shells:
    """The shell of one part, in any pose: what is printed of it and what room it leaves."""

    part: Part
    shop: Shop

    @cached_property
    def standards(self) -> CastingStandards:
        return self.shop.the(CastingStandards)

    @property
    def wall_mm(self) -> float:
        return self.standards.shell_wall_mm

    def cavity(self, up: Vector) -> Cavity:
        assert self.part.shape is not None
        return self.part.shape.cavity(self.wall_mm, up)

    def open_mm2(self, pose: Pose) -> float:
        """Area of the top that is left open: a flat top needs no roof, the resin makes the face."""
        sections = self.cavity(pose.up).area_by_height_mm2
        if not pose.flat_opening or not sections:
            return 0.0
        return min(max(sections[-2:]), pose.flat_opening_area_mm2)

    def opening_mm2(self, way: Way) -> float:
        """Pieces have open faces of their own; bonded, they are closed all round."""
        return self.open_mm2(way.pose) if way.joint.bonds == 0 else 0.0

    def resin_mm3(self, way: Way) -> float:
        """What one shell takes: the cavity and the missing roof, less the supports that stay inside."""
        inside = sum(
            run.body.inner_support_mm3 * run.standards.support_share * run.body.number for run in way.runs
        )
        room = self.cavity(way.pose.up).volume_mm3 + self.opening_mm2(way) * self.wall_mm
        return max(0.0, room - inside)

    def filling(self, way: Way, resin: CastingResin) -> Filling:
        volume = self.resin_mm3(way)
        return plan_filling(self.cavity(way.pose.up), volume, resin, way.filament, self.standards)

    def entries(self, way: Way) -> int:
        """Ports and vents of one shell: one for each space and each top, the open top being one of them."""
        cavity = self.cavity(way.pose.up)
        wanted = max(cavity.spaces, cavity.peaks, 1)
        return wanted - 1 if self.opening_mm2(way) > 0.0 else wanted

    @cached_property
    def subject(self) -> Subject:
        shape = self.part.shape
        assert shape is not None
        # a pose with a flat top needs neither roof nor supports under it
        return Subject(shape, self._whole, self._split, shuns=lambda pose: 0.0 if pose.flat_opening else 1.0)

    def _whole(self, pose: Pose, printer: Printer) -> Body:
        shape = self.part.shape
        assert shape is not None
        deposit = shape.shell_deposit(pose.up, printer.layer_mm, printer.line_mm, self.wall_mm)
        opened, cavity = self.open_mm2(pose), self.cavity(pose.up)
        roofless = deposit.volume_mm3 - opened * self.wall_mm
        return Body(
            pose,
            deposit,
            infill_share=1.0,
            what="shell",
            amount=max(0.1, roofless / deposit.volume_mm3) if deposit.volume_mm3 > 0.0 else 1.0,
            inner_support_mm3=max(0.0, self._columns_mm3(pose) - opened * cavity.height_mm),
            unreached_share=shape.reach().none if pose.contact_area_mm2 > 0.0 else 0.0,
        )

    def _columns_mm3(self, pose: Pose) -> float:
        """Support columns inside the closed shell: those of the shell over those of the part. Kept."""
        shape = self.part.shape
        assert shape is not None

        def measure() -> float:
            from routecost.parts.cavity import shell_mesh
            from routecost.parts.poses import measure_pose

            shell = measure_pose(shell_mesh(shape.mesh, self.wall_mm), pose.up)
            return max(0.0, shell.support_volume_mm3 - pose.support_volume_mm3)

        params: dict[str, object] = {"wall_mm": self.wall_mm, "up": pose.up}
        return shape.kept.get(float, shape.mesh.content_hash, "shell-columns", params, measure)

    def _split(self, volume_mm: Vector, printer: Printer) -> Split:
        """The shell itself is cut, so that bonds are as wide as its wall."""
        shape = self.part.shape
        assert shape is not None

        def measure() -> _ShellPieces:
            from routecost.parts.cavity import shell_mesh
            from routecost.parts.splitting import measure_fit, split_mesh

            shell = shell_mesh(shape.mesh, self.wall_mm)
            fit = measure_fit(shell, volume_mm)
            if fit.fits or not fit.piece_ups:
                return _ShellPieces(fit, ())
            meshes = split_mesh(shell, volume_mm)
            return _ShellPieces(fit, pieces_of(meshes, fit, printer.layer_mm, printer.line_mm, _ALL_WALL, 0))

        params: dict[str, object] = {
            "volume_mm": volume_mm, "wall_mm": self.wall_mm,
            "layer_mm": printer.layer_mm, "line_mm": printer.line_mm,
        }  # fmt: skip
        cut = shape.kept.get(_ShellPieces, shape.mesh.content_hash, "shell-pieces", params, measure)
        if cut.fit.fits:
            return Split(cut.fit)
        if not cut.fit.piece_ups:
            whole = self._whole(shape.pose(cut.fit.up), printer)
            return Split(cut.fit, (equal_share(whole, cut.fit.pieces),))
        n = len(cut.pieces)
        bodies = tuple(
            Body(piece.pose, piece.deposit, 1.0, f"shell piece {i} of {n}")
            for i, piece in enumerate(cut.pieces, 1)
        )
        return Split(cut.fit, bodies)


@dataclass(frozen=True)
class _ShellPieces:
    fit: Fit
    pieces: tuple[Piece, ...]


def _plan(
    route: str,
    part: Part,
    shop: Shop,
    way: Way,
    shells: _Shells,
    filling: Filling,
    finish: FinishPlan,
    always: tuple[Reason, ...],
) -> ProcessPlan:
    s, resin = shells.standards, filling.resin
    tries = 1.0 / s.yield_shell
    entries = shells.entries(way)
    made = part.copies * tries
    operations = (
        *way.operations(shop, tries, f"{tries:.3g} shells a good copy", s.ref("yield_shell")),
        *bond_operations(shop, part.copies, way.joint),
        *_tight_seams(shop, part.copies, way),
        _check(shop, s, made, entries),
        *_boards(s, made, filling),
        *filling_operations(shop, filling, made, entries),
        *_open_face(s, part.copies, shells.opening_mm2(way)),
        *finish.operations,
        *tests(shop, part),
    )
    shows_light = way.filament.transmits == "translucent" and not is_primed(finish, shop)
    mass_g = way.copy_g + filling.part_g
    done = [finish.name] if finish.operations else []
    reasons = kept(
        *way.reasons,
        *filling.reasons,
        *finish.reasons,
        _haze(part, way.filament, resin),
        heat_reason(part.demands, min(way.filament.softens_degc, resin.softens_degc), "shell or resin"),
        _load(part, shop, way, filling),
        opaque_reason(part.demands, shows_light, f"{way.filament.id} with {resin.id}"),
        _mass_reason(way, filling),
        *always,
    )
    return ProcessPlan(
        route=route,
        part=part.id,
        copies=part.copies,
        alternative=", ".join((f"{way.filament.id} on {way.printer.id}", way.standing, resin.id, *done)),
        operations=operations,
        verdict=Verdict(reasons),
        mass_g=part.copies * mass_g,
        tools=frozenset({way.printer.id}),
        chosen={
            "filament": way.filament.id,
            "printer": way.printer.id,
            "stands": way.standing,
            "resin": resin.id,
            "top": "open" if shells.opening_mm2(way) > 0.0 else "closed, with ports",
            "finish": finish.name,
        },
    )


def _reasons(part: Part, shop: Shop, way: Way) -> tuple[Reason, ...]:
    """What depends on printer, filament and pose."""
    return kept(
        tolerance_reason(part, way.printer.finest_tolerance_mm, way.printer.id),
        seam_reason(part, way.joint),
        owned_reason(shop, way.printer),
        _lost_support_reason(part, way),
    )


def _void_reason(part: Part) -> Reason | None:
    assert part.shape is not None
    n = part.shape.solid.closed_voids
    if not n:
        return None
    return Reason(
        "ruled out", f"{n} closed voids cannot be filled round: their shells would float in the resin"
    )


def _room_reasons(part: Part, shop: Shop, shells: _Shells) -> Iterator[Reason]:
    """Whether there is anything to fill between two shell walls."""
    assert part.shape is not None
    s, walls = shells.standards, part.shape.walls
    least, wall = 2.0 * s.shell_wall_mm, s.shell_wall_mm
    up = part.up if part.up is not None else part.shape.poses[0].up
    cm3 = shells.cavity(up).volume_mm3 / 1000.0
    if walls.typical_mm <= least:
        text = f"walls of {walls.typical_mm:.2g} mm leave no cavity between two shell walls of {wall:g} mm"
        yield Reason("ruled out", text)
    elif cm3 < s.smallest_fill_cm3:
        text = f"nothing to fill: shell walls of {wall:g} mm leave a cavity of {cm3:.2g} cm³"
        yield Reason("ruled out", text)
    elif walls.thinnest_mm <= least:
        text = f"walls of {walls.thinnest_mm:.2g} mm become solid print: thicken to {least + wall:g} mm to fill them"
        yield Reason("changes", text)


def _lost_support_reason(part: Part, way: Way) -> Reason | None:
    """Supports that stay in the resin: they cost nothing to remove, but light shows them."""
    inside_g = sum(run.inner_support_g * run.body.number for run in way.runs)
    if inside_g < 0.01:
        return None
    level = "changes" if part.demands.clarity == "translucent" else "suits"
    mend = ": they show against the light" if level == "changes" else ""
    return Reason(level, f"{inside_g:.1f} g of supports stay inside each shell{mend}")  # type: ignore[arg-type]


def _haze(part: Part, filament: Filament, resin: CastingResin) -> Reason:
    haze = max(filament.wall_haze_percent, resin.haze_percent)
    what = "printed walls" if filament.wall_haze_percent >= resin.haze_percent else resin.id
    return haze_reason(part.demands, haze, what)


def _load(part: Part, shop: Shop, way: Way, filling: Filling) -> Reason | None:
    """Shell and core side by side: each bears its share of the section at its own strength."""
    if part.demands.load_n <= 0.0:
        return None
    s = shop.the(PrintingStandards)
    across = max(abs(cosine(run.body.pose.up, part.demands.load_direction)) for run in way.runs)
    along = strength_share_at(s.layer_strength_share, across)
    shell_cm3 = way.copy_g / way.filament.density_g_cm3
    core_cm3 = filling.part_g / filling.resin.density_g_cm3
    core = core_cm3 / (shell_cm3 + core_cm3)
    strength = core * filling.resin.strength_mpa + (1.0 - core) * way.filament.strength_mpa * along
    return load_reason(part, strength, 1.0, s, f"shell and core of {filling.resin.id}")


def _mass_reason(way: Way, filling: Filling) -> Reason:
    total = way.copy_g + filling.part_g
    return Reason("suits", f"{total:.0f} g a copy, {filling.part_g / total:.0%} of it resin")


def _tight_seams(shop: Shop, copies: int, way: Way) -> tuple[Operation, ...]:
    """A bonded shell is coated along its seams from inside before anything is poured."""
    coats = sealing_coats(shop)
    if way.joint.bonds < 1 or not coats:
        return ()
    strip = way.joint.seam_mm * shop.the(JoiningStandards).seam_strip_mm
    return (seal_operation(shop, copies, strip, coats[0], "the seams inside"),)


def _check(shop: Shop, s: CastingStandards, shells: float, entries: int) -> Operation:
    n = f"{shells:.3g} shells"
    check_min, port_min = shells * s.shell_check_min, shells * entries * s.port_min
    draws = [
        own_time(
            check_min,
            f"{n} x {s.shell_check_min:g} min: close pin holes, fill with water, look, dry",
            s.ref("shell_check_min", "yield_shell"),
        ),
        Draw("wipe", 2.0 * shells, f"two for each of {n}", s.ref("yield_shell")),
        *protection(shop, check_min + port_min),
    ]
    if port_min > 0.0:
        why = f"{n} x {entries} ports and vents x {s.port_min:g} min to cut, and to close in the end"
        draws.append(own_time(port_min, why, s.ref("port_min", "yield_shell")))
        blade_min = shop.the(PrintingStandards).blade_life_min
        draws.append(Draw("blade", port_min / blade_min, f"{port_min:.0f} min at {blade_min:g} min a blade"))
    coats = sealing_coats(shop)
    if coats:
        draws.append(
            Draw(
                coats[0].id,
                shells * s.shell_seal_g,
                f"{n} x {s.shell_seal_g:g} g on seams and pin holes",
                s.ref("shell_seal_g", "yield_shell"),
            )
        )
        draws += [*batch_draws(shop, 1), Draw("brush", 1, "one")]
    return Operation(
        "seal the shells, test for leaks" + (", cut ports and vents" if entries else ""),
        tuple(draws),
        waiting_min=coats[0].dry_h * 60.0 if coats else 0.0,
        cautions=("blade", "sensitiser") if entries else ("sensitiser",),
        note="water must be dried off to the last drop: it foams polyurethane",
    )


def _boards(s: CastingStandards, shells: float, filling: Filling) -> tuple[Operation, ...]:
    if filling.boards_cm2 <= 0.0:
        return ()
    minutes, area = shells * s.back_panel_min, shells * filling.boards_cm2
    why = f"{shells:.3g} shells x {s.back_panel_min:g} min"
    round_cm = 4.0 * filling.boards_cm2**0.5
    return (
        Operation(
            "back the flat panels with boards",
            (
                own_time(minutes, why, s.ref("back_panel_min", "yield_shell")),
                Draw("mold-board", area, f"{area:.0f} cm² on both sides", s.ref("yield_shell")),
                Draw(
                    "tape",
                    shells * round_cm,
                    f"{shells:.3g} shells x {round_cm:.0f} cm",
                    s.ref("yield_shell"),
                ),
            ),
        ),
    )


def _open_face(s: CastingStandards, copies: int, open_mm2: float) -> tuple[Operation, ...]:
    """A free face creeps up at the rim: it is cut and dressed like a sprue."""
    if open_mm2 <= 0.0:
        return ()
    minutes = copies * s.sprue_min
    return (
        Operation(
            "cut the rim and dress the open face",
            (
                own_time(minutes, f"{copies} x {s.sprue_min:g} min", s.ref("sprue_min")),
                Draw("blade", copies / 10.0, "one for ten copies"),
            ),
            cautions=("blade", "dust"),
        ),
    )
