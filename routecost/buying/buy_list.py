"""The buy list of a plan, supplier by supplier, to the minor unit."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from routecost.buying.options import Workshop
from routecost.buying.totals import Totals
from routecost.core.money import minor_digits


@dataclass(frozen=True)
class Item:
    """One line of an order: packs of one offer, or what is paid as used."""

    supplier: str
    resource: str
    pack: str
    """As the offer names it; empty for what is paid as used."""
    packs: int
    quantity: float
    """Bought, in the resource's unit."""
    unit: str
    minor_units: int
    """What is paid, such as cents."""
    price_as_of: dt.date
    parts: tuple[str, ...]
    left_over: float
    left_over_worth: float
    """At the cheapest price a unit."""
    keeps_days: float | None
    """How long an opened pack keeps."""


@dataclass(frozen=True)
class Shelved:
    """What a plan takes from stock."""

    resource: str
    quantity: float
    unit: str
    parts: tuple[str, ...]


def items(found: Totals, shop: Workshop) -> tuple[Item, ...]:
    """All that must be paid, sorted by supplier and resource, those who sell no packs last; the sum of minor units
    is the outlay.

    Where packs of two sizes are bought of a resource, what is left over stands with the smaller.
    """
    tariff = shop.tariff
    scale = 10 ** minor_digits(tariff.currency)
    lines = []
    for line in found.buy:
        resource = tariff.resources[line.resource]
        offer = tariff.prices.offer(line.resource)
        bought = [(b.offer, b.packs, b.quantity, b.amount) for b in line.packs]
        if not bought and line.amount > 0.0:
            bought = [(offer, 0, line.need - line.from_stock, line.amount)]
        for place, (sold, packs, quantity, amount) in enumerate(bought, start=1):
            left = line.left_over if place == len(bought) else 0.0
            lines.append(
                Item(
                    supplier=sold.supplier,
                    resource=line.resource,
                    pack=sold.pack if packs else "",
                    packs=packs,
                    quantity=quantity,
                    unit=line.unit,
                    minor_units=round(amount * scale),
                    price_as_of=sold.as_of,
                    parts=line.parts,
                    left_over=left,
                    left_over_worth=left * offer.unit_price,
                    keeps_days=resource.shelf_life_days,
                )
            )
    packed = {i.supplier for i in lines if i.packs}
    return tuple(sorted(lines, key=lambda i: (i.supplier not in packed, i.supplier, i.resource, -i.quantity)))


def from_stock(found: Totals) -> tuple[Shelved, ...]:
    """What the plan takes from the shelf."""
    return tuple(
        Shelved(line.resource, line.from_stock, line.unit, line.parts)
        for line in found.buy
        if line.from_stock > 0.0
    )
