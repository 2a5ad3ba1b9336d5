"""The current plan: made on request, and cached as long as its inputs do not change."""

from __future__ import annotations

from dataclasses import dataclass

import streamlit as st

from routecost.api.plan_bill import Plan, plan, with_outlook
from routecost.core.errors import InputError
from routecost.page import state
from routecost.page.planning.plan_form import Question, default_question, fixed_twice
from routecost.planning.progress.saved_plan import saved_or_none


@dataclass(frozen=True)
class CheckedRequest:
    """A question, and the state of the build when it was submitted."""

    folder: str
    question: Question
    key: str
    outlook: bool
    """Whether other plans are compared too, which takes longer."""


def key() -> str:
    """Everything that a plan depends on besides the question."""
    return repr((state.signature(state.folder()), sorted(state.copies_changed().items()), state.day()))


def request() -> CheckedRequest | None:
    """The last request for the current build."""
    found = st.session_state.get("plan request")
    return found if isinstance(found, CheckedRequest) and found.folder == str(state.folder()) else None


def last_question() -> Question:
    """The last one, or that of the build's settings."""
    last = request()
    return last.question if last else default_question(state.build(), state.day())


def plan_request(question: Question, *, outlook: bool = False) -> None:
    """Request another plan; it is made when it is next shown."""
    st.session_state["plan request"] = CheckedRequest(str(state.folder()), question, key(), outlook)


def planned() -> Plan | None:
    """The requested plan. None where there is none, or where its build has changed since; the page then says so."""
    last = request()
    if last is None:
        return None
    if last.key != key():
        st.info("The build, the copies or the price date have changed since. Plan again.")
        return None
    return made(last)


def made(last: CheckedRequest) -> Plan | None:
    """The plan; the page shows faults of the question."""
    for part, routes in fixed_twice(last.question.pins).items():
        st.error(f"**{part}** is fixed to more than one route ({', '.join(routes)}): remove all but one.")
        return None
    key = repr((last.folder, last.question, last.key))
    try:
        found = _plan(key, last.question)
        return _outlook(key, found) if last.outlook and found.totals is not None else found
    except InputError as error:
        state.show_faults(error)
        return None


@st.cache_resource(max_entries=8, show_spinner="Choosing routes for all parts, and making the timetable")
def _plan(key: str, _question: Question) -> Plan:
    q = _question
    return plan(
        state.build(),
        q.plan_request,
        copies=dict(state.copies_changed()),
        as_of=state.day(),
        start=q.start,
        seconds=q.seconds,
        quick=True,
        saved=saved_or_none(state.folder()),
    )


@st.cache_resource(max_entries=4, show_spinner="Comparing other plans: this takes about a minute")
def _outlook(key: str, _found: Plan) -> Plan:
    return with_outlook(_found)
