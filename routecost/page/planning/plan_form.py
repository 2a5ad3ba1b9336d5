"""The form for a plan: objective, limits, dates; filled in with the last question."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import streamlit as st

from routecost.api.plan_bill import SECONDS
from routecost.builds.build import Build
from routecost.costing.ranking import Ranking
from routecost.planning.choosing.limits import ObjectiveName
from routecost.planning.choosing.plan_request import PlanRequest

OBJECTIVE_TEXT: dict[ObjectiveName, str] = {
    "full": "full cost",
    "outlay": "outlay",
    "own-time": "own time",
    "hour-worth": "outlay plus own time at a rate",
}


@dataclass(frozen=True, kw_only=True)
class Question:
    """All inputs of a plan; None: no limit."""

    by: ObjectiveName = "full"
    hour_worth: float
    """Used only with that objective."""
    budget: float | None
    own_hours: float | None = None
    printer_hours: float | None = None
    start: dt.date
    finish_by: dt.date | None = None
    pins: tuple[tuple[str, str], ...] = ()
    """Part and route."""
    without: tuple[str, ...] = ()
    as_designed: bool = False
    seconds: float = SECONDS

    @property
    def plan_request(self) -> PlanRequest:
        """The same for the planner. An empty field removes the budget, even where the build has one."""
        by_hour = self.by == "hour-worth"
        return PlanRequest(
            by="outlay" if by_hour else self.by,
            hour_worth=self.hour_worth if by_hour else None,
            budget=math.inf if self.budget is None else self.budget,
            own_hours=self.own_hours,
            printer_hours=self.printer_hours,
            finish_by=self.finish_by,
            pins=dict(self.pins),
            without=self.without,
            as_designed=self.as_designed,
        )


def default_question(build: Build, day: dt.date) -> Question:
    """From the build's settings."""
    return Question(hour_worth=build.settings.own_rate, budget=build.settings.budget, start=day)


def plan_form(build: Build, ranking: Ranking, last: Question) -> Question | None:
    """The form, filled in with `last`; a question if the button was pressed."""
    c = build.settings.currency
    names = {route.id: route.name for route in build.routes}
    offered, parts = _makeable(ranking), [ranked.part.id for ranked in ranking.parts]

    def key(label: str, value: object) -> str:
        return _filled(f"{label} {build.folder}", value)

    with st.form("plan"):
        what, worth = st.columns([4, 1])
        by = what.radio(
            "Minimize",
            list(OBJECTIVE_TEXT),
            key=key("by", last.by),
            format_func=lambda name: OBJECTIVE_TEXT[name],
            horizontal=True,
        )
        hour_worth = worth.number_input(
            f"Value of an own hour, {c}", 0.0, 10_000.0, step=1.0, key=key("worth", last.hour_worth)
        )
        limits = st.columns(5)
        budget, own, printers = (
            column.number_input(label, 0.0, None, None, step, key=key(label, value), placeholder="no limit")
            for column, label, value, step in (
                (limits[0], f"Budget, {c}", last.budget, 10.0),
                (limits[1], "Max. own hours", last.own_hours, 1.0),
                (limits[2], "Max. printer hours", last.printer_hours, 1.0),
            )
        )
        start = limits[3].date_input("Work starts on", key=key("start", last.start))
        finish = limits[4].date_input("Done by", None, key=key("finish", last.finish_by))
        fixed, left_out, rest = st.columns([2, 2, 1], vertical_alignment="bottom")
        pins = fixed.multiselect(
            "Fixed routes",
            offered,
            key=_among(offered, key("pins", list(last.pins))),
            format_func=lambda pin: f"{pin[0]}: {names.get(pin[1], pin[1])}",
            placeholder="any route",
        )
        without = left_out.multiselect(
            "Leave out", parts, key=_among(parts, key("without", list(last.without))), placeholder="no part"
        )
        as_designed = rest.checkbox("No changes to parts", key=key("designed", last.as_designed))
        ready = st.form_submit_button("Plan", type="primary")
    if not ready:
        return None
    return Question(
        by=by,
        hour_worth=hour_worth,
        budget=budget,
        own_hours=own,
        printer_hours=printers,
        start=start if isinstance(start, dt.date) else last.start,
        finish_by=finish if isinstance(finish, dt.date) else None,
        pins=tuple(pins),
        without=tuple(without),
        as_designed=as_designed,
        seconds=last.seconds,
    )


def _filled(key: str, value: object) -> str:
    """The key of a field, filled in at first. A default would keep the field from being emptied, and Streamlit
    would treat it as another field, losing its content, once the default changes."""
    if key not in st.session_state:
        st.session_state[key] = value
    return key


def _among(offered: Sequence[object], key: str) -> str:
    """The same key; values that are no longer offered are removed."""
    st.session_state[key] = [x for x in st.session_state[key] if x in offered]
    return key


def _makeable(ranking: Ranking) -> list[tuple[str, str]]:
    """Every part with every route that can make it."""
    return [
        (ranked.part.id, e.route)
        for ranked in ranking.parts
        for e in ranked.estimates
        if e.plan.verdict.level != "ruled out"
    ]


def fixed_twice(pins: tuple[tuple[str, str], ...]) -> Mapping[str, list[str]]:
    """Parts that are fixed to more than one route.

    >>> fixed_twice((("lid", "fdm"), ("foot", "fdm"), ("lid", "bought")))
    {'lid': ['fdm', 'bought']}
    """
    found: dict[str, list[str]] = {}
    for part, route in pins:
        found.setdefault(part, []).append(route)
    return {part: routes for part, routes in found.items() if len(routes) > 1}
