"""The timetable of the plan: charts, the schedule of the next days, and the critical path."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

import streamlit as st

from routecost.page import state
from routecost.page.planning.plan_charts import between, gantt_chart, load_chart
from routecost.page.planning.plan_form import default_question
from routecost.page.planning.plan_state import plan_request, planned, request
from routecost.page.widgets import download, table
from routecost.reports.files.icalendar import timetable_ical
from routecost.reports.files.timetable_csv import timetable_csv
from routecost.reports.wording.buy_list_sentences import item_text, order_text
from routecost.reports.wording.formats import clock, date, moment
from routecost.reports.wording.timetable_sentences import (
    CAUSE_TEXT,
    finish_proof,
    hands_on_hours,
    operation_text,
    sittings,
)
from routecost.scheduling.order_days import Order
from routecost.scheduling.task_network import OWN_TO_EACH_PART
from routecost.scheduling.timetable import Timetable

SPANS = {"all": 0, "four weeks": 28, "two weeks": 14, "one week": 7, "three days": 3}


def timetable_page() -> None:
    build = state.build()
    st.header("Timetable")
    made = planned()
    if made is None:
        last = request()
        st.caption(
            "There is no plan yet: make one on the page Plan, or plan here with the settings of the build."
        )
        if st.button("Plan", type="primary"):
            plan_request(last.question if last else default_question(build, state.day()))
            st.rerun()
        return
    found = made.timetable
    if found is None:
        st.error("No plan meets all limits; the page Plan shows what to change.")
        return
    if not found.entries:
        st.success("Nothing left to make.")
        return
    _head(found, made.scheduled.late)
    _charts(found)
    _schedule(found, made.orders)
    _chain(found)
    _downloads(found, build.settings.name, made.orders)


def _head(found: Timetable, late: dict[str, dt.date]) -> None:
    finish, starts, hands, share = st.columns(4)
    finish.metric("Done on", date(found.finish.date()))
    starts.metric("Work starts on", date(found.start))
    booked, available = hands_on_hours(found)
    hands.metric("Hands-on hours", f"{booked:.1f}")
    if available > 0.0:
        share.metric("Share of available hours", f"{booked / available:.0%}")
    st.caption(
        f"The last operation ends at {clock(found.finish)}. {finish_proof(found)} "
        f"Times are rounded up to {found.step_min} min per operation."
    )
    for part, day in late.items():
        st.warning(f"{part} is done on {date(found.ends[part].date())} but needed by {date(day)}.")


def _charts(found: Timetable) -> None:
    last = found.finish.date()
    spans = [name for name, days in SPANS.items() if days <= (last - found.start).days]
    span, begin = st.columns([3, 1])
    shown = span.radio("Show", spans, horizontal=True)
    first = found.start
    if SPANS[shown]:
        picked = begin.date_input("From", found.start, min_value=found.start, max_value=last)
        first = picked if isinstance(picked, dt.date) else found.start
        last = first + dt.timedelta(days=SPANS[shown] - 1)
    entries = between(found, first, last)
    if not entries:
        st.info("No work is scheduled on these days.")
        return
    st.altair_chart(gantt_chart(found, entries, first, last), width="stretch")
    st.caption(
        "Pale bands are your working hours; between them are nights and days off. A line below a bar marks the "
        "critical path: any delay there delays the finish."
    )
    st.markdown("**Hours per day**, used and available")
    machines = sorted({name for load in found.days for name in load.machine_min} - OWN_TO_EACH_PART)
    for resource in ("hands", *machines):
        units = max((e.unit for e in found.entries if e.resource == resource), default=1)
        st.caption("own work" if resource == "hands" else resource)
        st.altair_chart(load_chart(found, resource, units, first, last), width="stretch")


def _schedule(found: Timetable, orders: Sequence[Order]) -> None:
    st.subheader("Schedule")
    first, count = st.columns([1, 3])
    picked = first.date_input(
        "First day", found.start, min_value=found.start, max_value=found.finish.date(), key="schedule from"
    )
    days = count.slider("Days", 1, 14, 3)
    day = picked if isinstance(picked, dt.date) else found.start
    until = day + dt.timedelta(days=days)
    for o in orders:
        if day <= o.day < until:
            st.markdown(f"**{date(o.day)}**, {order_text(o)}: {', '.join(item_text(i) for i in o.items)}")
    rows = [
        {
            "day": date(e.start.date()),
            "from": clock(e.start),
            "to": clock(e.end),
            "part": e.part,
            "task": operation_text(e),
            "then": then,
            "critical": "yes" if e.is_critical else "",
        }
        for e, then in sittings(found, day, until)
    ]
    if not rows:
        st.caption("No own work on these days.")
        return
    widths = {"day": 110, "from": 60, "to": 60, "part": 120, "task": 330, "then": 240, "critical": 80}
    table(rows, widths=widths, most_rows=len(rows))


def _chain(found: Timetable) -> None:
    st.subheader("Critical path")
    st.caption("The chain of operations that determines the finish; each starts as soon as its cause allows.")
    rows = [
        {
            "starts": moment(link.start),
            "part": link.part,
            "operation": link.operation,
            "next can start": moment(link.until),
            "cause": CAUSE_TEXT[link.cause],
        }
        for link in found.chain
    ]
    table(rows, most_rows=12)


def _downloads(found: Timetable, name: str, orders: Sequence[Order]) -> None:
    calendar, rows = st.columns([1, 4])
    download(calendar, "Download the calendar", "timetable.ics", timetable_ical(found, name, orders))
    download(rows, "Download as CSV", "timetable.csv", timetable_csv(found, orders))
