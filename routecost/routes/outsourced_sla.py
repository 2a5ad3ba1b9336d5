"""Vat photopolymerization by a service, in one clear resin: as it finishes parts, or finished at home.

Every finish that a service sells is an alternative; from a part as printed or sanded, so is every way to
bring it home and polish or coat it there. A supplier's written price replaces the price law where it is valid.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from routecost.mesh.measuring.measures import Pose, Solid
from routecost.mesh.measuring.shape import Shape
from routecost.routes.physics.optics import surface_haze_percent, total_haze_percent
from routecost.routes.process.operation import Operation, ProcessPlan, Reason, Verdict, timed, used
from routecost.routes.process.part import Part, Quote
from routecost.routes.steps.finish_steps import support_marks
from routecost.routes.steps.joining import Joint, bond_operations, bond_reason, seam_reason, trials
from routecost.routes.steps.sla_order import (
    Printed,
    billed,
    inspect_operation,
    law_operation,
    order_operation,
)
from routecost.routes.steps.surface_finish import FinishPlan, finish_options, reach_reason, target_rq_um
from routecost.routes.steps.verdicts import (
    ROUGH_HAZE_PERCENT,
    haze_reason,
    heat_reason,
    load_reason,
    opaque_reason,
    present,
    tolerance_reason,
)
from routecost.shop.services import SlaFinish, SlaService
from routecost.shop.shop import Shop
from routecost.shop.standards import OrderingStandards

_FINISHED_AT_HOME = ("as-printed", "sanded")
"""Finishes that work at home can start from; a coat or a polish is the end."""


@dataclass(frozen=True)
class _Orientation:
    """How the service's build volume takes one copy."""

    printed: Printed
    joint: Joint
    contact_mm2: float
    """Where supports leave marks."""
    reasons: tuple[Reason, ...]


@dataclass(frozen=True)
class _Offer:
    """A part as it comes from outside."""

    label: str
    service: SlaService
    """The numbers of its resin."""
    grade: str
    rq_um: float
    operations: tuple[Operation, ...]
    orientation: _Orientation
    reasons: tuple[Reason, ...] = ()
    quote: str = ""


class OutsourcedSla:
    """The route."""

    id = "outsourced-sla"
    name = "outsourced SLA"

    def plans(self, part: Part, shop: Shop) -> Iterable[ProcessPlan]:
        if part.shape is None:
            return
        quoted = {(q.service, q.finish) for q in part.quotes if q.copies == part.copies}
        for service in shop.all(SlaService):
            orientation = _orientation(part, part.shape, service, shop)
            for finish in _worth_pricing(part, shop, service):
                if (service.id, finish.grade) not in quoted:
                    yield from self._from(part, shop, _by_law(part, shop, service, finish, orientation))
        for quote in part.quotes:
            yield from self._from(part, shop, _by_quote(part, part.shape, shop, quote))

    def _from(self, part: Part, shop: Shop, offer: _Offer) -> Iterator[ProcessPlan]:
        """The offer as it comes, or finished at home."""
        assert part.shape is not None
        solid, orientation = part.shape.solid, offer.orientation
        reasons = (*orientation.reasons, *offer.reasons, *_material_reasons(part, shop, offer))
        for finish in _finished(part, part.shape, shop, offer):
            at_home = finish.name if finish.operations else ""
            marks = orientation.contact_mm2 if at_home and offer.grade == "as-printed" else 0.0
            yield ProcessPlan(
                route=self.id,
                part=part.id,
                copies=part.copies,
                alternative=offer.label + (f", at home: {at_home}" if at_home else ""),
                operations=(
                    *offer.operations,
                    inspect_operation(
                        shop, part.copies, solid.area_mm2, yellows=part.demands.clarity != "any"
                    ),
                    *bond_operations(shop, part.copies, orientation.joint),
                    *support_marks(shop, part.copies, marks),
                    *finish.operations,
                    *trials(shop, part),
                ),
                verdict=Verdict(
                    (*reasons, *finish.reasons, _clarity_reason(part, offer, finish.rq_um, shop))
                ),
                mass_g=part.copies * _mass_g(solid, offer.service),
                chosen={
                    "service": offer.service.id,
                    "finish": offer.grade,
                    "at home": at_home or "nothing",
                    **({"quote": offer.quote} if offer.quote else {}),
                },
            )


