"""Charts in one quiet palette that stays readable in grey: kinds by lightness, routes by label and place."""

from __future__ import annotations

from typing import Any

import altair as alt
import pandas as pd

from routecost.costing.estimate import Estimate
from routecost.costing.ranking import Ranking

INK = "#22303c"
# darkest for the maker's own time, lighter as amounts get more incidental; neighbours differ in lightness
KIND_SHADES = {
    "own-time": "#22303c",
    "service": "#3f6f6a",
    "material": "#7d9b76",
    "bought": "#b0894f",
    "consumable": "#c9bb8e",
    "tool": "#a9b3b8",
    "upkeep": "#cfd6d4",
    "energy": "#e4e4da",
}
KIND_TEXT = {
    "own-time": "own time",
    "service": "service",
    "material": "material",
    "bought": "bought",
    "consumable": "consumables",
    "tool": "wear of tools",
    "upkeep": "upkeep",
    "energy": "electricity",
}


def breakdown_chart(estimates: tuple[Estimate, ...], names: dict[str, str], currency: str) -> Any:
    """Routes side by side, each as a bar made of the kinds of cost."""
    rows = []
    for e in estimates:
        by_kind: dict[str, float] = {}
        for line in e.lines:
            by_kind[line.kind] = by_kind.get(line.kind, 0.0) + line.amount
        out = " (ruled out)" if e.plan.verdict.level == "ruled out" else ""
        rows += [
            {
                "route": names.get(e.route, e.route) + out,
                "kind": KIND_TEXT[kind],
                "amount": amount,
                "order": i,
            }
            for i, kind in enumerate(KIND_SHADES)
            if (amount := by_kind.get(kind, 0.0)) > 0
        ]
    frame = pd.DataFrame(rows)
    order = list(dict.fromkeys(frame["route"])) if len(frame) else []
    shades = alt.Scale(domain=[KIND_TEXT[k] for k in KIND_SHADES], range=list(KIND_SHADES.values()))
    return (
        alt.Chart(frame)
        .mark_bar(stroke="#fbfbf8", strokeWidth=1)
        .encode(
            y=alt.Y("route:N", sort=order, title=None, axis=alt.Axis(labelLimit=220)),
            x=alt.X("amount:Q", title=f"full cost, {currency}"),
            color=alt.Color("kind:N", scale=shades, title=None, sort=None),
            order=alt.Order("order:Q"),
            tooltip=["route", "kind", alt.Tooltip("amount:Q", format=",.2f")],
        )
        .properties(height=60 + 44 * max(len(order), 1))
    )


def routes_chart(ranking: Ranking, names: dict[str, str]) -> Any:
    """One line a part, a mark for each route at its full cost, labelled; ruled-out ones are open."""
    rows = [
        {
            "part": ranked.part.id,
            "route": names.get(e.route, e.route),
            "full": max(e.full, 0.01),
            "verdict": e.plan.verdict.level,
            "best": e is ranked.best,
        }
        for ranked in ranking.parts
        for e in ranked.estimates
    ]
    frame = pd.DataFrame(rows)
    order = [ranked.part.id for ranked in ranking.parts]
    base = alt.Chart(frame).encode(
        y=alt.Y("part:N", sort=order, title=None),
        x=alt.X(
            "full:Q", scale=alt.Scale(type="log"), title=f"full cost, {ranking.currency} (each step tenfold)"
        ),
        tooltip=["part", "route", alt.Tooltip("full:Q", format=",.2f"), "verdict"],
    )
    marks = base.mark_point(size=70, strokeWidth=1.5, stroke=INK).encode(
        fill=alt.condition("datum.verdict == 'ruled out'", alt.value("transparent"), alt.value("#7d9b76")),
        shape=alt.Shape("route:N", title=None),
    )
    labels = (
        base.transform_filter("datum.best").mark_text(dy=-10, fontSize=10, color=INK).encode(text="route:N")
    )
    return (marks + labels).properties(height=40 + 34 * max(len(order), 1))
