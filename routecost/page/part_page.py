"""One part: its picture and measures, its routes side by side, and the operations of one of them."""

from __future__ import annotations

import streamlit as st

from routecost.core.money import apportioned, shown
from routecost.costing.estimate import Estimate
from routecost.costing.ranking import RankedPart
from routecost.page import state
from routecost.page.charts import breakdown_chart
from routecost.page.widgets import table
from routecost.reports.wording.verdict_words import LEVEL_TEXT
from routecost.shop.shop import Shop


def part_page() -> None:
    build = state.build()
    ids = [read.part.id for read in build.read_parts]
    texts = {read.part.id: f"{read.part.id}: {read.part.description}" for read in build.read_parts}
    last = st.session_state.get("part")
    left, right = st.columns([3, 1])
    part_id = left.selectbox(
        "Part", ids, index=ids.index(last) if last in ids else 0, format_func=lambda i: texts[i]
    )
    st.session_state["part"] = part_id
    planned = next(read.part.copies for read in build.read_parts if read.part.id == part_id)
    changed = state.copies_changed()
    wanted = right.number_input(
        "Copies",
        min_value=1,
        max_value=100_000,
        value=changed.get(part_id, planned),
        step=1,
        key=f"copies {part_id}",
    )
    if wanted != changed.get(part_id, planned):
        changed[part_id] = int(wanted)
        if wanted == planned:
            changed.pop(part_id)
        st.rerun()
    ranking = state.ranking()
    ranked = next(r for r in ranking.parts if r.part.id == part_id)
    names = state.route_names()
    _measures(ranked)
    st.subheader("Routes compared")
    _routes(ranked, names, ranking.currency)
    if ranked.estimates:
        st.altair_chart(breakdown_chart(ranked.estimates, names, ranking.currency), width="stretch")
        route = st.radio(
            "Operations of",
            [e.route for e in ranked.estimates],
            format_func=lambda r: names.get(r, r),
            horizontal=True,
        )
        estimate = ranked.of_route(route)
        assert estimate is not None
        _operations(estimate, ranking.currency, build.shop(ranking.as_of))


def _measures(ranked: RankedPart) -> None:
    shape = ranked.part.shape
    if shape is None:
        st.caption("This part is bought, so it has no mesh.")
        return
    picture, figures = st.columns([1, 2])
    picture.image(state.thumbnail(shape.mesh.content_hash, shape.mesh, 320), width=320)
    solid, walls, reach = shape.solid, shape.walls, shape.reach()
    sides = " x ".join(f"{side:.1f}" for side in solid.extents_mm)
    figures.markdown(
        f"**{sides} mm**, volume {solid.volume_mm3 / 1000:,.1f} cm³, "
        f"surface {solid.area_mm2 / 100:,.0f} cm²\n\n"
        f"Wall: thinnest {walls.thinnest_mm:.2f} mm, typical {walls.typical_mm:.2f} mm; "
        f"thickest section {walls.thickest_mm:.1f} mm\n\n"
        f"Access for sanding: block {reach.block:.0%} of the surface, fingertip or rod another {reach.finger:.0%}, "
        f"no access {reach.none:.0%}."
    )


def _routes(ranked: RankedPart, names: dict[str, str], currency: str) -> None:
    rows = [
        {
            "route": names.get(e.route, e.route),
            "verdict": LEVEL_TEXT[e.plan.verdict.level],
            f"full cost, {currency}": e.full,
            f"per copy, {currency}": e.full / ranked.part.copies,
            f"spend, {currency}": e.spend,
            "own hours": e.own_hours,
            "machine hours": e.machine_hours,
            "lead time, days": e.lead_days,
            "mass, g": e.mass_g,
            "process": e.plan.alternative,
            "reasons": "; ".join(e.plan.verdict.texts),
        }
        for e in ranked.estimates
    ]
    figures = [f"{name}, {currency}" for name in ("full cost", "per copy", "spend")]
    ones = ("own hours", "machine hours", "lead time, days", "mass, g")
    table(rows, dict.fromkeys(figures, ".2f") | dict.fromkeys(ones, ".1f"))
    best = ranked.best
    if best is None:
        st.warning("No route meets all requirements; the reasons are in the table.")
        return
    st.markdown(
        f"**Best: {names.get(best.route, best.route)}**, {best.plan.alternative}: "
        f"{shown(best.full, currency)} {currency} in total. " + "; ".join(best.plan.verdict.texts)
    )


def _operations(e: Estimate, currency: str, shop: Shop) -> None:
    amounts = apportioned([line.amount for line in e.lines], currency)
    table(
        (
            {
                "operation": line.operation,
                "resource": line.resource,
                "quantity": line.quantity,
                "unit": line.unit,
                f"unit price, {currency}": line.unit_price,
                f"amount, {currency}": amount,
                "calculation": line.why,
            }
            for line, amount in zip(e.lines, amounts, strict=True)
        ),
        {"quantity": ".3f", f"unit price, {currency}": ".4f", f"amount, {currency}": ".2f"},
    )
    st.markdown(f"**Total {shown(sum(amounts), currency)} {currency}.**")
    notes = [f"{op.name}: {op.note}" for op in e.plan.operations if op.note]
    if notes:
        with st.expander("Notes on the operations"):
            for note in notes:
                st.markdown(f"- {note}")
    named = dict.fromkeys(c for op in e.plan.operations for c in op.cautions)
    if named:
        st.markdown("**Cautions**")
    for name in named:
        where = ", ".join(dict.fromkeys(op.name for op in e.plan.operations if name in op.cautions))
        st.warning(f"{shop.cautions[name].topic} ({where}): {shop.cautions[name].text}")
