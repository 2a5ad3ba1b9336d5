"""The master that a silicone mold is taken from: printed in house or bought, enlarged, finished once for all copies."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from routecost.parts.shape import Shape
from routecost.routes.finish_steps import support_marks
from routecost.routes.finishing import FinishPlan, finish_options
from routecost.routes.joining import bond_operations
from routecost.routes.operation import Draw, Operation, Reason, own_time
from routecost.routes.part import Part
from routecost.routes.print_ways import Way, solid, ways_to_print
from routecost.routes.running import protection
from routecost.routes.sla_order import Printed, billed, law_operation, order_operation
from routecost.shop.materials import Coating, Filament
from routecost.shop.services import SlaFinish, SlaService
from routecost.shop.shop import Shop
from routecost.shop.standards import FinishingStandards, MoldingStandards

_FROM_OUTSIDE = ("as-printed", "sanded")
"""Grades that a master is bought in: clear coats and polish of a service cost more than they save here."""


@dataclass(frozen=True, eq=False)
class Master:
    """One way to come by the raw master."""

    label: str
    operations: tuple[Operation, ...]
    rq_um: float
    ridged: bool
    """Printed ridges are still on it."""
    inhibits: bool
    """Uncured resin in it keeps addition-cure silicone from curing."""
    machine: str = ""
    reasons: tuple[Reason, ...] = ()


def raw_masters(part: Part, shape: Shape, scale: float, shop: Shop) -> Iterator[Master]:
    """Masters before finishing: the shop's own prints in filaments that sand well, and services' SLA."""
    for way in _prints(shape, scale, shop):
        yield _printed(way, shop)
    for service in shop.all(SlaService):
        yield from _bought(shape, service, scale, shop)


def _prints(shape: Shape, scale: float, shop: Shop) -> list[Way]:
    sandable = {f.id for f in shop.all(Filament) if f.sands_well}
    ways = ways_to_print(solid(shape, shop, "master", scale), shop, 1)
    return [way for way in ways if way.filament.id in sandable] or ways


def _printed(way: Way, shop: Shop) -> Master:
    operations = (*way.operations(shop), *bond_operations(shop, 1, way.joint))
    # the seams of a master are filled and sanded away, so splitting it is nobody's loss
    worst = tuple(r for r in way.reasons if r.level == "ruled out")
    label = f"{way.filament.id} on {way.printer.id}"
    if way.joint.pieces > 1:
        label += f" in {way.joint.pieces} pieces"
    return Master(label, operations, way.printer.surface_rq_um, True, False, way.printer.id, worst)


def _bought(shape: Shape, service: SlaService, scale: float, shop: Shop) -> Iterator[Master]:
    volume = (service.width_mm, service.depth_mm, service.height_mm)
    fits = all(
        side * scale <= room
        for side, room in zip(sorted(shape.solid.smallest_box_mm), sorted(volume), strict=True)
    )
    if not fits:
        return
    box = shape.solid.smallest_box_mm
    printed = Printed(
        pieces=1,
        volume_mm3=shape.solid.volume_mm3 * scale**3,
        area_mm2=shape.solid.area_mm2 * scale**2,
        box_mm3=box[0] * box[1] * box[2] * scale**3,
        height_mm=min(pose.height_mm for pose in shape.poses) * scale,
    )
    contact = min(pose.contact_area_mm2 for pose in shape.poses)
    for finish in shop.all(SlaFinish):
        if finish.service != service.id or finish.grade not in _FROM_OUTSIDE:
            continue
        bill = billed(shop, service, finish, 1)
        mass_g = printed.volume_mm3 / 1000.0 * service.density_g_cm3
        operations = (
            order_operation(shop, service, mass_g, bill.ordered),
            law_operation(shop, service, finish, printed, bill),
            *(support_marks(shop, 1, contact, "master") if finish.grade == "as-printed" else ()),
        )
        ridged = finish.grade == "as-printed"
        yield Master(f"SLA {finish.grade} from {service.id}", operations, finish.rq_um, ridged, True)


@dataclass(frozen=True, eq=False)
class FinishedMaster:
    """A master ready to be molded."""

    label: str
    operations: tuple[Operation, ...]
    rq_um: float
    inhibits: bool
    machine: str
    reasons: tuple[Reason, ...]


def finished(
    part: Part, shape: Shape, master: Master, target_um: float | None, shop: Shop
) -> Iterator[FinishedMaster]:
    """Every sensible way to finish a master to what the copies need."""
    d = part.demands
    for plan in finish_options(
        shop,
        area_mm2=shape.solid.area_mm2,
        reach=shape.reach(),
        start_rq_um=master.rq_um,
        target_rq_um=target_um,
        copies=1,
        opaque=True,
        clear=d.clarity in ("clear", "optical"),
        share=d.finish_share,
        what="master",
        ridged=master.ridged,
    ):
        yield _with(master, plan)


def _with(master: Master, plan: FinishPlan) -> FinishedMaster:
    return FinishedMaster(
        label=master.label if not plan.operations else f"{master.label}, {plan.name}",
        operations=(*master.operations, *plan.operations),
        rq_um=plan.rq_um,
        inhibits=master.inhibits,
        machine=master.machine,
        reasons=(*master.reasons, *plan.reasons),
    )


def barrier_operations(shape: Shape, shop: Shop) -> tuple[Operation, ...]:
    """A barrier coat between a master of SLA resin and addition-cure silicone, which it would inhibit."""
    coats = [c for c in shop.all(Coating) if c.purpose == "barrier"]
    if not coats:
        return ()
    coat, f, s = coats[0], shop.the(FinishingStandards), shop.the(MoldingStandards)
    cm2 = shape.solid.area_mm2 / 100.0
    minutes = s.release_min + cm2 * coat.coats * f.clear_coat_min_per_cm2
    return (
        Operation(
            "barrier coat on the master",
            (
                own_time(
                    minutes,
                    f"{s.release_min:g} min + {cm2:.0f} cm² x {coat.coats:g} coats x "
                    f"{f.clear_coat_min_per_cm2:g} min/cm²",
                    s.ref("release_min") + f.ref("clear_coat_min_per_cm2"),
                ),
                Draw(
                    coat.id,
                    cm2 * coat.coats * coat.spread_g_cm2,
                    f"{cm2:.0f} cm² x {coat.coats:g} coats x {coat.spread_g_cm2:g} g/cm²",
                    coat.ref("spread_g_cm2", "coats"),
                ),
                *protection(shop, minutes, vapour=True),
            ),
            waiting_min=coat.coats * coat.dry_h * 60.0,
            cautions=("solvent",),
            note="uncured resin in the master keeps addition-cure silicone from curing",
        ),
    )
