"""The master that a silicone mold is taken from: printed in house or bought, enlarged, finished once for all copies."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from routecost.mesh.measuring.shape import Shape
from routecost.routes.printing.print_checks import owned_reason
from routecost.routes.printing.print_poses import unbeaten
from routecost.routes.printing.print_ways import Way, solid, ways_to_print
from routecost.routes.process.operation import Operation, Reason, Verdict
from routecost.routes.process.part import Demands
from routecost.routes.steps.finish_steps import Surface, coat_operation, support_marks
from routecost.routes.steps.joining import bond_operations
from routecost.routes.steps.sla_order import (
    Printed,
    billed,
    inspect_operation,
    law_operation,
    order_operation,
)
from routecost.routes.steps.surface_finish import FinishPlan, finish_options, reach_reason
from routecost.routes.steps.verdicts import present
from routecost.shop.materials import Coating, Filament
from routecost.shop.services import SlaFinish, SlaService
from routecost.shop.shop import Shop

_SEALS = ("clear", "uv")
"""Coats, two-part and closed, that keep a master's resin from the silicone; filler primer is open."""
_LEVELS = {"suits": 0, "changes": 1, "ruled out": 2}


@dataclass(frozen=True, eq=False)
class Master:
    """One way to get a master, raw or ready to be molded."""

    label: str
    operations: tuple[Operation, ...]
    area_mm2: float
    rq_um: float
    ridged: bool
    """Printed ridges are still on it."""
    inhibits: bool
    """Uncured resin in it keeps addition-cure silicone from curing."""
    machine: str = ""
    reasons: tuple[Reason, ...] = ()


def raw_masters(shape: Shape, scale: float, target_um: float | None, shop: Shop) -> Iterator[Master]:
    """Masters as they are printed: the shop's own in filaments that sand well, and services' SLA."""
    for way in _prints(shape, scale, shop):
        yield _printed(way, shape, scale, shop)
    for service in shop.all(SlaService):
        yield from _bought(shape, service, scale, target_um, shop)


def _prints(shape: Shape, scale: float, shop: Shop) -> list[Way]:
    """Of the ways of one printer and filament the one with the least work by hand.

    It is one print for all copies: an hour of machine and a gram of filament more do not weigh against a
    minute, and a pose that leaves fewer marks has less to be sanded.
    """
    sandable = {f.id for f in shop.all(Filament) if f.sands_well}
    ways = ways_to_print(
        solid(shape, shop, "master", scale),
        shop,
        1,
        judge=lambda way: present(owned_reason(shop, way.printer)),
    )
    best: dict[tuple[str, str], Way] = {}
    for way in [way for way in ways if way.filament.id in sandable] or ways:
        key = (way.printer.id, way.filament.id)
        best[key] = min(best.get(key, way), way, key=lambda w: _work(w, shop))
    return list(best.values())


def _work(way: Way, shop: Shop) -> tuple[float, ...]:
    steps = (*way.operations(shop), *bond_operations(shop, 1, way.joint))
    by_hand = sum(op.hands_on_min for op in steps)
    return _LEVELS[Verdict(way.reasons).level], by_hand, *way.amounts


def _printed(way: Way, shape: Shape, scale: float, shop: Shop) -> Master:
    label = f"{way.filament.id} on {way.printer.id}"
    if way.joint.pieces > 1:
        # the seams of a master are filled and sanded away, so splitting it does no harm
        label += f" in {way.joint.pieces} pieces"
    return Master(
        label=label,
        operations=(*way.operations(shop), *bond_operations(shop, 1, way.joint)),
        area_mm2=shape.solid.area_mm2 * scale**2,
        rq_um=way.printer.surface_rq_um,
        ridged=True,
        inhibits=False,
        machine=way.printer.id,
        reasons=tuple(r for r in way.reasons if r.level != "suits"),
    )


