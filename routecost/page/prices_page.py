"""Prices: add one that was seen, and see what has moved the bill between two days."""

from __future__ import annotations

import datetime as dt

import pandas as pd
import streamlit as st

from routecost.api.sensitivity import changes
from routecost.builds.price_entry import add_price_texts
from routecost.core.errors import InputError
from routecost.core.money import shown
from routecost.page import state


def prices_page() -> None:
    st.header("Prices")
    _add()
    st.subheader("What has moved the bill")
    _changes()


def _add() -> None:
    """A row for the build's own price log; nothing in it is ever overwritten."""
    build = state.build()
    known = sorted(build.tables.resource_map)
    st.caption(
        "A price that you have seen becomes a row of the build's prices.csv. Own prices of a resource replace "
        "the shipped example prices of it."
    )
    with st.form("add a price"):
        resource = st.selectbox("Resource", known)
        pack, price, supplier, day = st.columns(4)
        texts = {
            "resource": str(resource),
            "pack": pack.text_input("Pack", placeholder="1 kg"),
            "price": price.text_input(f"Price of the pack, {build.settings.currency}", placeholder="24.90"),
            "supplier": supplier.text_input("Supplier"),
            "as_of": str(day.date_input("As of", value=state.day())),
            "currency": build.settings.currency,
            "source": "seen",
        }
        ready = st.form_submit_button("Add the price")
    if ready:
        try:
            add_price_texts(state.folder(), texts)
        except InputError as error:
            state.tell(error)
            return
        st.success(f"Added: {texts['resource']}, {texts['pack']} at {texts['price']} as of {texts['as_of']}.")


def _changes() -> None:
    build = state.build()
    last = state.day()
    first = st.date_input("Compare with", value=last - dt.timedelta(days=30), max_value=last)
    try:
        found = changes(build, first, last)
    except InputError as error:
        state.tell(error)
        return
    c = found.currency
    before, after, difference = st.columns(3)
    before.metric(f"Full cost on {first}, {c}", shown(found.before, c))
    after.metric(f"Full cost on {last}, {c}", shown(found.after, c))
    difference.metric(f"Difference, {c}", shown(found.after - found.before, c))
    plan_changes = [s for s in found.by_resource if abs(s.amount) >= 0.005]
    if not plan_changes and not found.flips:
        st.caption("Nothing has moved.")
        return
    st.dataframe(
        pd.DataFrame({"resource": s.resource, f"moves the bill by, {c}": s.amount} for s in plan_changes),
        hide_index=True,
        column_config={f"moves the bill by, {c}": st.column_config.NumberColumn(format="%.2f")},
    )
    for flip in found.flips:
        st.warning(f"{flip.part}: {flip.route_after} is best now, it was {flip.route_before}.")
