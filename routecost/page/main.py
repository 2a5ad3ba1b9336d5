"""The page: inputs beside, and the views of one build."""

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
from routecost.page.risk_page import sure_page
from routecost.page.tables_page import tables_page

BY_TEXT = {"full": "full cost", "spend": "spend", "own-time": "own time", "lead-time": "lead time"}


def show() -> None:
    """Run one pass of the page."""
    st.set_page_config(page_title="routecost", layout="wide")
    pages = [
        st.Page(bill_page, title="The bill", url_path="bill", default=True),
        st.Page(plan_page, title="The plan", url_path="plan"),
        st.Page(timetable_page, title="The timetable", url_path="timetable"),
        st.Page(part_page, title="One part", url_path="part"),
        st.Page(sure_page, title="How sure", url_path="sure"),
        st.Page(prices_page, title="Prices", url_path="prices"),
        st.Page(meshes_page, title="Your own meshes", url_path="meshes"),
        st.Page(tables_page, title="Tables", url_path="tables"),
    ]
    chosen = st.navigation(pages, position="top")
    with st.sidebar:
        _inputs()
    chosen.run()


def _inputs() -> None:
    build = state.build()
    st.markdown(f"### {build.settings.name}")
    # kept beside the widgets' own keys, which Streamlit drops when a page does not show them
    st.session_state["day_kept"] = st.date_input("Prices as of", value=state.day(), key=f"day {build.folder}")
    st.session_state["by_kept"] = st.radio(
        "Rank by", BY, format_func=lambda by: BY_TEXT[by], index=BY.index(state.by())
    )
    st.caption(
        f"Own hour at {build.settings.own_rate:g} {build.settings.currency}; "
        f"{build.settings.hours_a_day:g} hours a day. Change them in build.toml."
    )
    tried = state.tried_copies()
    if tried:
        st.warning("Copies tried out: " + ", ".join(f"{part} x {n}" for part, n in tried.items()))
        if st.button("Back to the parts table"):
            tried.clear()
            st.rerun()
    for note in build.warnings[:5]:
        st.caption(f"{note.file}: {note.what}")
