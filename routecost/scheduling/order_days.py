"""When to order what a plan buys: the last day on which each order still arrives before the work that needs it."""

from __future__ import annotations

import datetime as dt
import math
from bisect import bisect_right
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby

from routecost.buying.buy_list import Item
from routecost.buying.purchases import BuyLine
from routecost.buying.service_orders import service_of
from routecost.routes.process.operation import Operation, ProcessPlan
from routecost.scheduling.timetable import DELIVERED, Timetable
from routecost.scheduling.timetable_entries import Entry
from routecost.scheduling.workdays import Workdays

ORDERED = (*DELIVERED, "bought", "service")
"""Kinds that somebody has to order; electricity and upkeep are simply there."""


@dataclass(frozen=True)
class OrderDays:
    """Of one resource."""

    order_by: dt.date
    """A working day: an order placed when its window opens arrives in time."""
    needed_on: dt.date
    """The day on which the first operation that draws it starts. For what waits in an operation of its own, a
    bought part or an order from a service: the day on which its delivery is expected."""


@dataclass(frozen=True)
class Order:
    """What to order from one supplier on one day."""

    day: dt.date
    supplier: str
    items: tuple[Item, ...]


def order_days(
    found: Timetable,
    plans: Sequence[ProcessPlan],
    lines: Sequence[BuyLine],
    lead_days: float,
    services: Collection[str] = (),
) -> dict[str, OrderDays]:
    """By resource, for every line of a buy list that is ordered and drawn in the timetable of `plans`.

    Goods take `lead_days` from the moment at which the window of a working day opens, the timetable's own rule.
    Bought parts and orders from `services` stand in the timetable as operations: they are ordered when these
    start. All that is ordered from one service is one order, placed with the first part that needs it.
    """
    workdays = Workdays.of(found.working, found.start, found.step_min)
    midnight = dt.datetime.combine(found.start, dt.time())
    step = dt.timedelta(minutes=found.step_min)
    lead_steps = math.ceil(lead_days * workdays.day_steps)
    names = dict.fromkeys(services, 1.0)

    def order_of(resource: str) -> str:
        return service_of(resource, names) or resource

    drawing: dict[str, list[list[Entry]]] = {}
    for number, plan in enumerate(plans):
        own = [e for e in found.entries if e.plan == number]
        for order, entries in _drawing(plan, own, order_of):
            drawing.setdefault(order, []).append(entries)

    days: dict[str, OrderDays] = {}
    for line in lines:
        uses = drawing.get(order_of(line.resource))
        if line.kind not in ORDERED or not uses or not (line.packs or line.amount > 0.0):
            continue
        first = min(e.start for entries in uses for e in entries)
        if line.kind in DELIVERED:
            at = (first - midnight) // step - lead_steps
            opened = max(0, bisect_right(workdays.openings, at) - 1)
            order_by = found.start + dt.timedelta(days=workdays.days[opened])
            # without a lead time nothing waits for it, not even for the first working day
            days[line.resource] = OrderDays(min(order_by, first.date()), first.date())
        else:
            there = min(max(e.end for e in entries) for entries in uses)
            days[line.resource] = OrderDays(first.date(), there.date())
    return days


def orders_of(items: Sequence[Item], days: Mapping[str, OrderDays]) -> tuple[Order, ...]:
    """One order of packs for each supplier and day, by day. What is paid as used is no order of its own: a
    service's stands in the timetable as an operation."""

    def when(item: Item) -> tuple[dt.date, str]:
        return days[item.resource].order_by, item.supplier

    dated = sorted((i for i in items if i.packs and i.resource in days), key=when)
    return tuple(Order(day, supplier, tuple(some)) for (day, supplier), some in groupby(dated, key=when))


def _drawing(
    plan: ProcessPlan, own: Sequence[Entry], order_of: Callable[[str], str]
) -> Iterator[tuple[str, list[Entry]]]:
    """What a plan draws, each with the entries of the operations that draw it. An operation that takes no time
    has no entry: the next one stands in for it."""
    drawn: dict[str, list[Entry]] = {}
    for place, op in enumerate(plan.operations, start=1):
        entries = [e for e in own if e.place == place] or [e for e in own if e.place > place][:1] or own[-1:]
        for order in {order_of(resource) for resource in _draws(op)}:
            drawn.setdefault(order, []).extend(entries)
    return ((order, entries) for order, entries in drawn.items() if entries)


def _draws(op: Operation) -> Iterator[str]:
    yield from (usage.resource for usage in op.usages if usage.quantity > 0.0)
    if op.floor is not None:
        yield op.floor.resource
    if op.machine:
        yield op.machine
