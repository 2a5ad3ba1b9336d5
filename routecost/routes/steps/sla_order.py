"""What a service for vat photopolymerization bills: its price law as draws, and a line's share of an order.

    price of a line = max(minimum, set-up + a·volume + b·area + c·box + d·height) × copies × finish × quantity

The coefficients are prices of resources named after the service, such as `clearwater-sla volume`; a term
whose resource is not declared is not in that service's law.
"""

from __future__ import annotations

from dataclasses import dataclass

from routecost.core.errors import InputError
from routecost.routes.process.operation import Operation, Usage, timed, used
from routecost.routes.steps.running import protection
from routecost.shop.services import QuantityBreak, SlaFinish, SlaService
from routecost.shop.shop import Shop
from routecost.shop.standards import OrderingStandards


@dataclass(frozen=True)
class Printed:
    """What the service prints for one copy; in pieces, all of them together."""

    pieces: int
    volume_mm3: float
    area_mm2: float
    box_mm3: float
    """Smallest box in any orientation."""
    height_mm: float
    """Summed over the pieces, each lying as low as the build volume lets it: time goes by height."""


@dataclass(frozen=True)
class Billed:
    """Copies that are ordered, and what a copy's price is multiplied by."""

    ordered: int
    factor: float
    why: str
    facts: tuple[str, ...]


def billed(shop: Shop, service: SlaService, finish: SlaFinish, copies: int) -> Billed:
    """The quantity break that makes `copies` cheapest, ordering a few more where that costs less.

    Therefore more copies never cost less, although each break lowers the price of a copy.
    """
    breaks = [b for b in shop.all(QuantityBreak) if b.service == service.id]
    choices = [(float(copies), 1.0, ())] + [
        (max(float(copies), b.from_copies), b.factor, b.ref("factor")) for b in breaks
    ]
    ordered, share, rests = min(choices, key=lambda c: (c[0] * c[1], c[0]))
    n = int(ordered)
    more = f" ({n - copies} more than wanted: cheaper)" if n > copies else ""
    why = f"{n} copies{more} x {finish.price_factor:g} for {finish.grade}"
    why += f" x {share:g} for the quantity" if share != 1.0 else ""
    return Billed(n, ordered * share * finish.price_factor, why, (*finish.ref("price_factor"), *rests))


def law_operation(
    shop: Shop, service: SlaService, finish: SlaFinish, printed: Printed, bill: Billed
) -> Operation:
    """The parts themselves: a charge group that costs no less than the service's minimum.

    Raises InputError for a service of which no price is declared.
    """
    p = printed
    terms = {
        "setup": (float(p.pieces), "1" if p.pieces == 1 else f"{p.pieces} pieces"),
        "volume": (p.volume_mm3 / 1000.0, f"{p.volume_mm3 / 1000:.2f} cm³"),
        "area": (p.area_mm2 / 100.0, f"{p.area_mm2 / 100:.1f} cm²"),
        "box": (p.box_mm3 / 1000.0, f"box of {p.box_mm3 / 1000:.1f} cm³"),
        "height": (p.height_mm / 10.0, f"{p.height_mm / 10:.2f} cm high while printing"),
    }
    usages = tuple(
        Usage(f"{service.id} {term}", amount * bill.factor, f"{what} x {bill.why}", bill.facts)
        for term, (amount, what) in terms.items()
        if f"{service.id} {term}" in shop.resources
    )
    if not usages:
        mend = f"declare and price at least one of {', '.join(f'{service.id} {term}' for term in terms)}"
        raise InputError.of("resources.csv", "", f"{service.id} has no price law", mend)
    days = service.lead_days + finish.extra_days
    least = f"{p.pieces} x {bill.why}"
    of_part = _least(shop, f"{service.id} minimum-part", p.pieces * bill.factor, least, bill.facts)
    # with more in the order a line by itself cannot know what else is, and together they are above an order's
    # minimum as a rule: that is left to the orders as they are placed
    is_alone = service.parts_per_order * bill.ordered * p.pieces < 2
    of_order = _least(shop, f"{service.id} minimum-order", 1.0, "an order") if is_alone else None
    return Operation(
        f"printed by {service.id}, {finish.grade}",
        usages,
        waiting_min=days * 24 * 60,
        waiting_facts=service.ref("lead_days"),
        floor=of_order or of_part,
        shared_floor=of_part if of_order else None,
        note=f"{days:g} days until it is delivered",
    )


def _least(shop: Shop, resource: str, amount: float, what: str, facts: tuple[str, ...] = ()) -> Usage | None:
    """A least price, if the service has it."""
    return Usage(resource, amount, f"least price of {what}", facts) if resource in shop.resources else None


def order_operation(shop: Shop, service: SlaService, mass_g: float, ordered: int) -> Operation:
    """A line's share of an order: its own specification, and 1/n of what the whole order takes."""
    s, share = shop.the(OrderingStandards), service.rate("parts_per_order", "parts an order")
    usages = [
        timed(share, s.rate("prepare_order_min")),
        timed(s.rate("prepare_part_min", "to specify the part")),
    ]
    if f"{service.id} shipping-order" in shop.resources:
        usages.append(used(f"{service.id} shipping-order", share))
    if f"{service.id} shipping-mass" in shop.resources:
        grams = ordered * mass_g * (1.0 + s.packing_share)
        why = f"{ordered} x {mass_g:.1f} g, and {s.packing_share:.0%} for packing"
        usages.append(Usage(f"{service.id} shipping-mass", grams, why, service.ref("density_g_cm3")))
    note = f"an order of {service.parts_per_order:g} parts"
    return Operation(f"order from {service.id}", tuple(usages), note=note, once=True)


def inspect_operation(
    shop: Shop, copies: int, area_mm2: float, what: str = "", yellows: bool = False
) -> Operation:
    """Every copy is looked at and washed; `yellows`: light passes it, so warn of yellowing.

    area_mm2: of one copy.
    """
    s, n = shop.the(OrderingStandards), (copies, "copies")
    work = timed(n, s.rate("inspect_copy_min"))
    return Operation(
        f"unpack, wash and inspect{what and ' the '}{what}",
        (
            work,
            used("isopropanol", (copies * area_mm2 / 100.0, "cm²"), s.rate("wash_g_per_cm2")),
            used("wipe", n),
            *protection(shop, work),
        ),
        cautions=("sensitiser", "yellowing") if yellows else ("sensitiser",),
    )
