"""The plan: one route for each part so that the whole bill is best, why, and what to buy."""

from __future__ import annotations

import pandas as pd
import streamlit as st

from routecost.api.plan_bill import Plan
from routecost.buying.totals import Totals
from routecost.core.money import shown
from routecost.page import state
from routecost.page.planning.buy_list_page import buy_list_section
from routecost.page.planning.plan_captions import currency, plain
from routecost.page.planning.plan_form import plan_form
from routecost.page.planning.plan_state import last_question, plan_request, planned
from routecost.page.planning.tradeoffs_page import tradeoffs_section
from routecost.planning.comparing.baseline import Baseline, Difference
from routecost.planning.comparing.option_diff import change_text
from routecost.reports.wording.formats import date
from routecost.reports.wording.plan_sentences import (
    LIMIT_TEXT,
    changes_needed,
    done_text,
    earliest_finish_text,
    finish_text,
    late_text,
    margin_text,
    objective_text,
    optimality_text,
    shortfall_text,
    sufficiency_text,
)

MOST = 8
"""Differences that are listed; the rest are summed up."""


def plan_page() -> None:
    build, ranking = state.build(), state.ranking()
    st.header("Plan for the whole bill")
    st.caption(
        "Parts share packs, tools, silicone and orders, so the cheapest route for each part does not always give the "
        "cheapest bill. The plan chooses the routes of all parts together."
    )
    request = plan_form(build, ranking, last_question())
    if request is not None:
        plan_request(request)
    found = planned()
    if found is None:
        return
    names = state.route_names()
    if found.done:
        st.caption(f"Done already: {done_text(found.done)}.")
    in_progress = [b for b in found.in_progress if not b.finished]
    if in_progress:
        steps = "; ".join(f"{b.part} ({b.last_done or 'partly done'})" for b in in_progress)
        st.caption(f"In progress according to the log, and continued from there: {plain(steps)}.")
    if found.totals is None:
        _infeasible(found)
        return
    if not found.totals.options:
        st.success("Nothing left to make.")
        return
    _head(found, found.totals)
    _choices(found, found.totals, names)
    if found.baseline is not None:
        _against(found, found.baseline, names)
    _margins(found)
    buy_list_section(found, found.totals)
    tradeoffs_section(found, found.totals, names)


def _infeasible(found: Plan) -> None:
    """Which limit is in the way, and the smallest change that helps."""
    c = currency(found)
    st.error("No plan meets all limits.")
    for barred in found.bill.barred:
        st.markdown(f"**{barred.part}**: no allowed route can make it.")
        st.markdown("\n".join(f"- {reason}" for reason in barred.reasons))
        st.caption(
            "Relax its requirements in the parts table, allow more routes, or leave it out of the plan."
        )
    if found.choice.status == "unknown":
        st.warning("Time ran out before a plan was found or ruled out; one may exist.")
    if found.why is None:
        return
    if day := earliest_finish_text(found):
        st.markdown(f"- Set {day}.")
    if found.why.each:
        st.markdown("Change any one of these, with all other limits unchanged:")
        changes = (
            f"- {shortfall_text(found, short, c)}: {sufficiency_text(found)}" for short in found.why.each
        )
        st.markdown("\n".join(changes))
    elif found.why.together:
        st.markdown("Changing a single limit is not enough. Change all of these:")
        st.markdown("\n".join(f"- {shortfall_text(found, short, c)}" for short in found.why.together))


def _head(found: Plan, totals: Totals) -> None:
    c, table = currency(found), found.timetable
    outlay, full, own, finish, left = st.columns([2, 2, 2, 3, 2])
    outlay.metric(f"Outlay, {c}", shown(totals.outlay, c))
    full.metric(f"Full cost, {c}", shown(totals.full, c))
    own.metric("Own hours", f"{totals.own_hours:.1f}")
    if table is not None and table.entries:
        finish.metric("Done on", date(table.finish.date()))
    if found.limits.budget is not None:
        left.metric(f"Budget left, {c}", shown(found.limits.budget - totals.outlay, c))
    st.markdown(f"**{optimality_text(found)}**")
    if table is not None and table.entries:
        st.caption(_capital(finish_text(found)) + ".")
    if found.scheduled.late:
        st.warning(f"Late in the best timetable found: {late_text(found.scheduled.late)}.")
    elif found.scheduled.rounds:
        st.caption("Plans with better figures missed the dates; this one meets them.")


def _choices(found: Plan, totals: Totals, names: dict[str, str]) -> None:
    st.subheader("Routes")
    ends = found.timetable.ends if found.timetable else {}
    rows = [
        {
            "part": plain(o.part),
            "copies": o.plan.copies,
            "route": names.get(o.route, o.route),
            "process": " ".join(
                (plain(o.plan.alternative), *(f"*{plain(text)}*" for text in changes_needed(o)))
            ),
            "own hours": f"{o.own_hours:.1f}",
            "done on": date(ends[o.part].date()) if o.part in ends else "",
        }
        for o in totals.options
    ]
    st.table(pd.DataFrame(rows), hide_index=True, border="horizontal")
    orders = totals.own_hours - sum(o.own_hours for o in totals.options)
    if orders > 0.05:
        st.caption(f"Preparing orders takes another {orders:.1f} h, once for all parts in an order.")


def _against(found: Plan, each: Baseline, names: dict[str, str]) -> None:
    c = currency(found)
    st.subheader("Why not the cheapest route for each part?")
    if not each.switched and not each.differences:
        st.markdown("The plan is the cheapest route for each part: sharing purchases saves nothing more.")
        return
    st.markdown(
        f"With the route of least {objective_text(found)} for each part, bought in whole packs, the outlay is "
        f"**{shown(each.totals.outlay, c)} {c}**, own time {each.totals.own_hours:.1f} h and the full cost "
        f"{shown(each.totals.full, c)} {c}. The plan {_saves(each.outlay, c)} of outlay and "
        f"{_saves(each.full, c)} of full cost."
    )
    if each.breaks:
        st.markdown(f"It would exceed limits: {', '.join(LIMIT_TEXT[name] for name in each.breaks)}.")
    differences, switched = st.tabs(["Differences in purchases", "Differences in routes"])
    with differences:
        st.markdown("\n".join(f"- {text}" for text in _differences(each.differences, c)) or "None.")
    with switched:
        rows = [
            {
                "part": plain(now.part),
                "in the plan": plain(change_text(was, now, names)),
                "process": plain(now.plan.alternative),
            }
            for was, now in each.switched
        ]
        if rows:
            st.table(pd.DataFrame(rows), hide_index=True, border="horizontal")
        else:
            st.caption("None.")


def _differences(differences: tuple[Difference, ...], c: str) -> list[str]:
    found = [f"{_saves(d.saves, c)}: {plain(d.text)}" for d in differences[:MOST]]
    rest = differences[MOST:]
    if rest:
        found.append(f"{_saves(sum(d.saves for d in rest), c)}: {len(rest)} smaller differences")
    return found


def _saves(amount: float, c: str) -> str:
    return f"saves **{shown(amount, c)} {c}**" if amount >= 0.0 else f"costs {shown(-amount, c)} {c} more"


def _margins(found: Plan) -> None:
    if found.margins:
        st.subheader("Effect of the limits")
        st.markdown("\n".join(f"- {_capital(margin_text(found, m))}." for m in found.margins))


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
