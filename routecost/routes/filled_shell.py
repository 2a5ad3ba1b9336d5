"""Resin-filled shell: print a thin shell, pour casting resin into it, pour upon pour."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from routecost.routes.casting.shell_filling import Filling, filling_operations
from routecost.routes.casting.shells import Shells
from routecost.routes.printing.print_checks import finishes_of_print, is_primed, owned_reason
from routecost.routes.printing.print_poses import cosine
from routecost.routes.printing.print_runs import strength_share_at
from routecost.routes.printing.print_steps import repeated
from routecost.routes.printing.print_ways import Way, ways_to_print
from routecost.routes.process.operation import Level, Operation, ProcessPlan, Reason, Verdict, timed, used
from routecost.routes.process.part import Part
from routecost.routes.steps.joining import bond_operations, seal_operation, sealing_coats, seam_reason, trials
from routecost.routes.steps.running import batch_usages, blades, protection
from routecost.routes.steps.surface_finish import FinishPlan
from routecost.routes.steps.verdicts import (
    haze_reason,
    heat_reason,
    light_reason,
    load_reason,
    opaque_reason,
    present,
    tolerance_reason,
)
from routecost.shop.facts import Factor
from routecost.shop.materials import CastingResin, Filament
from routecost.shop.shop import Shop
from routecost.shop.standards import CastingStandards, JoiningStandards, MoldingStandards, PrintingStandards


@dataclass(frozen=True)
class FilledShell:
    """Printers x filaments x poses x resins x finishes."""

    id: str = "filled-shell"
    name: str = "resin-filled shell"

    def plans(self, part: Part, shop: Shop) -> Iterator[ProcessPlan]:
        if part.shape is None:
            return
        shells = Shells(part, shop)
        always = present(_void_reason(part), *_room_reasons(part, shells))
        ways = ways_to_print(
            shells.subject, shop, part.copies, up=part.up, judge=lambda way: _reasons(part, shop, way)
        )
        finishes = {way.printer.id: finishes_of_print(part, shop, way.printer) for way in ways}
        for way in ways:
            for resin in shop.all(CastingResin):
                filling = shells.filling(way, resin)
                for finish in finishes[way.printer.id]:
                    yield _plan(self.id, part, shop, way, shells, filling, finish, always)


FILLED_SHELL = FilledShell()


def _plan(
    route: str,
    part: Part,
    shop: Shop,
    way: Way,
    shells: Shells,
    filling: Filling,
    finish: FinishPlan,
    always: tuple[Reason, ...],
) -> ProcessPlan:
    s, resin = shells.standards, filling.resin
    tries = 1.0 / s.yield_shell
    again = (tries, f"{tries:.3g} shells a good copy", s.ref("yield_shell"))
    shows_light = way.filament.transmits == "translucent" and not is_primed(finish, shop)
    n, entries = part.copies, shells.entries(way)
    filled = (
        *bond_operations(shop, n, way.joint),
        *_tight_seams(shop, n, way),
        _check(shop, s, n, entries),
        *_boards(s, n, filling),
        *filling_operations(shop, filling, n, entries, seen=shows_light),
    )
    operations = (
        *way.operations(shop, *again),
        *(repeated(step, *again) for step in filled),
        *_open_face(s, n, shells.opening_mm2(way)),
        *finish.operations,
        *trials(shop, part),
    )
    mass_g = way.copy_g + filling.part_g
    done = [finish.name] if finish.operations else []
    reasons = present(
        *way.reasons,
        *filling.reasons,
        *finish.reasons,
        _haze(part, way.filament, resin, shop),
        heat_reason(part.demands, min(way.filament.softens_degc, resin.softens_degc), "shell or resin", shop),
        _load(part, shop, way, filling),
        opaque_reason(part.demands, shows_light, f"{way.filament.id} with {resin.id}"),
        *_mass_reasons(way, filling, shop.the(MoldingStandards)),
        _bubble_reason(part, resin),
        _entries_reason(entries, s),
        *always,
    )
    return ProcessPlan(
        route=route,
        part=part.id,
        copies=part.copies,
        alternative=", ".join((f"{way.filament.id} on {way.printer.id}", way.placement, resin.id, *done)),
        operations=operations,
        verdict=Verdict(reasons),
        mass_g=part.copies * mass_g,
        tools=frozenset({way.printer.id}),
        chosen={
            "filament": way.filament.id,
            "printer": way.printer.id,
            "placement": way.placement,
            "resin": resin.id,
            "top": "open" if shells.opening_mm2(way) > 0.0 else "closed, with ports",
            "finish": finish.name,
        },
    )


def _reasons(part: Part, shop: Shop, way: Way) -> tuple[Reason, ...]:
    """What depends on printer, filament and pose."""
    s, p, f = shop.the(CastingStandards), shop.the(PrintingStandards), way.filament
    return present(
        tolerance_reason(part, way.printer.finest_tolerance_mm, way.printer.id, shop),
        seam_reason(part, way.joint),
        owned_reason(shop, way.printer),
        _lost_support_reason(part, way),
        light_reason(part.demands, 2.0 * s.shell_wall_mm, f.light_path_mm, p.light_share, f"shell of {f.id}"),
    )


def _void_reason(part: Part) -> Reason | None:
    assert part.shape is not None
    n = part.shape.solid.closed_voids
    if not n:
        return None
    return Reason(
        "ruled out", f"{n} closed voids cannot be filled around: their shells would float in the resin"
    )


def _room_reasons(part: Part, shells: Shells) -> Iterator[Reason]:
    """Whether there is room between two shell walls, and whether resin flows in it."""
    assert part.shape is not None
    s, walls = shells.standards, part.shape.walls
    wall, flows = s.shell_wall_mm, s.flow_wall_mm
    up = part.up if part.up is not None else part.shape.poses[0].up
    cm3 = shells.cavity(up).volume_mm3 / 1000.0
    gap = walls.typical_mm - 2.0 * wall
    mend = f"thicken to {2.0 * wall + flows:g} mm to fill them"
    if gap <= 0.0:
        text = f"walls of {walls.typical_mm:.2g} mm leave no cavity between two shell walls of {wall:g} mm"
        yield Reason("ruled out", text)
    elif gap < flows:
        text = f"walls of {walls.typical_mm:.2g} mm leave {gap:.2g} mm between two shell walls"
        yield Reason("ruled out", f"{text}; resin flows in {flows:g} mm: {mend}")
    elif cm3 < s.smallest_fill_cm3:
        text = f"nothing to fill: shell walls of {wall:g} mm leave a cavity of {cm3:.2g} cm³"
        yield Reason("ruled out", text)
    elif walls.thinnest_mm < 2.0 * wall + flows:
        yield Reason(
            "changes", f"walls of {walls.thinnest_mm:.2g} mm stay hollow or become solid print: {mend}"
        )


def _lost_support_reason(part: Part, way: Way) -> Reason | None:
    """Supports that stay in the resin: they cost nothing to remove, but light shows them."""
    inside_g = sum(run.inner_support_g * run.body.number for run in way.runs)
    if inside_g < 0.01:
        return None
    level: Level = "changes" if part.demands.clarity == "translucent" else "suits"
    mend = ": they show against the light" if level == "changes" else ""
    return Reason(level, f"{inside_g:.1f} g of supports stay inside each shell{mend}")


def _haze(part: Part, filament: Filament, resin: CastingResin, shop: Shop) -> Reason:
    haze = max(filament.wall_haze_percent, resin.haze_percent)
    what = "printed walls" if filament.wall_haze_percent >= resin.haze_percent else resin.id
    return haze_reason(part.demands, haze, what, shop)


def _load(part: Part, shop: Shop, way: Way, filling: Filling) -> Reason | None:
    """Shell and core side by side: each bears its share of the section at its own strength."""
    if part.demands.load_n <= 0.0:
        return None
    across = max(abs(cosine(run.body.pose.up, part.demands.load_direction)) for run in way.runs)
    along = strength_share_at(shop.the(PrintingStandards).layer_strength_share, across)
    shell_cm3 = way.copy_g / way.filament.density_g_cm3
    core_cm3 = filling.part_g / filling.resin.density_g_cm3
    core = core_cm3 / (shell_cm3 + core_cm3)
    strength = core * filling.resin.strength_mpa + (1.0 - core) * way.filament.strength_mpa * along
    return load_reason(part, strength, 1.0, shop, f"shell and core of {filling.resin.id}")


def _mass_reasons(way: Way, filling: Filling, m: MoldingStandards) -> Iterator[Reason]:
    total = way.copy_g + filling.part_g
    yield Reason("suits", f"{total:.0f} g a copy, {filling.part_g / total:.0%} of it resin")
    if total > 1000.0 * m.liftable_kg:
        text = f"{total / 1000:.0f} kg; one person lifts {m.liftable_kg:g} kg: work with a second person"
        yield Reason("changes", text)


def _entries_reason(entries: int, s: CastingStandards) -> Reason | None:
    if entries <= s.most_entries:
        return None
    text = f"{entries} ports and vents in each shell: thin spots divide its cavity: thicken them"
    return Reason("changes", text)


def _bubble_reason(part: Part, resin: CastingResin) -> Reason | None:
    """A shell does not stand a pressure pot full of air on one side only."""
    if part.demands.clarity == "any" or not resin.needs_pressure:
        return None
    return Reason("suits", f"{resin.id} is bubble-free only under pressure; in a shell its bubbles stay")


def _tight_seams(shop: Shop, copies: int, way: Way) -> tuple[Operation, ...]:
    """A bonded shell is coated along its seams from inside before anything is poured."""
    coats = sealing_coats(shop)
    if way.joint.bonds < 1 or not coats:
        return ()
    strip = way.joint.seam_mm * shop.the(JoiningStandards).seam_strip_mm
    return (seal_operation(shop, copies, strip, coats[0], "the seams inside"),)


def _check(shop: Shop, s: CastingStandards, copies: int, entries: int) -> Operation:
    shells, ports = (copies, "shells"), (copies * entries, "ports and vents")
    check = timed(shells, s.rate("shell_check_min", "to close pin holes, fill with water, look and dry"))
    cut = timed(ports, s.rate("port_min", "to cut, and to close in the end"))
    usages = [check, used("wipe", (2, "wipes"), shells), *protection(shop, check, cut)]
    if entries:
        usages += [cut, blades(shop, cut)]
    coats = sealing_coats(shop)
    if coats:
        usages += [
            used(coats[0].id, shells, s.rate("shell_seal_g", "on seams and pin holes")),
            *batch_usages(shop, 1),
            used("brush", (1, "brush")),
        ]
    return Operation(
        "seal the shells, test for leaks" + (", cut ports and vents" if entries else ""),
        tuple(usages),
        waiting_min=coats[0].dry_h * 60.0 if coats else 0.0,
        cautions=("blade", "sensitiser") if entries else ("sensitiser",),
        note="water must be dried off to the last drop: it foams polyurethane",
    )


def _boards(s: CastingStandards, copies: int, filling: Filling) -> tuple[Operation, ...]:
    if filling.boards_cm2 <= 0.0:
        return ()
    shells, round_cm = (copies, "shells"), 4.0 * filling.boards_cm2**0.5
    return (
        Operation(
            "back the flat panels with boards",
            (
                timed(shells, s.rate("back_panel_min")),
                used("mold-board", shells, (filling.boards_cm2, "cm² on both sides")),
                used("tape", shells, (round_cm, "cm round the boards")),
            ),
        ),
    )


def _open_face(s: CastingStandards, copies: int, open_mm2: float) -> tuple[Operation, ...]:
    """A free face creeps up at the rim: it is cut and dressed like a sprue."""
    if open_mm2 <= 0.0:
        return ()
    shells, rims = (
        (copies, "shells"),
        Factor(s.rims_per_blade, f"{s.rims_per_blade:g} rims a blade", divides=True),
    )
    return (
        Operation(
            "cut the rim and dress the open face",
            (timed(shells, s.rate("sprue_min")), used("blade", shells, rims)),
            cautions=("blade", "dust"),
        ),
    )
