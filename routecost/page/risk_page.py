"""How sure the answer is: the distribution, the chances, and what drives the spread."""

from __future__ import annotations

import pandas as pd
import streamlit as st

from routecost.api.sensitivity import thresholds
from routecost.core.money import shown
from routecost.costing.uncertainty.risk import Risk, assess
from routecost.page import state
from routecost.page.charts import spread_chart, tornado_chart


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


def sure_page() -> None:
    st.header("How sure")
    build = state.build()
    key = repr((state.signature(state.folder()), state.tried_copies(), state.by(), state.day()))
    left, right, _ = st.columns([1, 1, 3])
    draws = left.select_slider("Sampled worlds", (1_000, 10_000, 50_000), value=10_000)
    seed = right.number_input("Seed", min_value=0, max_value=10**6, value=1, step=1)
    risk = _assess(key, int(draws), int(seed))
    c = risk.currency
    st.caption(
        "Each price and rate lies between the low and the high of its table row, the same in all parts that rest "
        "on it; each part stays on its best route."
    )
    columns = st.columns(4)
    p = risk.percentiles(risk.spend)
    columns[0].metric(f"Spend, half the time below ({c})", shown(p[50], c))
    columns[1].metric(f"Spend, four times in five below ({c})", shown(p[80], c))
    columns[2].metric(f"To set aside beyond the likely spend ({c})", shown(risk.contingency, c))
    chance = risk.chance_in_budget
    if chance is not None:
        columns[3].metric("Chance to stay within the budget", f"{chance:.0%}")
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
    st.subheader("What drives it")
    st.caption("Full cost when one input alone goes from its low to its high, the strongest first.")
    st.altair_chart(tornado_chart(risk.drivers[:15], risk.likely_full, c), width="stretch")
    st.subheader("How often each route is the cheapest")
    names = {route.id: route.name for route in build.routes}
    st.dataframe(
        pd.DataFrame(
            {
                "part": part.part,
                "best as likely": names.get(part.best_as_likely, part.best_as_likely),
                **{names.get(r, r): share for r, share in part.by_route.items()},
            }
            for part in risk.parts
        ),
        hide_index=True,
        width="stretch",
        column_config={name: st.column_config.NumberColumn(format="percent") for name in names.values()},
    )
    _thresholds()


def _thresholds() -> None:
    """Prices and own rate at which another route becomes best, solved exactly."""
    st.subheader("What would change a best route")
    found = thresholds(state.build(), by=state.by(), as_of=state.day(), replan=False).frame()
    if not len(found):
        st.caption("No price by itself would.")
        return
    near = found[found["percent"].abs() <= 200.0].sort_values("percent", key=abs)
    st.caption("Each by itself, the nearest first; up to three times today's figure.")
    st.dataframe(
        near[["part", "name", "today", "at", "percent", "route", "other"]].rename(
            columns={"name": "what", "route": "best today", "other": "then best", "percent": "change, %"}
        ),
        hide_index=True,
        width="stretch",
        column_config={"change, %": st.column_config.NumberColumn(format="%.1f")},
    )
