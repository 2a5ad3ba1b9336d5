"""Charts of plans: what they hold is what the timetable and the frontier have. Their form is checked against the
Vega-Lite schema by altair."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest

from routecost.builds.working_time import read_working_time
from routecost.page.planning.plan_charts import Mark, between, gantt_chart, load_chart, trade_chart
from routecost.scheduling.timetable import Timetable, schedule
from tests.planning.made_plans import made_plans, plan, step
from tests.reports.small_plan import made_at_home

MONDAY = dt.date(2026, 3, 2)


def made(*plans: Any) -> Timetable:
    working = read_working_time(2.0, "", "sunday")
    return schedule(plans or made_plans(6), start=MONDAY, working=working, effort_s=0.0)


def rows(chart: dict[str, Any]) -> list[list[dict[str, Any]]]:
    return list(chart["datasets"].values())


def test_every_entry_is_a_bar_and_every_working_day_a_band() -> None:
    found = made()
    last = found.finish.date()
    bands, bars = sorted(
        rows(gantt_chart(found, found.entries, MONDAY, last).to_dict()), key=lambda r: "part" in r[0]
    )
    assert [(b["part"], b["start"]) for b in bars] == [(e.part, e.start.isoformat()) for e in found.entries]
    assert [b["critical"] for b in bars] == [e.is_critical for e in found.entries]
    days = [MONDAY + dt.timedelta(days=n) for n in range((last - MONDAY).days + 1)]
    # by the calendar: hands rest on Sundays
    assert [b["start"][:10] for b in bands] == [d.isoformat() for d in days if d.isoweekday() != 7]
    assert {b["start"][11:16] for b in bands} == {"18:00"}


def test_only_what_is_under_way_is_shown() -> None:
    found = made(plan("lid", step("cure", 10, waiting_min=2 * 1440.0)), plan("foot", step("sand", 10)))
    tuesday, friday = MONDAY + dt.timedelta(days=1), MONDAY + dt.timedelta(days=4)
    assert {(e.part, e.phase) for e in between(found, tuesday, tuesday)} == {("lid", "waiting")}
    assert between(found, friday, friday) == []
    assert between(found, MONDAY, friday) == list(found.entries)


def test_loads_are_hours_of_those_that_there_are() -> None:
    found = made()
    hours = rows(load_chart(found, "hands", 1, MONDAY, found.finish.date()).to_dict())[0]
    assert sum(row["hours"] for row in hours) == pytest.approx(sum(d.hands_min for d in found.days) / 60.0)
    assert {row["available"] for row in hours} == {0.0, 2.0}
    assert all(row["hours"] <= row["available"] + 1e-9 for row in hours)


@pytest.mark.parametrize(("shares", "kind"), [((1.0, 0.1), "log"), ((1.0, 0.5), None), ((1.0, 0.0), None)])
def test_amounts_far_apart_are_shown_by_their_ratios(shares: tuple[float, ...], kind: str | None) -> None:
    best = made_at_home().totals
    bounds = [share * best.outlay for share in shares]
    marks = [Mark(10.0 * i, best, bound, is_plan=not i) for i, bound in enumerate(bounds)]
    chart = trade_chart(marks, "own hours", "EUR", is_time=False).to_dict()
    (data,) = rows(chart)
    assert [row["bound"] for row in data] == bounds
    assert {layer["encoding"]["y"]["scale"].get("type") for layer in chart["layer"]} == {kind}
