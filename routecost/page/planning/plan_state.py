"""The plan in view: made when asked for, kept as long as nothing that it rests on changes."""

from __future__ import annotations

from dataclasses import dataclass

import streamlit as st

from routecost.api.plan_bill import BillPlan, plan, with_outlook
from routecost.core.errors import InputError
from routecost.page import state
from routecost.page.planning.plan_form import Question, twice, usual
from routecost.planning.progress.saved_plan import saved_or_none


@dataclass(frozen=True)
class CheckedRequest:
    """A question, and what stood in the build when it was asked."""

    folder: str
    question: Question
    key: str
    outlook: bool
    """Whether other plans are looked at too, which takes longer."""


def key() -> str:
    """Everything that a plan rests on beside what is asked for."""
    return repr((state.signature(state.folder()), sorted(state.tried_copies().items()), state.day()))


def request() -> CheckedRequest | None:
    """What was asked last of the build in view."""
    found = st.session_state.get("plan_asked")
    return found if isinstance(found, CheckedRequest) and found.folder == str(state.folder()) else None


def last_question() -> Question:
    """The one that was asked last, else what the build's settings ask for."""
    last = request()
    return last.question if last else usual(state.build(), state.day())


def plan_request(question: Question, *, outlook: bool = False) -> None:
    """Turn to another plan; it is made when it is next looked at."""
    st.session_state["plan_asked"] = CheckedRequest(str(state.folder()), question, key(), outlook)


def planned() -> BillPlan | None:
    """The plan that was asked for; None where none was, or where its build has changed since, which is told."""
    last = request()
    if last is None:
        return None
    if last.key != key():
        st.info("The build, the copies or the day of the prices have changed since. Plan again.")
        return None
    return made(last)


def made(last: CheckedRequest) -> BillPlan | None:
    """The plan; faults of the question are told."""
    for part, routes in twice(last.question.pins).items():
        st.error(f"**{part}** is to be made only by {' and only by '.join(routes)}: leave one of them.")
        return None
    key = repr((last.folder, last.question, last.key))
    try:
        found = _plan(key, last.question)
        return _outlook(key, found) if last.outlook and found.totals is not None else found
    except InputError as error:
        state.tell(error)
        return None


@st.cache_resource(max_entries=8, show_spinner="Choosing for all parts together, and making the timetable")
def _plan(key: str, _question: Question) -> BillPlan:
    q = _question
    return plan(
        state.build(),
        q.plan_request,
        copies=dict(state.tried_copies()),
        as_of=state.day(),
        start=q.start,
        seconds=q.seconds,
        quick=True,
        saved=saved_or_none(state.folder()),
    )


@st.cache_resource(max_entries=4, show_spinner="Looking at other plans: this takes a minute or so")
def _outlook(key: str, _found: BillPlan) -> BillPlan:
    return with_outlook(_found)
