"""The bill: every part with its best route, totals, and the workbook to take away."""

from __future__ import annotations

import pandas as pd
import streamlit as st

from routecost.api.sensitivity import stale
from routecost.builds.stale_prices import stale_summary
from routecost.buying.purchases import buy_list
from routecost.core.money import shown
from routecost.page import state
from routecost.page.charts import routes_chart
from routecost.reports.workbook import workbook_bytes


def bill_page() -> None:
    build, ranking = state.build(), state.ranking()
    c = ranking.currency
    st.header("The bill, each part by itself")
    full, spend, own, budget = st.columns(4)
    full.metric(f"Full cost, {c}", shown(ranking.full, c))
    spend.metric(f"Spend, {c}", shown(ranking.spend, c))
    own.metric("Own hours", f"{ranking.own_hours:.1f}")
    if build.settings.budget is not None:
        left = build.settings.budget - ranking.spend
        budget.metric(f"Left of the budget, {c}", shown(left, c))
    if old := stale_summary(stale(build, ranking)):
        st.info(old)
    names = {route.id: route.name for route in build.routes}
    rows = []
    for ranked in ranking.parts:
        e = ranked.best
        rows.append(
            {
                "part": ranked.part.id,
                "description": ranked.part.description,
                "copies": ranked.part.copies,
                "best route": names.get(e.route, e.route) if e else "none can make it",
                "full cost": e.full if e else None,
                "spend": e.spend if e else None,
                "own hours": e.own_hours if e else None,
                "lead, days": e.lead_days if e else None,
                "mass, g": e.mass_g if e else None,
                "how": e.plan.alternative if e else "",
            }
        )
    money = st.column_config.NumberColumn(format="%.2f")
    st.dataframe(
        pd.DataFrame(rows),
        hide_index=True,
        width="stretch",
        height=38 + 35 * len(rows),
        column_config={
            "full cost": money,
            "spend": money,
            "own hours": st.column_config.NumberColumn(format="%.1f"),
            "lead, days": st.column_config.NumberColumn(format="%.1f"),
            "mass, g": st.column_config.NumberColumn(format="%.0f"),
        },
    )
    st.download_button(
        "Take the workbook along",
        data=workbook_bytes(build, ranking),
        file_name="bill.xlsx",
        mime="application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
    )
    st.subheader("Every route of every part")
    st.caption("Full cost of each route; open marks are routes ruled out by a demand of the part.")
    st.altair_chart(routes_chart(ranking, names), width="stretch")
    st.subheader("What to buy for it")
    st.caption("What the best routes draw together, less stock, in whole packs.")
    lines = buy_list(ranking.chosen, build.stock, build.tariff(ranking.as_of))
    bought = pd.DataFrame(
        {
            "resource": line.resource,
            "need": f"{line.need:,.3g} {line.unit}" if line.need < 1000 else f"{line.need:,.0f} {line.unit}",
            "buy": ", ".join(f"{b.packs} x {b.offer.pack}" for b in line.packs) or "as used",
            "supplier": ", ".join(dict.fromkeys(b.offer.supplier for b in line.packs)),
            "amount": line.amount,
            "left over": f"{line.left_over:,.3g} {line.unit}" if line.left_over else "",
            "for": ", ".join(line.parts),
        }
        for line in lines
    )
    st.dataframe(bought, hide_index=True, width="stretch", column_config={"amount": money})
    st.markdown(f"**To pay in all: {shown(sum(line.amount for line in lines), c)} {c}**")
