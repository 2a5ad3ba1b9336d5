"""Uncertainty of the ranking: distributions, probabilities, and what drives the spread."""

from __future__ import annotations

import streamlit as st

from routecost.api.sensitivity import thresholds
from routecost.core.money import shown
from routecost.costing.uncertainty.risk import Risk, assess
from routecost.page import state
from routecost.page.charts import spread_chart, tornado_chart
from routecost.page.widgets import table


@st.cache_resource(max_entries=16, show_spinner="Sampling prices and rates")
def _assess(key: str, draws: int, seed: int) -> Risk:
    build, ranking = state.build(), state.ranking()
    return assess(
        ranking,
        build.tariff(ranking.as_of),
        build.shop(ranking.as_of),
        budget=build.settings.budget,
        draws=draws,
        seed=seed,
    )


def risk_page() -> None:
    st.header("Uncertainty")
    key = repr((state.signature(state.folder()), state.copies_changed(), state.by(), state.day()))
    left, right, _ = st.columns([1, 1, 3])
    draws = left.select_slider("Samples", (1_000, 10_000, 50_000), value=10_000)
    seed = right.number_input("Seed", min_value=0, max_value=10**6, value=1, step=1)
    risk = _assess(key, int(draws), int(seed))
    c = risk.currency
    st.caption(
        "Each price and rate varies between the low and the high of its table row, by the same value in all parts "
        "that use it; each part stays with its best route."
    )
    columns = st.columns(4)
    p = risk.percentiles(risk.spend)
    columns[0].metric(f"Spend, P50 ({c})", shown(p[50], c))
    columns[1].metric(f"Spend, P80 ({c})", shown(p[80], c))
    columns[2].metric(f"Contingency to P80 ({c})", shown(risk.contingency, c))
    chance = risk.chance_in_budget
    if chance is not None:
        columns[3].metric("Probability within budget", f"{chance:.0%}")
    which = st.radio("Distribution of", ("full cost", "spend", "own hours"), horizontal=True)
    samples = {"full cost": risk.full, "spend": risk.spend, "own hours": risk.own_hours}[which]
    likely = {
        "full cost": risk.likely_full,
        "spend": risk.likely_spend,
        "own hours": risk.likely_own_hours,
    }[which]
    st.altair_chart(
        spread_chart(samples, likely, which if which == "own hours" else f"{which}, {c}"), width="stretch"
    )
    st.subheader("Main drivers")
    st.caption("Full cost when one input alone varies from its low to its high, strongest first.")
    st.altair_chart(tornado_chart(risk.drivers[:15], risk.likely_full, c), width="stretch")
    st.subheader("Probability that a route is the cheapest")
    names = state.route_names()
    table(
        (
            {
                "part": part.part,
                "best route": names.get(part.best_as_likely, part.best_as_likely),
                **{names.get(r, r): share for r, share in part.by_route.items()},
            }
            for part in risk.parts
        ),
        dict.fromkeys(names.values(), "percent"),
    )
    _thresholds()


def _thresholds() -> None:
    """Prices and own rate at which another route becomes best, solved exactly."""
    st.subheader("Thresholds")
    found = thresholds(state.build(), by=state.by(), as_of=state.day(), replan=False).frame()
    if not len(found):
        st.caption("No single price or rate changes a best route.")
        return
    near = found[found["percent"].abs() <= 200.0].sort_values("percent", key=abs)
    st.caption(
        "Values at which another route becomes best, each changed on its own, nearest first; up to three times "
        "today's value."
    )
    table(
        near[["part", "name", "today", "at", "percent", "route", "other"]].rename(
            columns={
                "name": "value",
                "route": "best today",
                "other": "best beyond it",
                "percent": "change, %",
            }
        ),
        {"change, %": ".1f"},
    )
