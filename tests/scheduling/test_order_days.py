"""By when to order: nothing starts before it is there, and a working day later would be too late."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from routecost.builds.working_time import WorkingTime, read_working_time
from routecost.buying.buy_list import Item
from routecost.buying.packs import Bought
from routecost.buying.purchases import BuyLine
from routecost.routes.process.operation import Operation, ProcessPlan, Usage, own_time
from routecost.scheduling.order_days import OrderDays, order_days, orders_of
from routecost.scheduling.timetable import Timetable, deliveries, schedule
from routecost.shop.price_log import Offer
from tests.planning.made_plans import made_plans, plan, step
from tests.scheduling.test_timetable import some_plans, some_working

MONDAY = dt.date(2026, 3, 2)
GOODS = ("filament", "resin", "paper", "primer", "clear-coat", "silicone")


def line(resource: str, kind: str = "material", packs: int = 1, amount: float = 5.0) -> BuyLine:
    offer = Offer(resource, "a supplier", "1 kg", 1000.0, 5.0, 0.005, 0.005, MONDAY, "invented", "")
    bought = (Bought(offer, packs),) if packs else ()
    return BuyLine(resource, "g", kind, 1.0, 0.0, bought, amount, 0.0, ("lid",))


def item(resource: str, supplier: str) -> Item:
    return Item(supplier, resource, "1 kg", 1, 1000.0, "g", 500, MONDAY, ("lid",), 0.0, 0.0, None)


def made(
    plans: Sequence[ProcessPlan], lines: Sequence[BuyLine], working: WorkingTime, lead_days: float
) -> tuple[Timetable, dict[str, OrderDays]]:
    supply = deliveries(lines, lead_days)
    found = schedule(plans, start=MONDAY, working=working, supply_days=supply, effort_s=0.0)
    return found, order_days(found, plans, lines, lead_days, ("lab",))


def check(
    found: Timetable,
    plans: Sequence[ProcessPlan],
    days: dict[str, OrderDays],
    working: WorkingTime,
    lead_days: float,
) -> None:
    opens = dt.timedelta(minutes=5 * math.ceil(working.window_min[0] / 5 - 1e-9))
    lead = dt.timedelta(days=lead_days)
    timed = {(e.plan, e.place) for e in found.entries}
    for resource, of in days.items():
        drawing = {
            (p, o)
            for p, one in enumerate(plans)
            for o, op in enumerate(one.operations, start=1)
            if any(u.resource == resource for u in op.usages)
        }
        starts = [e.start for e in found.entries if (e.plan, e.place) in drawing]
        # what takes no time has no entry, and may draw it before the first that has one
        all_timed = drawing <= timed
        if all_timed:
            assert of.needed_on == min(starts).date()
        assert found.start <= of.order_by
        assert not working.is_off(of.order_by)
        assert of.order_by + dt.timedelta(days=math.floor(lead_days)) <= of.needed_on

        def arrives(day: dt.date) -> dt.datetime:
            return dt.datetime.combine(day, dt.time()) + opens + lead

        # no operation that draws it starts before it is delivered
        assert all(arrives(of.order_by) <= start for start in starts)
        # it is the last such working day
        later = of.order_by + dt.timedelta(days=1)
        while working.is_off(later):
            later += dt.timedelta(days=1)
        if all_timed:
            assert arrives(later) > min(starts)


@settings(max_examples=60)
@given(some_plans, some_working, st.sampled_from((1.0, 3.0, 4.5, 10.0)))
def test_orders_arrive_before_anything_draws_them(
    plans: list[ProcessPlan], working: WorkingTime, lead_days: float
) -> None:
    lines = [line("filament"), line("resin")]
    found, days = made(plans, lines, working, lead_days)
    scheduled = {e.plan for e in found.entries}
    drawn = {u.resource for i in scheduled for op in plans[i].operations for u in op.usages}
    assert days.keys() == {"filament", "resin"} & drawn
    check(found, plans, days, working, lead_days)


@pytest.mark.parametrize("count", [1, 5, 20])
@pytest.mark.parametrize("days_off", ["", "saturday sunday", "2026-03-02/2026-03-04"])
def test_plans_like_those_of_routes_are_supplied_in_time(count: int, days_off: str) -> None:
    working = read_working_time(2.0, "", days_off)
    plans = made_plans(count, seed=count)
    found, days = made(plans, [line(r) for r in GOODS], working, 4.0)
    check(found, plans, days, working, 4.0)


def test_order_days_by_hand() -> None:
    # 18:00 to 20:00; sanding waits in the queue until the cure of ten days is over at 18:30 of day 10
    plans = [
        plan("lid", step("pour", 30, waiting_min=10 * 1440, uses="resin"), step("sand", 30, uses="paper"))
    ]
    _, days = made(plans, [line("resin"), line("paper")], WorkingTime(2.0), 4.0)
    # resin: ordered on Monday at 18:00, there on Friday at 18:00; paper: drawn on Monday 16th at 18:30
    assert days["resin"] == OrderDays(MONDAY, dt.date(2026, 3, 6))
    assert days["paper"] == OrderDays(dt.date(2026, 3, 12), dt.date(2026, 3, 16))


def test_a_run_that_begins_before_the_window_opens_is_supplied_the_day_before() -> None:
    # a wait of 700 min from 18:30 ends at 06:10, when the oven starts by itself: ordered at 18:00 one day
    # later, its gas would come too late by twelve hours
    plans = [
        plan("lid", step("pour", 30, waiting_min=9 * 1440 + 700), step("cure", 0, "oven", 60, uses="gas"))
    ]
    found, days = made(plans, [line("gas")], WorkingTime(2.0), 2.0)
    (run,) = (e for e in found.entries if e.phase == "machine")
    assert run.start == dt.datetime(2026, 3, 12, 6, 10)
    assert days["gas"] == OrderDays(dt.date(2026, 3, 9), dt.date(2026, 3, 12))


def test_what_waits_in_its_own_operation_is_ordered_when_that_starts() -> None:
    screws = Operation(
        "find, order and put away", (own_time(8, ""), Usage("screw", 4.0, "")), waiting_min=4 * 1440
    )
    share = Usage("lab shipping-order", 0.25, "")
    ordering = Operation("order", (own_time(11, ""), share))
    printed = Operation("printed", (Usage("lab volume", 9.0, ""),), waiting_min=6 * 1440)
    plans = [plan("screw", screws), plan("lid", ordering, printed, step("sand", 30))]
    lines = [
        line("screw", "bought"),
        line("lab volume", "service", packs=0),
        line("lab shipping-order", "service", packs=0),
        line("lab minimum-order", "service", packs=0),
        line("electricity", "energy", packs=0),
    ]
    _, days = made(plans, lines, WorkingTime(2.0), 4.0)
    assert days["screw"] == OrderDays(MONDAY, MONDAY + dt.timedelta(days=4))
    # one order, whatever it is charged by
    lab = OrderDays(MONDAY, MONDAY + dt.timedelta(days=6))
    assert days["lab volume"] == days["lab shipping-order"] == days["lab minimum-order"] == lab
    assert "electricity" not in days


def test_a_machine_that_must_be_bought_is_waited_for_where_only_its_runs_name_it() -> None:
    plans = [plan("lid", step("prepare", 30), step("print", 10, "printer", 300))]
    lines = [line("printer", "tool")]
    found, days = made(plans, lines, WorkingTime(2.0), 4.0)
    start = min(e.start for e in found.entries if e.place == 2)
    assert start == dt.datetime(2026, 3, 6, 18, 0)
    assert days["printer"] == OrderDays(MONDAY, start.date())


def test_what_takes_no_time_to_arrive_is_ordered_on_the_day() -> None:
    plans = [plan("lid", step("cure", waiting_min=60, uses="gas"))]
    working = read_working_time(2.0, "", "monday")
    _, days = made(plans, [line("gas")], working, 0.0)
    assert days["gas"] == OrderDays(MONDAY, MONDAY)


def test_what_is_in_stock_or_no_longer_drawn_has_no_day() -> None:
    plans = [plan("lid", step("sand", 30, uses="paper"))]
    _, days = made(plans, [line("paper", packs=0, amount=0.0), line("resin")], WorkingTime(2.0), 4.0)
    assert days == {}


def test_orders_are_one_for_each_supplier_and_day() -> None:
    early, late = OrderDays(MONDAY, MONDAY), OrderDays(dt.date(2026, 3, 9), dt.date(2026, 3, 13))
    items = [item("a", "x"), item("b", "y"), item("c", "x"), item("d", "x"), item("nowhere drawn", "z")]
    charge = replace(item("lab volume", "lab"), packs=0, pack="")
    found = orders_of([*items, charge], {"a": late, "b": early, "c": early, "d": early, "lab volume": early})
    told = [(o.day, o.supplier, [i.resource for i in o.items]) for o in found]
    assert told == [
        (early.order_by, "x", ["c", "d"]),
        (early.order_by, "y", ["b"]),
        (late.order_by, "x", ["a"]),
    ]
