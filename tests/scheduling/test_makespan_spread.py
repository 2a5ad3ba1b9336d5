"""How sure a finish is: closed forms where one time decides it, and what always holds."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

import numpy as np
import pytest

from routecost.builds.working_time import WorkingTime
from routecost.costing.tariff import Tariff
from routecost.routes.process.operation import Operation, ProcessPlan, own_time
from routecost.scheduling.makespan_spread import makespan_spread
from routecost.scheduling.timetable import schedule
from routecost.shop.facts import Fact
from routecost.shop.shop import Shop
from tests.planning.made_plans import made_plans, plan, step

MONDAY = dt.date(2026, 3, 2)
EVENINGS = WorkingTime(2.0)


def fact(ref: str, low: float, value: float, high: float, unit: str) -> Fact:
    return Fact(
        ref=ref,
        value=value,
        low=low,
        high=high,
        unit=unit,
        as_of=MONDAY,
        source="made up",
        place="",
        meaning="",
        power=1,
    )


def shop_of(*facts: Fact) -> Shop:
    return Shop(day=MONDAY, things={}, facts={f.ref: f for f in facts}, resources={}, cautions={})


def found_for(plans: list[ProcessPlan], shop: Shop, tariff: Tariff, worlds: int = 400):
    table = schedule(plans, start=MONDAY, working=EVENINGS, effort_s=0.5)
    spread = makespan_spread(plans, table, tariff, shop, capacity={}, supply_days={}, worlds=worlds)
    return table, spread


@pytest.fixture
def tariff() -> Tariff:
    from tests.planning.small_bills import random_bill

    return random_bill(1).shop.tariff


def test_what_is_certain_ends_as_planned(tariff: Tariff) -> None:
    plans = made_plans(6)
    table, spread = found_for(plans, shop_of(), tariff, worlds=5)
    planned = (table.finish - dt.datetime.combine(MONDAY, dt.time())).total_seconds() / 86400.0
    # work is taken up in the order of the timetable; how it was laid down between may move the end within an hour
    assert np.all(np.abs(spread.days - planned) <= 1.0 / 24.0)
    assert np.ptp(spread.days) == 0.0


def test_a_delivery_that_decides_has_the_quantiles_of_its_own_law(tariff: Tariff) -> None:
    """Triangular from 4 to 12 days with its mode at 6: F(x) = 1 - (12 - x)² / (8 · 6) above the mode (closed
    form), so P50 is 12 - √24 = 7.101 and P80 is 12 - √9.6 = 8.902 days of waiting."""
    days = fact("service.lead_days", 4.0, 6.0, 12.0, "day")
    order = Operation(
        "order", (own_time(10.0, ""),), waiting_min=6.0 * 1440.0, waiting_facts=("service.lead_days",)
    )
    one = plan("lens", order)
    table, spread = found_for([one], shop_of(days), tariff, worlds=4000)
    ordered = dt.datetime.combine(MONDAY, dt.time(18, 10))
    for percent, waited in ((50, 12.0 - 24.0**0.5), (80, 12.0 - 9.6**0.5)):
        at = spread.at(percent)
        assert at is not None
        assert (at - ordered).total_seconds() / 86400.0 == pytest.approx(waited, abs=0.12)
    assert table.finish == ordered + dt.timedelta(days=6)


def test_the_same_rate_moves_all_that_rests_on_it_and_the_seed_fixes_it(tariff: Tariff) -> None:
    """Four sittings of 60 to 240 min, all by one rate, in evenings of 2 h: the shortest worlds book four times 65
    min, in three evenings, the longest nearly 16 h, in eight."""
    slow = fact("work.sand_min", 60.0, 60.0 + 1e-9, 240.0, "minute")
    sand = Operation("sand", (own_time(60.0, "", ("work.sand_min",)),))
    plans = [plan("lid", sand, sand), plan("foot", sand, sand)]
    _table, spread = found_for(plans, shop_of(slow), tariff)
    _again, same = found_for(plans, shop_of(slow), tariff)
    assert np.array_equal(spread.days, same.days)
    evenings = np.ceil(spread.days)
    assert evenings.min() == 3
    assert 7 <= evenings.max() <= 8
    first, last = spread.at(50), spread.at(80)
    assert first is not None
    assert last is not None
    assert first <= last


def test_no_work_has_no_finish_to_doubt(tariff: Tariff) -> None:
    _table, spread = found_for([], shop_of(), tariff, worlds=3)
    assert spread.at(80) == dt.datetime.combine(MONDAY, dt.time())


def test_machine_times_and_cures_stay_as_planned(tariff: Tariff) -> None:
    one = plan("lid", step("print", 10.0, "printer", 600.0), step("cure", 0.0, waiting_min=300.0))
    moved = replace(one, operations=one.operations)
    _table, spread = found_for([moved], shop_of(), tariff, worlds=4)
    # 18:00, 10 min of hands, 10 h of printing, 5 h of curing
    assert spread.days == pytest.approx(np.full(4, (18 * 60 + 10 + 900) / 1440.0))