def _mass_g(solid: Solid, service: SlaService) -> float:
    return solid.volume_mm3 / 1000.0 * service.density_g_cm3


def _worth_pricing(part: Part, shop: Shop, service: SlaService) -> list[SlaFinish]:
    """All finishes of a service; where none is asked for, the one that costs least."""
    finishes = [f for f in shop.all(SlaFinish) if f.service == service.id]
    if target_rq_um(part.demands, shop) is None and finishes:
        return [min(finishes, key=lambda f: (f.price_factor, f.extra_days))]
    return finishes


def _orientation(part: Part, shape: Shape, service: SlaService, shop: Shop) -> _Orientation:
    """The lowest pose that fits, since the service's time and price go by height; or the fewest pieces."""
    poses = (shape.pose(part.up),) if part.up else shape.poses
    whole = _printed(shape.solid)
    volume = f"{service.width_mm:g} x {service.depth_mm:g} x {service.height_mm:g} mm of {service.id}"
    fitting = [pose for pose in poses if _goes_in(pose, service)]
    if not fitting:
        fit = shape.fit((service.width_mm, service.depth_mm, service.height_mm))
        if not fit.fits:
            joint, lowest = Joint.of(fit), min(poses, key=lambda p: p.height_mm)
            pieces = replace(
                whole,
                pieces=fit.pieces,
                # a cut adds a face to either side
                area_mm2=whole.area_mm2 + 2.0 * fit.bond_area_mm2,
                # a piece is no taller than the whole, lying the same way
                height_mm=fit.pieces * min(lowest.height_mm, service.height_mm),
            )
            longest = max(shape.solid.extents_mm)
            reasons = present(
                Reason("changes", f"{longest:.0f} mm long: too large for {volume}"), seam_reason(part, joint)
            )
            return _Orientation(pieces, joint, lowest.contact_area_mm2, reasons)
        fitting = [shape.pose(fit.up)]
    pose = min(fitting, key=lambda p: (p.height_mm, p.contact_area_mm2))
    printed = replace(whole, height_mm=pose.height_mm)
    return _Orientation(
        printed, Joint(1, 0.0, 0.0), pose.contact_area_mm2, (Reason("suits", f"fits {volume}"),)
    )


def _printed(solid: Solid) -> Printed:
    a, b, c = solid.smallest_box_mm
    return Printed(1, solid.volume_mm3, solid.area_mm2, a * b * c, a)


def _goes_in(pose: Pose, service: SlaService) -> bool:
    short, long = sorted((service.width_mm, service.depth_mm))
    return (
        pose.footprint_mm[0] <= short and pose.footprint_mm[1] <= long and pose.height_mm <= service.height_mm
    )


def _by_law(
    part: Part, shop: Shop, service: SlaService, finish: SlaFinish, orientation: _Orientation
) -> _Offer:
    assert part.shape is not None
    bill = billed(shop, service, finish, part.copies)
    return _Offer(
        label=f"{service.id}, {finish.grade}",
        service=service,
        grade=finish.grade,
        rq_um=finish.rq_um,
        operations=(
            order_operation(shop, service, _mass_g(part.shape.solid, service), bill.ordered),
            law_operation(shop, service, finish, orientation.printed, bill),
        ),
        orientation=orientation,
        reasons=_design_reasons(part.shape, service),
    )


