"""The timetable of the plan: what is done when, what decides the finish, and what to do next."""

from __future__ import annotations

import datetime as dt

import pandas as pd
import streamlit as st

from routecost.page import state
from routecost.page.planning.plan_charts import between, gantt_chart, load_chart
from routecost.page.planning.plan_form import usual
from routecost.page.planning.plan_state import plan_request, planned, request
from routecost.planning.scheduling.task_network import OWN_TO_EACH_PART
from routecost.planning.scheduling.timetable import Timetable
from routecost.reports.files.icalendar import timetable_ical
from routecost.reports.files.timetable_csv import timetable_csv
from routecost.reports.wording.formats import clock, date, moment
from routecost.reports.wording.timetable_sentences import CAUSES, finish_proof

SPANS = {"all of it": 0, "four weeks": 28, "two weeks": 14, "a week": 7, "three days": 3}


def timetable_page() -> None:
    build = state.build()
    st.header("The timetable of the plan")
    found = planned()
    if found is None:
        last = request()
        st.caption(
            "It belongs to a plan: ask for one on the page The plan, or take the build's own settings."
        )
        if st.button("Plan", type="primary"):
            plan_request(last.question if last else usual(build, state.day()))
            st.rerun()
        return
    table = found.timetable
    if table is None:
        st.error("No plan keeps all that is asked for; the page The plan tells what to change.")
        return
    if not table.entries:
        st.success("Nothing is left to be made.")
        return
    _head(table, found.scheduled.late)
    _charts(table)
    _to_do(table)
    _chain(table)
    _take_along(table, build.settings.name)


def _head(table: Timetable, late: dict[str, dt.date]) -> None:
    finish, begins, hands, share = st.columns(4)
    finish.metric("All done on", date(table.finish.date()))
    begins.metric("Work begins on", date(table.start))
    booked = sum(load.hands_min for load in table.days) / 60.0
    offered = sum(load.window_min for load in table.days) / 60.0
    hands.metric("Hands-on hours in it", f"{booked:.1f}")
    if offered > 0.0:
        share.metric("Of the hours until then", f"{booked / offered:.0%}")
    st.caption(
        f"The last step ends at {clock(table.finish)}. {finish_proof(table)} "
        f"Times are rounded up to {table.step_min} min a step."
    )
    for part, day in late.items():
        st.warning(f"{part} is done on {date(table.ends[part].date())}, and must be by {date(day)}.")


def _charts(table: Timetable) -> None:
    last = table.finish.date()
    spans = [name for name, days in SPANS.items() if days <= (last - table.start).days]
    span, begin = st.columns([3, 1])
    shown = span.radio("Show", spans, horizontal=True)
    first = table.start
    if SPANS[shown]:
        picked = begin.date_input("From", table.start, min_value=table.start, max_value=last)
        first = picked if isinstance(picked, dt.date) else table.start
        last = first + dt.timedelta(days=SPANS[shown] - 1)
    entries = between(table, first, last)
    if not entries:
        st.info("Nothing is under way on these days.")
        return
    st.altair_chart(gantt_chart(table, entries, first, last), width="stretch")
    st.caption(
        "The pale bands are when your hands work; between them are nights, and days off. The line beneath bars "
        "marks what decides the finish: hours lost there are lost."
    )
    st.markdown("**Hours a day**, of those that there are")
    machines = sorted({name for load in table.days for name in load.machine_min} - OWN_TO_EACH_PART)
    for resource in ("hands", *machines):
        units = max((e.unit for e in table.entries if e.resource == resource), default=1)
        st.caption("your hands" if resource == "hands" else resource)
        st.altair_chart(load_chart(table, resource, units, first, last), width="stretch")


def _to_do(table: Timetable) -> None:
    st.subheader("What to do in the next days")
    first, count = st.columns([1, 3])
    day = first.date_input(
        "First day", table.start, min_value=table.start, max_value=table.finish.date(), key="to do from"
    )
    days = count.slider("Days", 1, 14, 3)
    begins = day if isinstance(day, dt.date) else table.start
    until = begins + dt.timedelta(days=days)
    follows = {(e.plan, e.place, e.run, e.start): e for e in table.entries if e.phase != "hands"}
    rows = []
    for e in table.entries:
        if e.phase != "hands" or not begins <= e.start.date() < until:
            continue
        then = follows.get((e.plan, e.place, e.run, e.end))
        goes_on = {"machine": "runs", "waiting": "waits"}
        rows.append(
            {
                "day": date(e.start.date()),
                "from": clock(e.start),
                "to": clock(e.end),
                "part": e.part,
                "what to do": e.operation + (f" ({e.run} of {e.runs})" if e.runs > 1 else ""),
                "then": f"{then.resource or 'it'} {goes_on[then.phase]} until {moment(then.end)}"
                if then
                else "",
                "decides the finish": "yes" if e.is_critical else "",
            }
        )
    if not rows:
        st.caption("Nothing for your hands on these days.")
        return
    widths = {
        "day": 110,
        "from": 60,
        "to": 60,
        "part": 120,
        "what to do": 330,
        "then": 240,
        "decides the finish": 120,
    }
    st.dataframe(
        pd.DataFrame(rows),
        hide_index=True,
        width="stretch",
        height=38 + 35 * len(rows),
        column_config={name: st.column_config.TextColumn(width=width) for name, width in widths.items()},
    )


def _chain(table: Timetable) -> None:
    st.subheader("What decides the finish")
    st.caption("A chain of steps, each of which begins when what it waited for is there or free.")
    rows = [
        {
            "begins": moment(link.start),
            "part": link.part,
            "operation": link.operation,
            "lets the next begin": moment(link.until),
            "why not sooner": CAUSES[link.cause],
        }
        for link in table.chain
    ]
    st.dataframe(pd.DataFrame(rows), hide_index=True, width="stretch", height=38 + 35 * min(len(rows), 12))


def _take_along(table: Timetable, name: str) -> None:
    calendar, rows = st.columns([1, 4])
    calendar.download_button(
        "Take it into your calendar",
        data=timetable_ical(table, name),
        file_name="timetable.ics",
        mime="text/calendar",
        on_click="ignore",
    )
    rows.download_button(
        "Take the rows along",
        data=timetable_csv(table),
        file_name="timetable.csv",
        mime="text/csv",
        on_click="ignore",
    )
