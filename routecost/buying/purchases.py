"""The buy list of a choice: what its parts draw together, less stock, in whole packs where packs are sold."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from routecost.buying.packs import SHORT, Bought, cheapest_packs, payable
from routecost.costing.estimate import Estimate
from routecost.costing.tariff import Tariff
from routecost.routes.process.operation import OWN_HOUR, ProcessPlan

IN_PACKS = ("material", "consumable", "bought", "tool")
"""Kinds that come in packs and lie on the shelf; services, electricity and upkeep are paid as used."""


@dataclass
class Need:
    """How much of a resource is wanted, and by which parts."""

    quantity: float = 0.0
    parts: dict[str, None] = field(default_factory=dict)
    """Part ids in the order of the bill."""

    def add(self, quantity: float, part: str) -> None:
        self.quantity += quantity
        self.parts[part] = None


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
    needs: dict[str, Need] = {}
    for estimate in chosen:
        for line in estimate.lines:
            needs.setdefault(line.resource, Need()).add(line.quantity, estimate.plan.part)
        for tool in tools_to_buy(estimate.plan, tariff):
            needs.setdefault(tool, Need()).add(0.0, estimate.plan.part)
    return buy_lines(needs, stock, tariff)


def buy_lines(needs: Mapping[str, Need], stock: Mapping[str, float], tariff: Tariff) -> tuple[BuyLine, ...]:
    """One line for each need; own hours and owned tools are left out. Raises InputError for missing prices."""
    found = [
        purchase(resource, need, stock, tariff)
        for resource, need in needs.items()
        if resource != OWN_HOUR and not (tariff.kind(resource) == "tool" and resource in tariff.owned)
    ]
    order = {kind: i for i, kind in enumerate((*IN_PACKS, "energy", "upkeep", "service"))}
    return tuple(sorted(found, key=lambda line: (order[line.kind], line.resource)))


def purchase(resource: str, need: Need, stock: Mapping[str, float], tariff: Tariff) -> BuyLine:
    """The cheapest way to have what is needed of one resource. What is paid as used does not come from stock."""
    kind = tariff.kind(resource)
    tariff.prices.offer(resource)  # tells where there is none
    # a tool that is not owned is bought once, however little of its life is used
    wanted = 1.0 if kind == "tool" else need.quantity
    in_packs = kind in IN_PACKS
    used = min(wanted, stock.get(resource, 0.0)) if in_packs else 0.0
    short = wanted - used if wanted - used > SHORT * wanted else 0.0
    offers = payable(tariff.prices.offers[resource], tariff.currency)
    packs = cheapest_packs(short, offers) if in_packs else ()
    return BuyLine(
        resource=resource,
        unit=tariff.unit(resource),
        kind=kind,
        need=wanted,
        from_stock=used,
        packs=packs,
        amount=sum(b.amount for b in packs) if in_packs else short * tariff.unit_price(resource),
        left_over=max(0.0, sum(b.quantity for b in packs) - short) if in_packs else 0.0,
        parts=tuple(need.parts),
    )


def tools_to_buy(plan: ProcessPlan, tariff: Tariff) -> tuple[str, ...]:
    """Priced tools that a way of making needs and that are not owned, whether or not it draws their wear."""
    drawn = (usage.resource for op in plan.operations for usage in op.usages if usage.resource != OWN_HOUR)
    return tuple(
        name
        for name in dict.fromkeys((*sorted(plan.tools), *drawn))
        if name in tariff.resources and tariff.kind(name) == "tool" and name not in tariff.owned
    )