def _by_quote(part: Part, shape: Shape, shop: Shop, quote: Quote) -> _Offer:
    """A written price, shipping included. Whoever quotes takes the part: its size and walls are not judged.

    For a supplier that no table knows, resin and surface are taken as the worst of those in the tables.
    """
    known = [s for s in shop.all(SlaService) if s.id == quote.service]
    service = known[0] if known else max(shop.all(SlaService), key=lambda s: s.clear_haze_percent)
    of_grade = [f for f in shop.all(SlaFinish) if f.grade == quote.finish]
    own = [f for f in of_grade if f.service == quote.service]
    rq_um = max((f.rq_um for f in own or of_grade), default=service.as_printed_rq_um)
    days = quote.lead_days
    if days is None:
        days = service.lead_days + max((f.extra_days for f in own or of_grade), default=0.0)
    s = shop.the(OrderingStandards)
    order = Operation(
        f"printed by {quote.supplier}, {quote.finish}, as quoted",
        (
            used(quote.resource, (part.copies, f"at the price quoted for {quote.copies}")),
            timed(s.rate("prepare_part_min", "to order it")),
        ),
        waiting_min=days * 24 * 60,
        note=f"written price of {quote.supplier}; {days:g} days until it is delivered",
    )
    text = f"quoted by {quote.supplier}"
    if not known:
        text += f", whose resin and surface are in no table: taken as those of {service.id}"
    poses = (shape.pose(part.up),) if part.up else shape.poses
    lowest = min(poses, key=lambda p: p.height_mm)
    return _Offer(
        label=f"quote of {quote.supplier}, {quote.finish}",
        service=service,
        grade=quote.finish,
        rq_um=rq_um,
        operations=(order,),
        orientation=_Orientation(_printed(shape.solid), Joint(1, 0.0, 0.0), lowest.contact_area_mm2, ()),
        reasons=(Reason("suits", text),),
        quote=quote.resource,
    )


def _finished(part: Part, shape: Shape, shop: Shop, offer: _Offer) -> tuple[FinishPlan, ...]:
    """Nothing more to do where the offer is fine enough or cannot be improved, else what home work can do."""
    d, solid = part.demands, shape.solid
    target = target_rq_um(d, shop, offer.service.clear_haze_percent)
    clear = d.clarity in ("clear", "optical")
    if target is None:
        return (FinishPlan("as it comes", (), offer.rq_um),)
    if offer.rq_um > target and offer.grade in _FINISHED_AT_HOME:
        return finish_options(
            shop,
            area_mm2=solid.area_mm2,
            reach=shape.reach(),
            start_rq_um=offer.rq_um,
            target_rq_um=target,
            copies=part.copies,
            opaque=d.clarity == "any",
            clear=clear,
            share=d.finish_share,
            ridged=offer.grade == "as-printed",
            uv_ok=clear,
        )
    reasons = reach_reason(shop, shape.reach(), solid.area_mm2, d.finish_share, clear)
    if offer.rq_um > target:
        rough = f"needs Rq {target:.2g} µm; {offer.label} leaves about {offer.rq_um:.2g} µm"
        reasons = (*reasons, Reason("ruled out", rough))
    return (FinishPlan("as it comes", (), offer.rq_um, reasons),)


def _design_reasons(shape: Shape, service: SlaService) -> tuple[Reason, ...]:
    """What the service sends back: walls too thin, resin that cannot run out."""
    found = []
    thin, least = shape.walls.thinnest_mm, service.thinnest_wall_mm
    if thin < least:
        found.append(Reason("changes", f"thinnest wall {thin:.2g} mm: thicken to {least:g} mm"))
    else:
        found.append(Reason("suits", f"thinnest wall {thin:.2g} mm; {service.id} prints {least:g} mm"))
    if shape.solid.closed_voids:
        n, cm3 = shape.solid.closed_voids, shape.solid.closed_void_volume_mm3 / 1000.0
        text = (
            f"{n} closed void{'s' if n > 1 else ''} of {cm3:.1f} cm³ would trap liquid resin: add drain holes"
        )
        found.append(Reason("changes", text))
    return tuple(found)


def _material_reasons(part: Part, shop: Shop, offer: _Offer) -> tuple[Reason, ...]:
    service, what = offer.service, f"the resin of {offer.service.id}"
    return present(
        tolerance_reason(part, service.tolerance_mm, service.id, shop),
        heat_reason(part.demands, service.softens_degc, what, shop),
        # cured as one body: as strong in every direction
        load_reason(part, service.strength_mpa, 1.0, shop, what),
        bond_reason(part, offer.orientation.joint, service.strength_mpa, shop),
        opaque_reason(part.demands, True, what),
    )


def _clarity_reason(part: Part, offer: _Offer, rq_um: float, shop: Shop) -> Reason:
    haze = total_haze_percent(offer.service.clear_haze_percent, surface_haze_percent(rq_um, rq_um))
    return haze_reason(
        part.demands, min(haze, ROUGH_HAZE_PERCENT), f"its resin and faces of Rq {rq_um:.2g} µm", shop
    )


OUTSOURCED_SLA = OutsourcedSla()