def _bought(
    shape: Shape, service: SlaService, scale: float, target_um: float | None, shop: Shop
) -> Iterator[Master]:
    """Grades that nothing beats in price, days and what is left to do; none where it does not fit whole."""
    room = sorted((service.width_mm, service.depth_mm, service.height_mm))
    sides = [side * scale for side in shape.solid.smallest_box_mm]
    if any(side > most for side, most in zip(sides, room, strict=True)):
        return
    lowest = min(shape.poses, key=lambda pose: (pose.height_mm, pose.contact_area_mm2))
    printed = Printed(
        pieces=1,
        volume_mm3=shape.solid.volume_mm3 * scale**3,
        area_mm2=shape.solid.area_mm2 * scale**2,
        box_mm3=sides[0] * sides[1] * sides[2],
        height_mm=lowest.height_mm * scale,
    )
    mass_g = printed.volume_mm3 / 1000.0 * service.density_g_cm3
    grades = [f for f in shop.all(SlaFinish) if f.service == service.id]
    for finish in unbeaten(grades, lambda f: (f.price_factor, f.extra_days, _left_to_do(f, target_um))):
        bill = billed(shop, service, finish, 1)
        raw = finish.grade == "as-printed"
        # a mold repeats support marks on every copy, so they come off even where no finish is asked for
        marks = support_marks(shop, 1, lowest.contact_area_mm2, "master") if raw else ()
        yield Master(
            label=f"SLA {finish.grade} from {service.id}",
            operations=(
                order_operation(shop, service, mass_g, bill.ordered),
                law_operation(shop, service, finish, printed, bill),
                inspect_operation(shop, 1, printed.area_mm2, "master"),
                *marks,
            ),
            area_mm2=printed.area_mm2,
            rq_um=finish.rq_um,
            ridged=raw,
            inhibits=finish.grade != "clear-coated",
        )


def _left_to_do(finish: SlaFinish, target_um: float | None) -> float:
    return 0.0 if target_um is None else max(finish.rq_um, target_um)


def finished(
    demands: Demands, shape: Shape, master: Master, target_um: float | None, shop: Shop
) -> Iterator[Master]:
    """Every sensible way to finish a master to what the copies need.

    Of these, the ones that nothing beats in hours and in waiting: sheets and coats for one master are small
    change.
    """
    clear = demands.clarity in ("clear", "optical")
    options = finish_options(
        shop,
        area_mm2=master.area_mm2,
        reach=shape.reach(),
        start_rq_um=master.rq_um,
        target_rq_um=target_um,
        copies=1,
        opaque=True,
        clear=clear,
        share=demands.finish_share,
        what="master",
        ridged=master.ridged,
    )
    for plan in unbeaten(
        options, lambda p: (_LEVELS[Verdict(p.reasons).level], p.hands_on_min, p.waiting_min)
    ):
        reasons = plan.reasons
        if target_um is not None and not plan.operations and not reasons:
            # a service reaches no more of the surface than the maker does
            reasons = reach_reason(shop, shape.reach(), master.area_mm2, demands.finish_share, clear)
        yield replace(
            master,
            label=f"{master.label}, {plan.name}" if plan.operations else master.label,
            operations=(*master.operations, *plan.operations),
            rq_um=plan.rq_um,
            ridged=master.ridged and not plan.operations,
            inhibits=master.inhibits and not _is_sealed(plan, shop),
            reasons=(*master.reasons, *reasons),
        )


def _is_sealed(plan: FinishPlan, shop: Shop) -> bool:
    seals = {coat.id for coat in shop.all(Coating) if coat.purpose in _SEALS}
    return any(usage.resource in seals for op in plan.operations for usage in op.usages)


def with_barrier(master: Master, shop: Shop) -> Master:
    """A coat between a master of SLA resin and addition-cure silicone, which would stay liquid on it.

    It follows the master but leaves its own texture: where castings have to be clear, that is what they get.
    """
    why = "uncured resin in the master keeps addition-cure silicone from curing"
    coats = [c for c in shop.all(Coating) if c.purpose == "barrier"]
    if not coats:
        reason = Reason("ruled out", f"{why}, and the tables have no barrier coat")
        return replace(master, inhibits=False, reasons=(*master.reasons, reason))
    step = coat_operation(shop, Surface("master", 1, master.area_mm2, 0.0), coats[0])
    return replace(
        master,
        label=f"{master.label}, {coats[0].id}",
        operations=(*master.operations, replace(step, note=f"{why}; {step.note}")),
        rq_um=max(master.rq_um, coats[0].rq_um),
        inhibits=False,
    )
