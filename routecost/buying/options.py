"""Ways to make a part as the whole bill sees them: what each takes of what can be shared, and what it costs
by itself."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from routecost.buying.purchases import IN_PACKS, tools_to_buy
from routecost.buying.service_orders import Sharing, counts_to_least, service_of, without_shares
from routecost.costing.quantities import top_up
from routecost.costing.tariff import Tariff
from routecost.routes.process.operation import OWN_HOUR, ProcessPlan


@dataclass(frozen=True, eq=False)
class Option:
    """One alternative of one route, for all copies of one part."""

    plan: ProcessPlan
    usages: Mapping[str, float]
    """Everything it draws by itself, in each resource's unit: its shares of orders are left out, what a floor
    adds is in it."""
    packed: Mapping[str, float]
    """Those of the draws that are bought in whole packs."""
    tools: frozenset[str]
    """Tools that are not owned and must be bought for it."""
    orders: Mapping[str, Mapping[str, float]]
    """What a whole order from each service that it needs takes."""
    charges: Mapping[str, float]
    """By service: what counts towards the least price of its order, in the currency."""
    as_used: float
    """All else that is paid as used, in the currency: energy, upkeep, quotes, shipping by mass."""
    wear: float
    """Wear of tools that are owned: full cost, but nothing to pay."""
    own_hours: float
    """Without the preparing of orders."""
    printer_hours: float
    lead_days: float
    booked_hours: float
    """What a timetable books of own hours once deliveries are there, shares of orders included."""

    @property
    def part(self) -> str:
        return self.plan.part

    @property
    def route(self) -> str:
        return self.plan.route


@dataclass(frozen=True)
class Alone:
    """A plan as if nothing else were to do."""

    days: float
    """Calendar days until it is done."""
    booked_hours: float
    """Of hands after the first deliveries, as a timetable books them: in whole steps."""


@dataclass(frozen=True, eq=False)
class Workshop:
    """What options are judged by: prices, and what the shop is like."""

    tariff: Tariff
    stock: Mapping[str, float]
    parts_per_order: Mapping[str, float]
    """By service: among how many parts the routes share an order."""
    printers: frozenset[str]
    hours_a_day: float
    alone: Callable[[ProcessPlan], Alone] | None = None
    """A plan by the calendar if nothing else were to do; without it, by so many hours a day."""

    def of_plan(self, plan: ProcessPlan) -> Alone:
        """What the plan takes at the least, whatever else is to do."""
        if self.alone:
            return self.alone(plan)
        hands_h = sum(op.hands_on_min for op in plan.operations) / 60.0
        return Alone(plan.lead_days(self.hours_a_day), hands_h)


def options_of(plans: Sequence[ProcessPlan], shop: Workshop) -> tuple[Option, ...]:
    """One option for each plan, in their order. Raises InputError naming every resource without a price."""
    shared = [without_shares(plan, shop.parts_per_order) for plan in plans]
    steps = [op for s in shared for op in s.plan.operations]
    names = {d.resource: None for op in steps for d in (*op.usages, *((op.floor,) if op.floor else ()))}
    prices = dict(zip(names, shop.tariff.vector(tuple(names)).tolist(), strict=True))
    return tuple(_option(s, plan, prices, shop) for s, plan in zip(shared, plans, strict=True))


def _option(shared: Sharing, plan: ProcessPlan, prices: dict[str, float], shop: Workshop) -> Option:
    tariff = shop.tariff
    usages = usage_by_resource(shared.plan, prices)
    packed, charges = dict[str, float](), dict[str, float]()
    as_used = wear = 0.0
    for resource, quantity in usages.items():
        kind = tariff.kind(resource)
        service = service_of(resource, shop.parts_per_order)
        if kind == "own-time" or quantity == 0.0:
            continue
        if kind == "tool":
            wear += quantity * prices[resource] if resource in tariff.owned else 0.0
        elif kind in IN_PACKS:
            packed[resource] = quantity
        elif service and counts_to_least(resource):
            charges[service] = charges.get(service, 0.0) + quantity * prices[resource]
        else:
            as_used += quantity * prices[resource]
    printing = sum(op.machine_min for op in plan.operations if op.machine in shop.printers)
    alone = shop.of_plan(plan)
    return Option(
        plan=plan,
        usages=usages,
        packed=packed,
        tools=frozenset(tools_to_buy(plan, tariff)),
        orders=shared.orders,
        charges=charges,
        as_used=as_used,
        wear=wear,
        own_hours=usages.get(OWN_HOUR, 0.0),
        printer_hours=printing / 60.0,
        lead_days=alone.days,
        booked_hours=alone.booked_hours,
    )


def usage_by_resource(plan: ProcessPlan, prices: dict[str, float]) -> dict[str, float]:
    """All draws of a plan by resource, with what its floors add."""
    found: dict[str, float] = {}
    for op in plan.operations:
        usages = op.usages
        if op.floor is not None:
            extra = top_up(op.usages, op.floor, prices)
            usages = (*op.usages, extra) if extra is not None else usages
        for usage in usages:
            found[usage.resource] = found.get(usage.resource, 0.0) + usage.quantity
    return found
