"""What a set of options comes to: the buy list in whole packs, the orders, and all sums. Exact, to the minor
unit of the currency; nothing here is taken from the solver."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from routecost.buying.options import Option, Workshop
from routecost.buying.purchases import IN_PACKS, BuyLine, Need, buy_lines
from routecost.buying.service_orders import least_order
from routecost.core.money import apportioned, minor_digits
from routecost.routes.process.operation import OWN_HOUR


@dataclass(frozen=True, eq=False)
class Totals:
    """Sums of one option for each part."""

    options: tuple[Option, ...]
    buy: tuple[BuyLine, ...]
    """Amounts are whole minor units, and their sum is the outlay."""
    orders: tuple[str, ...]
    """Services that an order is placed with."""
    outlay: float
    """What must really be paid: whole packs less stock, orders once."""
    own_hours: float
    printer_hours: float
    wear: float
    """Of tools that are owned."""
    full: float
    """Outlay, own hours at their rate, and wear of what is owned. What stock gives costs nothing more."""
    lead_days: float
    """The longest lead time among the parts."""


def totals(options: Sequence[Option], shop: Workshop) -> Totals:
    """What the options come to together. Raises InputError for missing prices."""
    tariff = shop.tariff
    needs: dict[str, Need] = {}

    def need(resource: str, quantity: float, parts: Sequence[str]) -> None:
        for part in parts:
            needs.setdefault(resource, Need()).add(quantity / len(parts), part)

    ordering: dict[str, list[Option]] = {}
    for option in options:
        for resource, quantity in option.usages.items():
            # the wear of a tool that must be bought is in its price
            if quantity > 0.0 and tariff.kind(resource) != "tool":
                need(resource, quantity, (option.part,))
        for tool in sorted(option.tools):
            need(tool, 0.0, (option.part,))
        for service in dict.fromkeys((*option.orders, *option.charges)):
            ordering.setdefault(service, []).append(option)
    for service, ordered in ordering.items():
        parts = [o.part for o in ordered]
        takes: dict[str, float] = {}
        for o in ordered:
            for resource, quantity in o.orders.get(service, {}).items():
                takes[resource] = max(quantity, takes.get(resource, 0.0))
        for resource, quantity in takes.items():
            need(resource, quantity, parts)
        least = least_order(service)
        if tariff.prices.offers.get(least):
            missing = tariff.unit_price(least) - sum(o.charges.get(service, 0.0) for o in ordered)
            if missing > 0.0:
                need(least, missing / tariff.unit_price(least), parts)
    lines = _whole_units(buy_lines(needs, shop.stock, tariff), tariff.currency)
    digits = minor_digits(tariff.currency)
    outlay = sum(round(line.amount * 10**digits) for line in lines) / 10**digits
    hours = needs[OWN_HOUR].quantity if OWN_HOUR in needs else 0.0
    wear = sum(o.wear for o in options)
    return Totals(
        options=tuple(options),
        buy=lines,
        orders=tuple(sorted(ordering)),
        outlay=outlay,
        own_hours=hours,
        printer_hours=sum(o.printer_hours for o in options),
        wear=wear,
        full=outlay + hours * tariff.own_rate + wear,
        lead_days=max((o.lead_days for o in options), default=0.0),
    )


def _whole_units(lines: Sequence[BuyLine], currency: str) -> tuple[BuyLine, ...]:
    """Packs are paid in whole minor units anyway; what is paid as used is rounded so that it adds up."""
    from dataclasses import replace

    used = iter(apportioned([line.amount for line in lines if line.kind not in IN_PACKS], currency))
    return tuple(line if line.kind in IN_PACKS else replace(line, amount=next(used)) for line in lines)
