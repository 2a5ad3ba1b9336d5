"""The buy list of a choice: what its parts draw together, less stock, in whole packs where packs are sold."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from routecost.costing.estimate import Estimate
from routecost.costing.tariff import Tariff
from routecost.planning.packs import Bought, cheapest_packs
from routecost.routes.operation import OWN_HOUR

IN_PACKS = ("material", "consumable", "bought", "tool")
"""Kinds that come in packs; services, electricity and upkeep are paid as used."""


@dataclass(frozen=True)
class BuyLine:
    """What to buy of one resource."""

    resource: str
    unit: str
    kind: str
    need: float
    from_stock: float
    packs: tuple[Bought, ...]
    amount: float
    left_over: float
    parts: tuple[str, ...]
    """Part ids that it is for."""


def buy_list(chosen: Sequence[Estimate], stock: Mapping[str, float], tariff: Tariff) -> tuple[BuyLine, ...]:
    """One line for each resource that the chosen routes draw, own hours and owned tools left out.

    Amounts are what must really be paid; where packs are sold they exceed the pro-rata spend by what is left
    over, and fall below it by what stock gives.
    """
    need: dict[str, float] = {}
    parts: dict[str, dict[str, None]] = {}
    for estimate in chosen:
        for line in estimate.lines:
            need[line.resource] = need.get(line.resource, 0.0) + line.quantity
            parts.setdefault(line.resource, {})[estimate.plan.part] = None
    found = []
    for resource, quantity in need.items():
        kind = tariff.kind(resource)
        if resource == OWN_HOUR or (kind == "tool" and resource in tariff.owned):
            continue
        # a tool that is not owned is bought once, however little of its life is used
        wanted = 1.0 if kind == "tool" else quantity
        used = min(wanted, stock.get(resource, 0.0))
        short = wanted - used
        packs = cheapest_packs(short, tariff.prices.offers[resource]) if kind in IN_PACKS else ()
        amount = sum(b.amount for b in packs) if kind in IN_PACKS else short * tariff.unit_price(resource)
        found.append(
            BuyLine(
                resource=resource,
                unit=tariff.unit(resource),
                kind=kind,
                need=wanted,
                from_stock=used,
                packs=packs,
                amount=amount,
                left_over=max(0.0, sum(b.quantity for b in packs) - short) if kind in IN_PACKS else 0.0,
                parts=tuple(parts[resource]),
            )
        )
    order = {kind: i for i, kind in enumerate((*IN_PACKS, "energy", "upkeep", "service"))}
    return tuple(sorted(found, key=lambda line: (order[line.kind], line.resource)))
