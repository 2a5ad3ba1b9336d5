"""What other plans offer: outlay against own hours and against the finish, and how sure the figures are."""

from __future__ import annotations

import datetime as dt

import pandas as pd
import streamlit as st

from routecost.api.plan_bill import BillPlan
from routecost.buying.totals import Totals
from routecost.core.money import minor_digits, shown
from routecost.page.charts import spread_chart
from routecost.page.planning.plan_captions import currency, finish_trades, hours_trades, otherwise, plain
from routecost.page.planning.plan_charts import Mark, trade_chart
from routecost.page.planning.plan_state import plan_request, request
from routecost.planning.buying.totals import Totals
from routecost.reports.wording.formats import date

RIVALS = 5
"""Other plans that are named, those that win most often."""


def trades_section(found: BillPlan, totals: Totals, names: dict[str, str]) -> None:
    """On a button: it takes a minute or so."""
    st.subheader("What else there is")
    last = request()
    if not found.frontier:
        st.caption(
            "Other plans: what more or less of your own time and an earlier or later finish are worth in outlay, "
            "and how outlay and finish come out when prices and times do not come out as likely."
        )
        if last is not None and not last.outlook and st.button("Look at the trades"):
            plan_request(last.question, outlook=True)
            st.rerun()
        return
    _hours(found, totals)
    _finish(found, totals)
    _sure(found, totals, names)


def _hours(found: BillPlan, totals: Totals) -> None:
    c = currency(found)
    st.markdown("**Outlay against your own time**: of all plans found, none is better in both.")
    st.markdown("\n".join(f"- {text}" for text in hours_trades(found, totals)))
    marks = [
        Mark(p.totals.own_hours, p.totals, p.bound, is_plan=_same(p.totals, totals)) for p in found.frontier
    ]
    chart, table = st.columns([5, 6])
    chart.altair_chart(trade_chart(marks, "own hours", c, is_time=False), width="stretch")
    with table:
        _points(marks, c, {})


def _finish(found: BillPlan, totals: Totals) -> None:
    points, table_of = found.makespan_frontier, found.timetable
    if not points or table_of is None:
        return
    c = currency(found)
    st.markdown("**Outlay against the day on which all is done**")
    finish = next((p.finish for p in points if _same(p.totals, totals)), table_of.finish)
    st.markdown("\n".join(f"- {text}" for text in finish_trades(found, totals, finish)))
    marks = [Mark(p.finish, p.totals, p.bound, is_plan=_same(p.totals, totals)) for p in points]
    chart, table = st.columns([5, 6])
    chart.altair_chart(trade_chart(marks, "all done on", c, is_time=True), width="stretch")
    with table:
        _points(marks, c, {"done on": [date(p.finish.date()) for p in points]})


def _points(marks: list[Mark], c: str, first: dict[str, list[str]]) -> None:
    money = st.column_config.NumberColumn(format=f"%.{minor_digits(c)}f")
    columns = {
        **first,
        "own hours": [m.totals.own_hours for m in marks],
        f"outlay, {c}": [m.totals.outlay for m in marks],
        "none is below": [m.bound for m in marks],
        f"full cost, {c}": [m.totals.full for m in marks],
        "": ["this plan" if m.is_plan else "" for m in marks],
    }
    st.dataframe(
        pd.DataFrame(columns),
        hide_index=True,
        width="stretch",
        height=38 + 35 * len(marks),
        column_config={
            f"outlay, {c}": money,
            "none is below": money,
            f"full cost, {c}": money,
            "own hours": st.column_config.NumberColumn(format="%.1f"),
            "": st.column_config.TextColumn(width=70),
        },
    )
    gap = max((1.0 - m.bound / m.totals.outlay for m in marks if m.totals.outlay > 0.0), default=0.0)
    st.caption(
        "It is proven that no plan within the limit of a row has an outlay below 'none is below': another plan "
        f"may save {max(0.0, gap):.0%} of an outlay shown at most."
    )


def _sure(found: BillPlan, totals: Totals, names: dict[str, str]) -> None:
    spread, days, c = found.spread, found.makespan_spread, currency(found)
    if spread is None:
        return
    st.markdown("**How sure it is**")
    columns = st.columns(4)
    columns[0].metric(f"Outlay, half the time below ({c})", shown(spread.p50, c))
    columns[1].metric(f"Outlay, four times in five below ({c})", shown(spread.p80, c))
    if days is not None:
        columns[2].metric("Done by, half the time", _day(days.at(50.0)))
        columns[3].metric("Done by, four times in five", _day(days.at(80.0)))
    st.altair_chart(spread_chart(spread.outlay, totals.outlay, f"outlay, {c}"), width="stretch")
    st.caption(
        f"In {spread.draws:,} sampled worlds prices lie between the lows and highs of their rows; for the finish, "
        "hands-on times and leads of orders do, while machine hours, cures and deliveries of material are as planned."
    )
    st.markdown(
        f"In {spread.another_wins:.0%} of these worlds another of {len(found.alternatives) - 1} plans looked at would "
        "have been better."
    )
    often = sorted(
        zip(spread.wins[1:], found.alternatives[1:], strict=True), key=lambda pair: (-pair[0], pair[1].outlay)
    )
    told = [
        f"In {share:.0%} it would be one with a likely outlay of {shown(rival.outlay, c)} {c} and "
        f"{rival.own_hours:.1f} own hours. It makes otherwise: {plain(otherwise(rival, totals, names))}."
        for share, rival in often[:RIVALS]
        if share >= 0.005
    ]
    st.markdown("\n".join(f"- {text}" for text in told))


def _day(at: dt.datetime | None) -> str:
    return date(at.date()) if at else "not in ten years"


def _same(some: Totals, plan: Totals) -> bool:
    return len(some.options) == len(plan.options) and all(
        a.plan is b.plan for a, b in zip(some.options, plan.options, strict=True)
    )
