"""Prices: add a new one, and compare the bill between two dates."""

from __future__ import annotations

import datetime as dt

import streamlit as st

from routecost.api.sensitivity import changes
from routecost.builds.price_entry import add_price_texts
from routecost.core.errors import InputError
from routecost.core.money import shown
from routecost.page import state
from routecost.page.widgets import table


def prices_page() -> None:
    st.header("Prices")
    _add()
    st.subheader("Changes to the bill")
    _changes()


def _add() -> None:
    """A row for the build's own price log; existing rows never change."""
    build = state.build()
    known = sorted(build.tables.resource_map)
    st.caption(
        "Adds a row to prices.csv of this build; existing rows never change. Your own prices of a resource replace "
        "its example prices."
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
            "source": "entered on the page",
        }
        ready = st.form_submit_button("Add price")
    if ready:
        try:
            add_price_texts(state.folder(), texts)
        except InputError as error:
            state.show_faults(error)
            return
        st.success(f"Added: {texts['resource']}, {texts['pack']} at {texts['price']} as of {texts['as_of']}.")


def _changes() -> None:
    build = state.build()
    last = state.day()
    first = st.date_input("Compare with date", value=last - dt.timedelta(days=30), max_value=last)
    try:
        found = changes(build, first, last)
    except InputError as error:
        state.show_faults(error)
        return
    c = found.currency
    before, after, difference = st.columns(3)
    before.metric(f"Full cost on {first}, {c}", shown(found.before, c))
    after.metric(f"Full cost on {last}, {c}", shown(found.after, c))
    difference.metric(f"Difference, {c}", shown(found.after - found.before, c))
    moved = [s for s in found.by_resource if abs(s.amount) >= 0.005]
    if not moved and not found.flips:
        st.caption("No changes.")
        return
    effect = f"effect on the bill, {c}"
    table(({"resource": s.resource, effect: s.amount} for s in moved), {effect: ".2f"})
    names = state.route_names()

    def name(route: str) -> str:
        return names.get(route, route) or "none"

    for flip in found.flips:
        st.warning(
            f"{flip.part}: the best route is now {name(flip.route_after)} instead of {name(flip.route_before)}."
        )
