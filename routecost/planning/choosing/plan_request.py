"""A request for a plan of the whole bill: as entered, and validated against a build."""

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
    """Objective and limits of a plan; None: no such limit."""

    by: str = "full"
    """Objective: full, outlay or own-time; `hour_worth` overrides it."""
    hour_worth: float | None = None
    """Objective: outlay plus this for each own hour."""
    budget: float | None = None
    """Limit of the outlay; that of the build if None, infinite: none."""
    own_hours: float | None = None
    printer_hours: float | None = None
    finish_by: dt.date | None = None
    pins: Mapping[str, str] = field(default_factory=dict)
    """Route by part id."""
    without: tuple[str, ...] = ()
    """Parts to leave out."""
    as_designed: bool = False
    """Exclude options that need the part changed."""
    copies: int | None = None
    """Copies of each part, instead of those of the parts table."""


@dataclass(frozen=True)
class CheckedRequest:
    """A request that is valid for a build, resolved to objective, limits and dates."""

    original: PlanRequest
    objective: Objective
    limits: Limits
    """Without those that follow from dates."""
    dates: Dates


def checked_request(request: PlanRequest, build: Build, start: dt.date) -> CheckedRequest:
    """A validated request, with the build's budget and the due dates of its parts. Raises InputError with all
    faults."""
    faults = list[Fault]()
    _check_figures(request, faults)
    _check_parts(request, build, faults)
    if start.year > _LAST_YEAR:
        faults.append(Fault("plan", "start", f"{start} is too far ahead", "write an earlier day"))
    if request.finish_by is not None and request.finish_by < start:
        what = f"{request.finish_by} is before the start, {start}"
        faults.append(Fault("plan", "finish by", what, "write a later day, also for a saved plan"))
    if faults:
        raise InputError(faults)
    by_hour = request.hour_worth is not None
    needed = {read.part.id: read.part.demands.needed_by for read in build.read_parts}
    return CheckedRequest(
        original=request,
        objective=Objective("hour-worth", request.hour_worth or 0.0) if by_hour else Objective(request.by),  # type: ignore[arg-type]
        limits=Limits(
            budget=_finite(build.settings.budget if request.budget is None else request.budget),
            own_hours=_finite(request.own_hours),
            printer_hours=_finite(request.printer_hours),
        ),
        dates=Dates(
            start=start,
            finish_by=request.finish_by,
            needed_by={part: day for part, day in needed.items() if day and part not in request.without},
        ),
    )


def _finite(limit: float | None) -> float | None:
    return None if limit is None or math.isinf(limit) else limit


def _check_figures(request: PlanRequest, faults: list[Fault]) -> None:
    if request.by not in OBJECTIVES:
        mend = "write one of " + ", ".join(OBJECTIVES)
        faults.append(Fault("plan", "by", f"{request.by!r} is not a figure to plan by", mend))
    figures = {
        "budget": request.budget,
        "own hours": request.own_hours,
        "printer hours": request.printer_hours,
    }
    for name, value in figures.items():
        if value is not None and not value >= 0.0:
            faults.append(Fault("plan", name, f"{value:g} is no limit", "write 0 or more; inf for none"))
    worth = request.hour_worth
    if worth is not None and not (worth >= 0.0 and math.isfinite(worth)):
        faults.append(Fault("plan", "worth of an hour", f"{worth:g} is no price", "write 0 or more"))
    if request.copies is not None and request.copies < 1:
        faults.append(Fault("plan", "copies", f"{request.copies} is too few", "write 1 or more"))


def _check_parts(request: PlanRequest, build: Build, faults: list[Fault]) -> None:
    known = [read.part.id for read in build.read_parts]
    routes = sorted(route.id for route in build.routes)
    for part in dict.fromkeys((*request.pins, *request.without)):
        if part not in known:
            faults.append(Fault("plan", part, "there is no such part", f"the parts are {', '.join(known)}"))
    for part in request.without:
        if part in request.pins:
            faults.append(Fault("plan", part, "it is both pinned and left out", "keep one of the two"))
    for part, route in request.pins.items():
        if route not in routes:
            what = f"{part} cannot be made by {route!r}"
            faults.append(Fault("plan", part, what, f"the routes are {', '.join(routes)}"))
