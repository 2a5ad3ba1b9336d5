"""Calendars read back by a strict reader of ours and by a reference library."""

from __future__ import annotations

import datetime as dt
import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from icalendar import Calendar

from routecost.builds.working_time import WorkingTime
from routecost.reports.files.icalendar import escaped, folded, timetable_ical
from routecost.routes.process.operation import ProcessPlan
from routecost.scheduling.timetable import Timetable, schedule
from tests.planning.made_plans import made_plans, plan, step
from tests.reports import strict_ical

MONDAY = dt.date(2026, 3, 2)


def made(plans: list[ProcessPlan], hours_a_day: float = 2.0) -> Timetable:
    return schedule(plans, start=MONDAY, working=WorkingTime(hours_a_day), effort_s=0.0)


# what a line of a table can hold: any text but surrogates, which UTF-8 has no form for
texts = st.text(st.characters(exclude_categories=["Cs"]), max_size=120)


@pytest.mark.parametrize("character", ["x", "é", "木", "\N{GRINNING FACE}", ",", "\n"])
@pytest.mark.parametrize("count", [60, 75, 150, 500])
def test_long_texts_are_folded_and_come_back(character: str, count: int) -> None:
    text = timetable_ical(made([plan("lid", step(character * count, 30))]), "build")
    (event,) = strict_ical.read(text)
    assert event["SUMMARY"] == "lid: " + character * count
    (other,) = Calendar.from_ical(text).walk("VEVENT")
    assert str(other["SUMMARY"]) == event["SUMMARY"]


def told(text: str) -> str:
    """What of a text a calendar can hold."""
    lines = text.replace("\r\n", "\n").replace("\r", "\n")
    return re.sub(r"[\x00-\x08\x0b-\x1f\x7f]", "", lines)


@settings(max_examples=150)
@given(texts)
def test_any_text_comes_back(text: str) -> None:
    lines = list(folded(f"SUMMARY:{escaped(text)}"))
    assert all(len(line.encode("utf-8")) <= 75 for line in lines)
    whole = lines[0] + "".join(line[1:] for line in lines[1:])
    assert strict_ical.unescaped(whole.removeprefix("SUMMARY:")) == told(text)


@settings(max_examples=40)
@given(texts, texts)
def test_a_calendar_of_any_names_is_read_back_by_both_readers(part: str, operation: str) -> None:
    found = made([plan(part, step(operation, 90, "printer", 300, 600))])
    text = timetable_ical(found, "build")
    ours = strict_ical.read(text)
    theirs = list(Calendar.from_ical(text.encode("utf-8")).walk("VEVENT"))
    assert len(ours) == len(theirs) == len(found.entries)
    for event, other, entry in zip(ours, theirs, found.entries, strict=True):
        doing = {"hands": "", "machine": "printer running: ", "waiting": "waiting: "}[entry.phase]
        assert event["SUMMARY"] == told(f"{part}: {doing}{operation}")
        assert str(other["SUMMARY"]) == event["SUMMARY"]
        assert str(other["DESCRIPTION"]) == event["DESCRIPTION"]


@pytest.mark.parametrize("count", [3, 25])
def test_events_are_the_entries(count: int) -> None:
    found = made(made_plans(count))
    text = timetable_ical(found, "build")
    ours = strict_ical.read(text)
    theirs = list(Calendar.from_ical(text).walk("VEVENT"))
    for event, other, entry in zip(ours, theirs, found.entries, strict=True):
        times = strict_ical.local_time(event["DTSTART"]), strict_ical.local_time(event["DTEND"])
        assert times == (other.start, other.end) == (entry.start, entry.end)
        # a time of its own without a zone is local everywhere
        assert other.start.tzinfo is None
        assert event["CATEGORIES"] == entry.phase
        # only hands make a person busy
        assert (event["TRANSP"] == "OPAQUE") == (entry.phase == "hands")
        assert event["DTSTAMP"] == "20260302T000000Z"


def test_identifiers_are_each_one_s_own_and_stay_when_times_move() -> None:
    plans = [*made_plans(12), *made_plans(1)]
    one = strict_ical.read(timetable_ical(made(plans), "build"))
    assert len({event["UID"] for event in one}) == len(one)
    # with 24 hours a day machine runs begin at other times, and are the same runs
    other = strict_ical.read(timetable_ical(made(plans, 24.0), "build"))

    def runs(events: list[strict_ical.Event]) -> dict[str, str]:
        return {e["UID"]: e["SUMMARY"] for e in events if e["CATEGORIES"] != "hands"}

    assert runs(one) == runs(other)
    assert [e["DTSTART"] for e in one] != [e["DTSTART"] for e in other]
    # another build's are others
    stranger = strict_ical.read(timetable_ical(made(plans), "another"))
    assert not {e["UID"] for e in one} & {e["UID"] for e in stranger}


def test_the_same_timetable_is_the_same_file() -> None:
    plans = made_plans(4)
    assert timetable_ical(made(plans), "build") == timetable_ical(made(plans), "build")
