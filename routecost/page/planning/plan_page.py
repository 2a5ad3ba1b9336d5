"""The plan: one way for each part so that all of it together is best, why, and what to buy for it."""

from __future__ import annotations

import pandas as pd
import streamlit as st

from routecost.api.plan_bill import BillPlan
from routecost.buying.options import Option
from routecost.buying.totals import Totals
from routecost.core.money import shown
from routecost.page import state
from routecost.page.planning.buy_list_page import shopping
from routecost.page.planning.plan_captions import currency, plain
from routecost.page.planning.plan_form import plan_form
from routecost.page.planning.plan_state import last_question, plan_request, planned
from routecost.page.planning.tradeoffs_page import trades_section
from routecost.planning.comparing.baseline import Baseline, Difference
from routecost.planning.comparing.option_diff import told
from routecost.reports.wording.formats import date
from routecost.reports.wording.plan_sentences import (
    LIMIT_TEXT,
    finish_text,
    first_day_text,
    margin_text,
    objective_text,
    optimality_text,
    shortfall_text,
    sufficiency_text,
)

MOST = 8
"""Differences that are told one by one; the rest is summed up."""


def plan_page() -> None:
    build, ranking = state.build(), state.ranking()
    st.header("The plan, all parts together")
    st.caption(
        "Packs, tools, molds' silicone and orders are shared by all parts, so the cheapest way of each part by "
        "itself need not be the cheapest bill. Here one way is chosen for each part with all the others in view."
    )
    request = plan_form(build, ranking, last_question())
    if request is not None:
        plan_request(request)
    found = planned()
    if found is None:
        return
    names = {route.id: route.name for route in build.routes}
    if found.done:
        st.caption("Done already: " + ", ".join(f"{part} x {n}" for part, n in found.done.items()) + ".")
    under_way = [b for b in found.in_progress if not b.finished]
    if under_way:
        told_ = "; ".join(f"{b.part} ({b.last_done or 'partly done'})" for b in under_way)
        st.caption(f"Under way by the log, and going on from there: {plain(told_)}.")
    if found.totals is None:
        _none(found)
        return
    if not found.totals.options:
        st.success("Nothing is left to be made.")
        return
    _head(found, found.totals)
    _choices(found, found.totals, names)
    if found.baseline is not None:
        _against(found, found.baseline, names)
    _margins(found)
    shopping(found, found.totals)
    trades_section(found, found.totals, names)


def _none(found: BillPlan) -> None:
    """Which limit is in the way, and the smallest change that helps."""
    c = currency(found)
    st.error("No plan keeps all of this.")
    for barred in found.bill.barred:
        st.markdown(f"**{barred.part}**: no way that is allowed can make it.")
        st.markdown("\n".join(f"- {reason}" for reason in barred.reasons))
        st.caption("Relax what it must do in the parts table, allow other ways of it, or leave it out here.")
    if found.choice.status == "unknown":
        st.warning("The time ran out before a plan was found, or the proof that there is none.")
    if found.why is None:
        return
    if day := first_day_text(found):
        st.markdown(f"- {day}.")
    if found.why.each:
        st.markdown("Any one of these, with all the rest as it is:")
        told = (f"- {shortfall_text(found, short, c)}: {sufficiency_text(found)}" for short in found.why.each)
        st.markdown("\n".join(told))
    elif found.why.together:
        st.markdown("No limit alone is in the way; all of these together are enough:")
        st.markdown("\n".join(f"- {shortfall_text(found, short, c)}" for short in found.why.together))


