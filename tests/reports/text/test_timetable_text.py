"""Timetables as text, JSON and CSV: the same entries everywhere, and lines that fit."""

from __future__ import annotations

import csv
import datetime as dt
import io
import json

import pytest
from rich.console import Console

from routecost.builds.working_time import read_working_time
from routecost.reports.files.timetable_csv import timetable_csv
from routecost.reports.json.timetable_json import timetable_json
from routecost.reports.text.terminal import WIDTH
from routecost.reports.text.timetable_text import print_timetable
from routecost.routes.process.operation import ProcessPlan
from routecost.scheduling.timetable import Timetable, schedule
from tests.planning.made_plans import made_plans, plan, step

MONDAY = dt.date(2026, 3, 2)


def made(plans: list[ProcessPlan], hours_a_day: float = 2.0) -> Timetable:
    working = read_working_time(hours_a_day, "", "sunday")
    return schedule(
        plans,
        start=MONDAY,
        working=working,
        capacity={"printer-220": 2},
        supply_days={"filament": 2.0},
        effort_s=0.0,
    )


def printed(found: Timetable, **options: object) -> str:
    out = Console(file=io.StringIO(), width=WIDTH, highlight=False)
    print_timetable(found, out, **options)  # type: ignore[arg-type]
    assert isinstance(out.file, io.StringIO)
    return out.file.getvalue()


@pytest.mark.parametrize("count", [1, 6, 30])
@pytest.mark.parametrize("days", [None, 3])
def test_no_line_is_wider_than_the_terminal(count: int, days: int | None) -> None:
    plans = [*made_plans(count), plan("a-part-whose-name-is-far-too-long-for-any-table", step("sand", 90.0))]
    text = printed(made(plans), days=days, needed_by={p.part: MONDAY for p in plans})
    assert max(len(line) for line in text.splitlines()) <= WIDTH


def test_the_chart_shows_each_day_by_what_matters_most() -> None:
    # by hand: Monday hands, then the machine until Wednesday 06:00, a wait until Friday 06:00; Saturday is
    # nothing's, because the last operation can begin on Friday evening already
    plans = [plan("lid", step("print", 30, "printer-220", 2130, 2880), step("sand", 60))]
    text = printed(made(plans))
    (row,) = (line for line in text.splitlines() if line.startswith("lid*"))
    assert row.split(maxsplit=1)[1].startswith("■==·■ ")
    assert row.endswith("Fri 2026-03-06")
    (load,) = (line for line in text.splitlines() if line.startswith("own work "))
    # a quarter and a half of 2 h, in eighths of a block
    assert load.split(maxsplit=2)[2].startswith("▂   ▄")


def test_brackets_in_names_are_names() -> None:
    text = printed(made([plan("[bold]lid", step("sand [twice]", 30))]))
    assert text.count("[bold]lid*") == 2
    assert text.count("sand [twice]") == 2


def test_a_long_build_has_columns_of_several_days() -> None:
    found = made([plan("lid", step("cure", 10, waiting_min=200 * 1440.0))])
    text = printed(found)
    assert "Each column is 4 days" in text
    assert "■" + "·" * 50 in text


def test_what_is_late_is_told() -> None:
    found = made([plan("lid", step("cure", 10, waiting_min=3 * 1440.0)), plan("foot", step("sand", 10))])
    text = printed(found, needed_by={"lid": dt.date(2026, 3, 4), "foot": dt.date(2026, 3, 2)})
    late = [line for line in text.splitlines() if line.startswith("late:")]
    assert late == ["late: lid is done on Thu 2026-03-05 but needed by Wed 2026-03-04"]


def test_the_list_of_days_holds_every_sitting_once() -> None:
    found = made(made_plans(3))
    text = printed(found, days=None)
    for e in (e for e in found.entries if e.phase == "hands"):
        assert f" {e.start:%H:%M}   {e.end:%H:%M}   {e.part}" in text
    sittings = sum(e.phase == "hands" for e in found.entries)
    listed = text.split("Schedule")[1].split("Critical path")[0]
    assert sum(line[17:24].strip().count(":") == 1 for line in listed.splitlines()) == sittings


def test_csv_reads_back_as_the_entries() -> None:
    found = made([*made_plans(4), plan('a "quoted", part', step("sand; then\nlook", 20))])
    rows = list(csv.DictReader(io.StringIO(timetable_csv(found), newline="")))
    told = timetable_json(found)["entries"]
    assert len(rows) == len(told) == len(found.entries)
    for row, entry, e in zip(rows, told, found.entries, strict=True):
        assert {k: str(v) for k, v in entry.items() if k != "critical"} == {
            k: v for k, v in row.items() if k != "critical"
        }
        assert (row["critical"] == "yes") == entry["critical"] == e.is_critical
        assert dt.datetime.fromisoformat(row["start"]) == e.start
        assert dt.datetime.fromisoformat(row["end"]) - e.start == dt.timedelta(minutes=float(row["minutes"]))


def test_json_is_plain_and_adds_up() -> None:
    found = made(made_plans(4))
    told = json.loads(json.dumps(timetable_json(found)))
    assert told == timetable_json(found)
    assert told["finish"] == max(told["parts"].values()) == max(e["end"] for e in told["entries"])
    by_hand = sum(e["minutes"] for e in told["entries"] if e["phase"] == "hands")
    assert sum(day["hands_min"] for day in told["days"]) == pytest.approx(by_hand)


def test_nothing_to_make_is_told() -> None:
    assert "no timetable" in printed(made([]))
    assert timetable_csv(made([])).count("\r\n") == 1
