"""Calendars read back by a strict reader of ours and by a reference library."""

from __future__ import annotations

import datetime as dt
import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from icalendar import Calendar

from routecost.builds.working_time import WorkingTime
from routecost.buying.buy_list import Item
from routecost.reports.files.icalendar import escaped, folded, timetable_ical
from routecost.routes.process.operation import ProcessPlan
from routecost.scheduling.order_days import Order
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


def order(day: dt.date, *resources: str, supplier: str = "a supplier, the first") -> Order:
    items = (
        Item(supplier, name, "500 g", 2, 1000.0, "g", 900, MONDAY, ("lid",), 0.0, 0.0, None)
        for name in resources
    )
    return Order(day, supplier, tuple(items))


def test_orders_are_events_of_a_whole_day_with_an_alarm() -> None:
    days = (MONDAY, dt.date(2026, 2, 28), dt.date(2026, 12, 31))
    orders = [order(day, "resin", "a; very\nodd, name") for day in days]
    found = made(made_plans(2))
    text = timetable_ical(found, "build", orders)
    ours = [e for e in strict_ical.read(text) if e["CATEGORIES"] == "order"]
    theirs = [e for e in Calendar.from_ical(text).walk("VEVENT") if "ALARM" not in e and e.subcomponents]
    assert len(ours) == len(theirs) == len({e["UID"] for e in ours}) == len(orders)
    for day, event, other in zip(days, ours, theirs, strict=True):
        assert (other.start, other.end) == (day, day + dt.timedelta(days=1))
        assert event["SUMMARY"] == "order: 2 items from a supplier, the first"
        assert (
            event["DESCRIPTION"]
            == "2 x 500 g resin\n2 x 500 g a; very\nodd, name"
            == str(other["DESCRIPTION"])
        )
        (alarm,) = other.walk("VALARM")
        # own work begins at 18:00; a trigger counts from the start of the event (RFC 5545, 3.8.6.3)
        assert alarm["TRIGGER"].dt == dt.timedelta(hours=18)
        assert event["TRANSP"] == "TRANSPARENT"
    assert len(strict_ical.read(text)) == len(found.entries) + len(orders)


def test_an_order_that_moves_is_the_same_event() -> None:
    plans = made_plans(1)

    def told(day: dt.date, *resources: str) -> str:
        events = strict_ical.read(timetable_ical(made(plans), "build", [order(day, *resources)]))
        (uid,) = (e["UID"] for e in events if e["CATEGORIES"] == "order")
        return uid

    assert told(MONDAY, "resin") == told(dt.date(2026, 3, 9), "resin") != told(MONDAY, "wax")


def test_the_same_timetable_is_the_same_file() -> None:
    plans = made_plans(4)
    assert timetable_ical(made(plans), "build") == timetable_ical(made(plans), "build")
