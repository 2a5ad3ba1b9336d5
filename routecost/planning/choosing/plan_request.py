"""What a plan for the whole bill is asked for: as a person says it, and checked against a build."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Mapping
from dataclasses import dataclass, field

from routecost.builds.build import Build
from routecost.core.errors import Fault, InputError
from routecost.planning.choosing.date_limits import Dates
from routecost.planning.choosing.limits import OBJECTIVES, Limits, Objective

_LAST_YEAR = 9900
"""A calendar of ten years begins before it ends."""


@dataclass(frozen=True, kw_only=True)
class PlanRequest:
    """What shall be least, and what a plan may not exceed; None: no such limit."""

    by: str = "full"
    """One of full, outlay, own-time; `hour_worth` goes before it."""
    hour_worth: float | None = None
    """Outlay, and so much for each own hour, shall be least."""
    budget: float | None = None
    """Of the outlay; that of the build if left out, infinite: none."""
    own_hours: float | None = None
    printer_hours: float | None = None
    finish_by: dt.date | None = None
    pins: Mapping[str, str] = field(default_factory=dict)
    """Route by part id."""
    without: tuple[str, ...] = ()
    """Parts that are left out."""
    as_designed: bool = False
    """No way that needs a part changed."""
    copies: int | None = None
    """So many of each part, instead of what the parts table says."""


@dataclass(frozen=True)
class CheckedRequest:
    """The same, known to make sense for a build."""

    plan_request: PlanRequest
    objective: Objective
    limits: Limits
    """Without those that follow from dates."""
    dates: Dates


def checked_request(plan_request: PlanRequest, build: Build, start: dt.date) -> CheckedRequest:
    """What is asked, with the build's budget and the days on which its parts are needed. Raises InputError with
    everything that makes no sense."""
    faults = list[Fault]()
    _check_figures(plan_request, faults)
    _check_parts(plan_request, build, faults)
    if start.year > _LAST_YEAR:
        faults.append(Fault("plan", "start", f"{start} is too far ahead", "write an earlier day"))
    if plan_request.finish_by is not None and plan_request.finish_by < start:
        what = f"{plan_request.finish_by} is before the start, {start}"
        faults.append(Fault("plan", "finish by", what, "write a later day, also for a saved plan"))
    if faults:
        raise InputError(faults)
    by_hour = plan_request.hour_worth is not None
    needed = {read.part.id: read.part.demands.needed_by for read in build.read_parts}
    return CheckedRequest(
        plan_request=plan_request,
        objective=Objective("hour-worth", plan_request.hour_worth or 0.0)
        if by_hour
        else Objective(plan_request.by),  # type: ignore[arg-type]
        limits=Limits(
            budget=_finite(build.settings.budget if plan_request.budget is None else plan_request.budget),
            own_hours=_finite(plan_request.own_hours),
            printer_hours=_finite(plan_request.printer_hours),
        ),
        dates=Dates(
            start=start,
            finish_by=plan_request.finish_by,
            needed_by={part: day for part, day in needed.items() if day and part not in plan_request.without},
        ),
    )


def _finite(limit: float | None) -> float | None:
    return None if limit is None or math.isinf(limit) else limit


def _check_figures(plan_request: PlanRequest, faults: list[Fault]) -> None:
    if plan_request.by not in OBJECTIVES:
        mend = "write one of " + ", ".join(OBJECTIVES)
        faults.append(Fault("plan", "by", f"{plan_request.by!r} is not a figure to plan by", mend))
    figures = {
        "budget": plan_request.budget,
        "own hours": plan_request.own_hours,
        "printer hours": plan_request.printer_hours,
    }
    for name, value in figures.items():
        if value is not None and not value >= 0.0:
            faults.append(Fault("plan", name, f"{value:g} is no limit", "write 0 or more; inf for none"))
    worth = plan_request.hour_worth
    if worth is not None and not (worth >= 0.0 and math.isfinite(worth)):
        faults.append(Fault("plan", "worth of an hour", f"{worth:g} is no price", "write 0 or more"))
    if plan_request.copies is not None and plan_request.copies < 1:
        faults.append(Fault("plan", "copies", f"{plan_request.copies} is too few", "write 1 or more"))


def _check_parts(plan_request: PlanRequest, build: Build, faults: list[Fault]) -> None:
    known = [read.part.id for read in build.read_parts]
    routes = sorted(route.id for route in build.routes)
    for part in dict.fromkeys((*plan_request.pins, *plan_request.without)):
        if part not in known:
            faults.append(Fault("plan", part, "there is no such part", f"the parts are {', '.join(known)}"))
    for part in plan_request.without:
        if part in plan_request.pins:
            faults.append(Fault("plan", part, "it is both pinned and left out", "keep one of the two"))
    for part, route in plan_request.pins.items():
        if route not in routes:
            what = f"{part} cannot be made by {route!r}"
            faults.append(Fault("plan", part, what, f"the routes are {', '.join(routes)}"))
