"""Charts in one palette that is readable in grayscale: kinds by lightness, routes by label and position."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import altair as alt
import numpy as np
import pandas as pd

from routecost.core.arrays import Floats
from routecost.costing.estimate import Estimate
from routecost.costing.ranking import Ranking
from routecost.costing.uncertainty.risk import Driver

INK = "#22303c"
# darkest for own time, lighter for minor kinds; neighbors differ in lightness
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
    "tool": "tool wear",
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
        x=alt.X("full:Q", scale=alt.Scale(type="log"), title=f"full cost, {ranking.currency} (logarithmic)"),
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


def spread_chart(samples: Floats, likely: float, title: str) -> Any:
    """Histogram of samples, with the most likely value and the percentiles marked and named."""
    counts, edges = np.histogram(samples, bins=60)
    bars = pd.DataFrame({"from": edges[:-1], "to": edges[1:], "samples": counts})
    marks = pd.DataFrame(
        [{"at": likely, "name": "most likely"}]
        + [{"at": float(np.percentile(samples, p)), "name": f"P{p}"} for p in (10, 50, 80, 90)]
    )
    x = alt.X("from:Q", title=title, scale=alt.Scale(zero=False))
    histogram = (
        alt.Chart(bars)
        .mark_rect(color="#a9b3b8", stroke="#fbfbf8")
        .encode(x=x, x2="to:Q", y=alt.Y("samples:Q", title="samples"), y2=alt.datum(0))
    )
    rules = alt.Chart(marks).mark_rule(color=INK, strokeDash=[4, 3]).encode(x="at:Q")
    names = (
        alt.Chart(marks)
        .mark_text(dy=-8, color=INK, baseline="bottom")
        .encode(x="at:Q", y=alt.value(0), text="name:N")
    )
    return (histogram + rules + names).properties(height=260)


def tornado_chart(drivers: Sequence[Driver], likely: float, currency: str) -> Any:
    """A bar an input, from the total at its low to the total at its high, around the most likely total."""
    frame = pd.DataFrame(
        {
            "input": d.input,
            "at low": d.at_low,
            "at high": d.at_high,
            "of variance": d.share,
        }
        for d in drivers
    )
    named = alt.Axis(labelLimit=320, labelOverlap=False)
    base = alt.Chart(frame).encode(y=alt.Y("input:N", sort=None, title=None, axis=named))
    bars = base.mark_bar(color="#7d9b76").encode(
        x=alt.X("at low:Q", title=f"full cost, {currency}", scale=alt.Scale(zero=False)),
        x2="at high:Q",
        tooltip=[
            "input",
            alt.Tooltip("at low:Q", format=",.2f"),
            alt.Tooltip("at high:Q", format=",.2f"),
            alt.Tooltip("of variance:Q", format=".0%"),
        ],
    )
    rule = alt.Chart(pd.DataFrame([{"at": likely}])).mark_rule(color=INK).encode(x="at:Q")
    return (bars + rule).properties(height=30 + 22 * max(len(frame), 1))
