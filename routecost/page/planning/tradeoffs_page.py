"""Trade-offs with other plans: outlay vs. own hours and vs. finish; and the uncertainty of the plan."""

from __future__ import annotations

import datetime as dt

import pandas as pd
import streamlit as st

from routecost.api.plan_bill import Plan
from routecost.buying.totals import Totals
from routecost.core.money import minor_digits, shown
from routecost.page.charts import spread_chart
from routecost.page.planning.plan_captions import (
    currency,
    differences_text,
    finish_trades,
    hours_trades,
    plain,
)
from routecost.page.planning.plan_charts import Mark, trade_chart
from routecost.page.planning.plan_state import plan_request, request
from routecost.page.widgets import table
from routecost.reports.wording.formats import date
from routecost.reports.wording.plan_sentences import is_same_choice

RIVALS = 5
"""How many other plans are described: those that win most often."""


def tradeoffs_section(found: Plan, totals: Totals, names: dict[str, str]) -> None:
    """Computed on a button, because it takes about a minute."""
    st.subheader("Trade-offs and uncertainty")
    last = request()
    if not found.frontier:
        st.caption(
            "Compares other plans: the outlay for more or less of your own time and for an earlier or later finish, "
            "and how outlay and finish vary with prices and times."
        )
        if last is not None and not last.outlook and st.button("Compare other plans"):
            plan_request(last.question, outlook=True)
            st.rerun()
        return
    _hours(found, totals)
    _finish(found, totals)
    _uncertainty(found, totals, names)


def _hours(found: Plan, totals: Totals) -> None:
    c = currency(found)
    st.markdown("**Outlay vs. own time**: no plan found is better in both.")
    st.markdown("\n".join(f"- {text}" for text in hours_trades(found, totals)))
    marks = [
        Mark(p.totals.own_hours, p.totals, p.bound, is_plan=is_same_choice(p.totals, totals))
        for p in found.frontier
    ]
    chart, side = st.columns([5, 6])
    chart.altair_chart(trade_chart(marks, "own hours", c, is_time=False), width="stretch")
    with side:
        _points(marks, c, {})


def _finish(found: Plan, totals: Totals) -> None:
    points, table_of = found.makespan_frontier, found.timetable
    if not points or table_of is None:
        return
    c = currency(found)
    st.markdown("**Outlay vs. finish**")
    finish = next((p.finish for p in points if is_same_choice(p.totals, totals)), table_of.finish)
    st.markdown("\n".join(f"- {text}" for text in finish_trades(found, totals, finish)))
    marks = [Mark(p.finish, p.totals, p.bound, is_plan=is_same_choice(p.totals, totals)) for p in points]
    chart, side = st.columns([5, 6])
    chart.altair_chart(trade_chart(marks, "done on", c, is_time=True), width="stretch")
    with side:
        _points(marks, c, {"done on": [date(p.finish.date()) for p in points]})


def _points(marks: list[Mark], c: str, first: dict[str, list[str]]) -> None:
    columns = {
        **first,
        "own hours": [m.totals.own_hours for m in marks],
        f"outlay, {c}": [m.totals.outlay for m in marks],
        "lower bound": [m.bound for m in marks],
        f"full cost, {c}": [m.totals.full for m in marks],
        "": ["this plan" if m.is_plan else "" for m in marks],
    }
    money = dict.fromkeys((f"outlay, {c}", "lower bound", f"full cost, {c}"), f".{minor_digits(c)}f")
    table(pd.DataFrame(columns), {**money, "own hours": ".1f"}, {"": 70}, most_rows=len(marks))
    gap = max((1.0 - m.bound / m.totals.outlay for m in marks if m.totals.outlay > 0.0), default=0.0)
    st.caption(
        "No plan within the limit of a row can have an outlay below its lower bound; an outlay shown is at most "
        f"{max(0.0, gap):.0%} above it."
    )


def _uncertainty(found: Plan, totals: Totals, names: dict[str, str]) -> None:
    spread, days, c = found.spread, found.makespan_spread, currency(found)
    if spread is None:
        return
    st.markdown("**Uncertainty**")
    columns = st.columns(4)
    columns[0].metric(f"Outlay, P50 ({c})", shown(spread.p50, c))
    columns[1].metric(f"Outlay, P80 ({c})", shown(spread.p80, c))
    if days is not None:
        columns[2].metric("Finish, P50", _day(days.at(50.0)))
        columns[3].metric("Finish, P80", _day(days.at(80.0)))
    st.altair_chart(spread_chart(spread.outlay, totals.outlay, f"outlay, {c}"), width="stretch")
    st.caption(
        f"{spread.draws:,} samples with prices between their low and high; for the finish, hands-on times and lead "
        "times of orders vary, while machine hours, curing and deliveries of material are as planned."
    )
    st.markdown(
        f"In {spread.another_wins:.0%} of the samples another of the {len(found.alternatives) - 1} plans compared "
        "would have been better."
    )
    often = sorted(
        zip(spread.wins[1:], found.alternatives[1:], strict=True), key=lambda pair: (-pair[0], pair[1].outlay)
    )
    rivals = [
        f"In {share:.0%}: a plan with a most likely outlay of {shown(rival.outlay, c)} {c} and "
        f"{rival.own_hours:.1f} own hours. Differences: {plain(differences_text(rival, totals, names))}."
        for share, rival in often[:RIVALS]
        if share >= 0.005
    ]
    st.markdown("\n".join(f"- {text}" for text in rivals))


def _day(at: dt.datetime | None) -> str:
    return date(at.date()) if at else "not within ten years"
