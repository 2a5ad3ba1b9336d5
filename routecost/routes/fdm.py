"""In-house FDM (material extrusion): print it, take the supports off, bond, finish and seal what has to be."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from routecost.routes.printing.print_checks import (
    finishes_of_print,
    is_primed,
    owned_reason,
    thin_reason,
    void_reason,
)
from routecost.routes.printing.print_poses import cosine
from routecost.routes.printing.print_runs import strength_share_at
from routecost.routes.printing.print_ways import Way, solid, ways_to_print
from routecost.routes.process.operation import ProcessPlan, Reason, Verdict
from routecost.routes.process.part import Part
from routecost.routes.steps.joining import (
    bond_operations,
    bond_reason,
    seal_inside,
    sealing_coats,
    seam_reason,
    trials,
)
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
from routecost.shop.materials import Coating
from routecost.shop.shop import Shop
from routecost.shop.standards import PrintingStandards


@dataclass(frozen=True)
class Fdm:
    """Printers x filaments x poses x copies on a plate x finishes x sealing coats."""

    id: str = "fdm"
    name: str = "in-house FDM"

    def plans(self, part: Part, shop: Shop) -> Iterator[ProcessPlan]:
        if part.shape is None:
            return
        wanted = part.demands
        always = present(void_reason(part))
        ways = ways_to_print(
            solid(part.shape, shop),
            shop,
            part.copies,
            up=part.up,
            load_direction=wanted.load_direction if wanted.load_n > 0.0 else None,
            judge=lambda way: _reasons(part, shop, way),
        )
        coats: tuple[Coating | None, ...] = sealing_coats(shop) if wanted.holds_liquid else (None,)
        if not coats:
            coats = (None,)
            always += (
                Reason("ruled out", "holds liquid; printed walls weep, and the tables have no sealing coat"),
            )
        finishes = {way.printer.id: finishes_of_print(part, shop, way.printer) for way in ways}
        for way in ways:
            for finish in finishes[way.printer.id]:
                for coat in coats:
                    yield _plan(self.id, part, shop, way, finish, coat, always)


FDM = Fdm()


def _plan(
    route: str,
    part: Part,
    shop: Shop,
    way: Way,
    finish: FinishPlan,
    coat: Coating | None,
    always: tuple[Reason, ...],
) -> ProcessPlan:
    sealed = (seal_inside(shop, part, coat),) if coat else ()
    operations = (
        *way.operations(shop),
        *bond_operations(shop, part.copies, way.joint),
        *finish.operations,
        *sealed,
        *trials(shop, part),
    )
    shows_light = way.filament.transmits == "translucent" and not is_primed(finish, shop)
    reasons = present(
        *way.reasons, *finish.reasons, opaque_reason(part.demands, shows_light, way.filament.id)
    )
    done = [finish.name] if finish.operations else []
    done += [f"sealed with {coat.id}"] if coat else []
    return ProcessPlan(
        route=route,
        part=part.id,
        copies=part.copies,
        alternative=", ".join((f"{way.filament.id} on {way.printer.id}", way.placement, *done)),
        operations=operations,
        verdict=Verdict((*reasons, *always)),
        mass_g=part.copies * way.copy_g,
        tools=frozenset({way.printer.id}),
        chosen={
            "filament": way.filament.id,
            "printer": way.printer.id,
            "placement": way.placement,
            "finish": finish.name,
            "seal": coat.id if coat else "none",
        },
    )


def _reasons(part: Part, shop: Shop, way: Way) -> tuple[Reason, ...]:
    """What depends on printer, filament and pose."""
    s, d, f = shop.the(PrintingStandards), part.demands, way.filament
    return present(
        haze_reason(d, f.wall_haze_percent, "printed walls", shop),
        _light_reason(part, way, s),
        heat_reason(d, f.softens_degc, f.id, shop),
        tolerance_reason(part, way.printer.finest_tolerance_mm, way.printer.id, shop),
        thin_reason(part, way.printer),
        seam_reason(part, way.joint),
        _load_reason(part, way, shop),
        bond_reason(part, way.joint, f.strength_mpa, shop),
        owned_reason(shop, way.printer),
    )


def _light_reason(part: Part, way: Way, s: PrintingStandards) -> Reason | None:
    """Light has to cross both walls and the infill between them, at the thickest section."""
    assert part.shape is not None
    f, thick = way.filament, part.shape.walls.thickest_mm
    walls = min(thick, 2.0 * s.walls * way.printer.line_mm)
    path = walls + (thick - walls) * s.infill_share
    return light_reason(
        part.demands, path, f.light_path_mm, s.light_share, f"{f.id} in {thick:.0f} mm of part"
    )


def _load_reason(part: Part, way: Way, shop: Shop) -> Reason | None:
    """The load screen, with what is left of the strength across layers and in a core that is mostly air."""
    if part.demands.load_n <= 0.0 or part.shape is None:
        return None
    across = max(abs(cosine(run.body.pose.up, part.demands.load_direction)) for run in way.runs)
    share = strength_share_at(shop.the(PrintingStandards).layer_strength_share, across)
    full_g = part.shape.solid.volume_mm3 / 1000.0 * way.filament.density_g_cm3
    filled = min(1.0, way.copy_g / full_g)
    what = f"printed {way.filament.id}, {filled:.0%} full, at {share:.0%} of its strength,"
    return load_reason(part, way.filament.strength_mpa, share * filled, shop, what)
