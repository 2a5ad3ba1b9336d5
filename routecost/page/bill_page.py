"""The bill: every part with its best route, totals, and the workbook as a download."""

from __future__ import annotations

import streamlit as st

from routecost.api.sensitivity import stale
from routecost.builds.stale_prices import stale_summary
from routecost.buying.purchases import buy_list
from routecost.core.money import minor_digits, shown
from routecost.page import state
from routecost.page.charts import routes_chart
from routecost.page.widgets import download, table
from routecost.reports.wording.formats import quantity
from routecost.reports.workbook import workbook_bytes


def bill_page() -> None:
    build, ranking = state.build(), state.ranking()
    c = ranking.currency
    st.header("Bill: best route of each part")
    full, spend, own, budget = st.columns(4)
    full.metric(f"Full cost, {c}", shown(ranking.full, c))
    spend.metric(f"Spend, {c}", shown(ranking.spend, c))
    own.metric("Own hours", f"{ranking.own_hours:.1f}")
    if build.settings.budget is not None:
        left = build.settings.budget - ranking.spend
        budget.metric(f"Budget left, {c}", shown(left, c))
    if old := stale_summary(stale(build, ranking)):
        st.info(old)
    names = state.route_names()
    rows = []
    for ranked in ranking.parts:
        e = ranked.best
        rows.append(
            {
                "part": ranked.part.id,
                "description": ranked.part.description,
                "copies": ranked.part.copies,
                "best route": names.get(e.route, e.route) if e else "no suitable route",
                "full cost": e.full if e else None,
                "spend": e.spend if e else None,
                "own hours": e.own_hours if e else None,
                "lead time, days": e.lead_days if e else None,
                "mass, g": e.mass_g if e else None,
                "process": e.plan.alternative if e else "",
            }
        )
    digits = f".{minor_digits(c)}f"
    money = {"full cost": digits, "spend": digits}
    table(
        rows, {**money, "own hours": ".1f", "lead time, days": ".1f", "mass, g": ".0f"}, most_rows=len(rows)
    )
    download(st, "Download the workbook", "bill.xlsx", workbook_bytes(build, ranking))
    st.subheader("All routes of all parts")
    st.caption("Full cost of each route; open marks are routes ruled out by a requirement of the part.")
    st.altair_chart(routes_chart(ranking, names), width="stretch")
    st.subheader("What to buy")
    st.caption("Total consumption of the best routes, minus stock, in whole packs.")
    lines = buy_list(ranking.chosen, build.stock, build.tariff(ranking.as_of))
    table(
        (
            {
                "resource": line.resource,
                "need": f"{quantity(line.need)} {line.unit}",
                "buy": ", ".join(f"{b.packs} x {b.offer.pack}" for b in line.packs) or "as used",
                "supplier": ", ".join(dict.fromkeys(b.offer.supplier for b in line.packs)),
                "amount": line.amount,
                "left over": f"{quantity(line.left_over)} {line.unit}" if line.left_over else "",
                "for parts": ", ".join(line.parts),
            }
            for line in lines
        ),
        {"amount": digits},
    )
    st.markdown(f"**Total to pay: {shown(sum(line.amount for line in lines), c)} {c}**")