def _head(found: BillPlan, totals: Totals) -> None:
    c, table = currency(found), found.timetable
    outlay, full, own, finish, left = st.columns([2, 2, 2, 3, 2])
    outlay.metric(f"Outlay, {c}", shown(totals.outlay, c))
    full.metric(f"Full cost, {c}", shown(totals.full, c))
    own.metric("Own hours", f"{totals.own_hours:.1f}")
    if table is not None and table.entries:
        finish.metric("All done on", date(table.finish.date()))
    if found.limits.budget is not None:
        left.metric(f"Left of the budget, {c}", shown(found.limits.budget - totals.outlay, c))
    st.markdown(f"**{optimality_text(found)}**")
    if table is not None and table.entries:
        st.caption(_capital(finish_text(found)) + ".")
    if found.scheduled.late:
        late = ", ".join(f"{part} (by {date(day)})" for part, day in found.scheduled.late.items())
        st.warning(f"Late in the best timetable that was found: {late}.")
    elif found.scheduled.rounds:
        st.caption(
            "The plan that is best by its figures was late by its timetable; this one holds the dates."
        )


def _choices(found: BillPlan, totals: Totals, names: dict[str, str]) -> None:
    st.subheader("What is made how")
    ends = found.timetable.ends if found.timetable else {}
    rows = [
        {
            "part": plain(o.part),
            "copies": o.plan.copies,
            "route": names.get(o.route, o.route),
            "how": " ".join((plain(o.plan.alternative), *(f"*{plain(text)}*" for text in _changes(o)))),
            "own hours": f"{o.own_hours:.1f}",
            "done on": date(ends[o.part].date()) if o.part in ends else "",
        }
        for o in totals.options
    ]
    st.table(pd.DataFrame(rows), hide_index=True, border="horizontal")
    orders = totals.own_hours - sum(o.own_hours for o in totals.options)
    if orders > 0.05:
        st.caption(f"Beside these, {orders:.1f} h go into preparing orders, once for all parts in them.")


def _changes(o: Option) -> list[str]:
    """What must be changed of the part for this."""
    return [reason.text for reason in o.plan.verdict.reasons if reason.level == "changes"]


def _against(found: BillPlan, each: Baseline, names: dict[str, str]) -> None:
    c = currency(found)
    st.subheader("Why not the cheapest way of each part?")
    if not each.switched and not each.differences:
        st.markdown("That is this plan: choosing together gains nothing here.")
        return
    st.markdown(
        f"Each part by its own way of least {objective_text(found)}, bought in whole packs, comes to an outlay of "
        f"**{shown(each.totals.outlay, c)} {c}**, {each.totals.own_hours:.1f} own hours and a full cost of "
        f"{shown(each.totals.full, c)} {c}. The plan {_saves(each.outlay, c)} of outlay and "
        f"{_saves(each.full, c)} of full cost."
    )
    if each.breaks:
        st.markdown(f"It would also exceed {' and '.join(LIMIT_TEXT[name] for name in each.breaks)}.")
    differences, switched = st.tabs(["What is bought otherwise", "What is made otherwise"])
    with differences:
        st.markdown("\n".join(f"- {text}" for text in _told(each.differences, c)) or "Nothing.")
    with switched:
        rows = [
            {
                "part": plain(now.part),
                "in the plan": plain(told(was, now, names)),
                "how": plain(now.plan.alternative),
            }
            for was, now in each.switched
        ]
        if rows:
            st.table(pd.DataFrame(rows), hide_index=True, border="horizontal")
        else:
            st.caption("Nothing.")


def _told(differences: tuple[Difference, ...], c: str) -> list[str]:
    told = [f"{_saves(d.saves, c)}: {plain(d.text)}" for d in differences[:MOST]]
    rest = differences[MOST:]
    if rest:
        told.append(f"{_saves(sum(d.saves for d in rest), c)}: {len(rest)} smaller differences")
    return told


def _saves(amount: float, c: str) -> str:
    return f"saves **{shown(amount, c)} {c}**" if amount >= 0.0 else f"costs {shown(-amount, c)} {c} more"


def _margins(found: BillPlan) -> None:
    if found.margins:
        st.subheader("What the limits cost")
        st.markdown("\n".join(f"- {_capital(margin_text(found, m))}." for m in found.margins))


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
