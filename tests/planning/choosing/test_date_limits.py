"""Dates as limits, counted by hand on a calendar."""

from __future__ import annotations

import datetime as dt

import pytest

from routecost.builds.working_time import read_working_time
from routecost.planning.choosing.date_limits import Dates, finished_by, hours_between, with_date_limits
from routecost.planning.choosing.limits import Limits
from routecost.scheduling.workshop import alone
from tests.planning.made_plans import made_plans, plan, step

MONDAY = dt.date(2026, 3, 2)
WORKING = read_working_time(2.5, days_off="sunday")


def test_a_week_without_its_sunday_holds_six_evenings() -> None:
    dates = Dates(MONDAY)
    found = finished_by(Limits(), MONDAY + dt.timedelta(days=6), dates, WORKING, printers=2)
    assert (found.own_hours, found.days, found.printer_hours) == (15.0, 7.0, 336.0)
    assert hours_between(4.0, MONDAY + dt.timedelta(days=6), dates, WORKING) == 5.0


def test_a_tighter_limit_stays_and_dates_of_parts_are_counted_from_the_start() -> None:
    dates = Dates(MONDAY, finish_by=dt.date(2026, 3, 8), needed_by={"lid": dt.date(2026, 3, 4)})
    found = with_date_limits(Limits(own_hours=4.0, budget=50.0), dates, WORKING, printers=1)
    assert (found.own_hours, found.budget, found.needed_by) == (4.0, 50.0, {"lid": 3.0})


def test_late_is_who_ends_after_midnight_of_the_nearer_day() -> None:
    dates = Dates(MONDAY, finish_by=dt.date(2026, 3, 8), needed_by={"lid": dt.date(2026, 3, 4)})
    midnight = dt.datetime(2026, 3, 5)
    assert dates.late({"lid": midnight, "foot": midnight}) == {}
    assert dates.late({"lid": midnight + dt.timedelta(minutes=5)}) == {"lid": dt.date(2026, 3, 4)}
    assert dates.late({"foot": dt.datetime(2026, 3, 9, 0, 5)}) == {"foot": dt.date(2026, 3, 8)}


def test_days_that_have_passed_are_missed_and_limit_nothing() -> None:
    passed = Dates(MONDAY, needed_by={"lid": dt.date(2026, 2, 20)})
    assert with_date_limits(Limits(), passed, WORKING, printers=1).needed_by == {}
    assert passed.late({"lid": dt.datetime(2026, 3, 3)}) == passed.needed_by


def test_the_last_day_of_all_is_no_trouble() -> None:
    never = Dates(MONDAY, finish_by=dt.date.max)
    assert never.late({"lid": dt.datetime(2026, 3, 3)}) == {}
    assert with_date_limits(Limits(), never, WORKING, printers=1).own_hours is not None


def test_dates_are_moved_no_further_than_to_the_start() -> None:
    dates = Dates(MONDAY, finish_by=dt.date(2026, 3, 8), needed_by={"lid": dt.date(2026, 3, 4)})
    assert dates.sooner(3) == Dates(MONDAY, dt.date(2026, 3, 5), {"lid": MONDAY})


def test_a_plan_alone_by_hand() -> None:
    """60 min of hands from 18:00, then 20 h of waiting until 15:00, then 10 min from 18:00 on: 1 day 18 h 10 min.
    With a delivery of four days before the first step, four days more."""
    one = plan("lid", step("pour", 60.0, waiting_min=1200.0, uses="resin"), step("trim", 10.0))
    found = alone(WORKING, MONDAY, {}, 4.0)(one)
    assert found.days == pytest.approx(1.0 + (18 * 60 + 10) / 1440.0)
    assert found.booked_hours == 0.0
    waited = alone(WORKING, MONDAY, {"resin": 4.0}, 4.0)(one)
    assert waited.days == pytest.approx(5.0 + (18 * 60 + 10) / 1440.0)  # Friday and Saturday
    assert waited.booked_hours == pytest.approx(70.0 / 60.0)


def test_deliveries_never_end_a_plan_sooner() -> None:
    for one in made_plans(30):
        free = alone(WORKING, MONDAY, {}, 4.0)(one)
        waiting = alone(WORKING, MONDAY, {"resin": 4.0, "filament": 4.0, "silicone": 4.0}, 4.0)(one)
        assert waiting.days >= free.days - 1e-9
        assert waiting.booked_hours >= free.booked_hours - 1e-9
