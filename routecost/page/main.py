"""The page: inputs in the sidebar, and the views of one build."""

from __future__ import annotations

import streamlit as st

from routecost.costing.views import BY
from routecost.page import state
from routecost.page.bill_page import bill_page
from routecost.page.meshes_page import meshes_page
from routecost.page.part_page import part_page
from routecost.page.planning.plan_page import plan_page
from routecost.page.planning.timetable_page import timetable_page
from routecost.page.prices_page import prices_page
from routecost.page.risk_page import risk_page
from routecost.page.tables_page import tables_page
from routecost.reports.wording.figures import BY_TEXT


def show() -> None:
    """Run one pass of the page."""
    st.set_page_config(page_title="routecost", layout="wide")
    pages = [
        st.Page(bill_page, title="Bill", url_path="bill", default=True),
        st.Page(plan_page, title="Plan", url_path="plan"),
        st.Page(timetable_page, title="Timetable", url_path="timetable"),
        st.Page(part_page, title="Part", url_path="part"),
        st.Page(risk_page, title="Uncertainty", url_path="uncertainty"),
        st.Page(prices_page, title="Prices", url_path="prices"),
        st.Page(meshes_page, title="Import meshes", url_path="meshes"),
        st.Page(tables_page, title="Tables", url_path="tables"),
    ]
    chosen = st.navigation(pages, position="top")
    with st.sidebar:
        _inputs()
    chosen.run()


def _inputs() -> None:
    build = state.build()
    st.markdown(f"### {build.settings.name}")
    # stored beside the widgets' own keys, which Streamlit drops when a page does not show them
    st.session_state["day"] = st.date_input("Prices as of", value=state.day(), key=f"day {build.folder}")
    st.session_state["by"] = st.radio(
        "Rank by", BY, format_func=lambda by: BY_TEXT[by], index=BY.index(state.by())
    )
    st.caption(
        f"Own time at {build.settings.own_rate:g} {build.settings.currency}/h; "
        f"{build.settings.hours_a_day:g} hours a day. Change this in build.toml."
    )
    tried = state.copies_changed()
    if tried:
        st.warning(
            "Copies changed on this page only: " + ", ".join(f"{part} x {n}" for part, n in tried.items())
        )
        if st.button("Reset to the parts table"):
            tried.clear()
            st.rerun()
    for note in build.warnings[:5]:
        st.caption(f"{note.file}: {note.what}")
