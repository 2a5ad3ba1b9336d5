"""Plans whose timetables meet their due dates. Limits do not see resource conflicts, so where the timetable of the best
plan is late, plans for earlier due dates are tried."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from time import perf_counter

from routecost.builds.working_time import WorkingTime
from routecost.buying.options import Workshop
from routecost.buying.totals import Totals
from routecost.planning.choosing.choice import PROVEN, Choice, choose, proven_gap, value_of
from routecost.planning.choosing.date_limits import Dates, hours_between, with_date_limits
from routecost.planning.choosing.limits import Limits, Objective
from routecost.planning.choosing.problem import Problem
from routecost.scheduling.timetable import Timetable
from routecost.scheduling.workdays import HORIZON_DAYS

SOONER_DAYS = (0, 1, 2, 3, 4, 5, 7, 9, 12, 16)
"""By how many days due dates are moved forward in turn; a few are mostly enough."""
GAP = 0.01
"""Relative gap of those plans."""

Schedule = Callable[[Totals], Timetable]


@dataclass(frozen=True, eq=False)
class ScheduledChoice:
    """A choice with its timetable."""

    choice: Choice
    timetable: Timetable | None
    late: dict[str, dt.date]
    """Due dates missed in the timetable, by part id."""
    rounds: int
    """Other plans that were tried."""


@dataclass(frozen=True, eq=False)
class Calendar:
    """Dates, working time and resources that timetables are made with."""

    dates: Dates
    working: WorkingTime
    printers: int
    delivered_days: float
    """Days until the first deliveries; scheduled hours of options are those after it."""
    schedule: Schedule


def choose_with_deadlines(
    problem: Problem,
    objective: Objective,
    requested: Limits,
    calendar: Calendar,
    *,
    gap: float = 0.0,
    seconds: float = math.inf,
) -> ScheduledChoice:
    """The best plan within the limits whose timetable meets the due dates, if one is found; else the plan with the
    least total tardiness.

    The limits are necessary for the due dates, so the bound of the first plan holds for later ones. A late plan has the
    status `feasible`: it is not within the request.
    """
    deadline = perf_counter() + seconds
    limits = with_date_limits(requested, calendar.dates, calendar.working, calendar.printers)
    first = choose(problem, objective, limits, gap=gap, seconds=seconds)
    if first.totals is None:
        return ScheduledChoice(first, None, {}, 0)
    best = _timed(first, calendar, 0)
    by_schedule = with_scheduled_hours(problem)
    for rounds, days in enumerate(SOONER_DAYS, start=1):
        if not best.late or perf_counter() > deadline:
            break
        within = _within(requested, days, calendar)
        left = max(0.0, deadline - perf_counter())
        found = choose(by_schedule, objective, within, gap=max(gap, GAP), seconds=left)
        if found.totals is None:
            break  # infeasible for later due dates too
        # chosen by scheduled hours, valued by all own hours
        tried = _timed(_in_requested_limits(found, first, problem.shop), calendar, rounds)
        if _days_late(tried) < _days_late(best):
            best = tried
    if best.late:
        return replace(best, choice=replace(best.choice, status="feasible"))
    return best


def first_day(
    problem: Problem, requested: Limits, calendar: Calendar, *, seconds: float = math.inf
) -> dt.date | None:
    """The first `finish_by` that is feasible within the limits; None where none is. A timetable may end later."""
    deadline = perf_counter() + seconds
    start = calendar.dates.start

    def is_feasible(days: int) -> bool:
        dates = replace(calendar.dates, finish_by=start + dt.timedelta(days=days))
        limits = with_date_limits(requested, dates, calendar.working, calendar.printers)
        left = max(0.0, deadline - perf_counter())
        return choose(problem, Objective("outlay"), limits, gap=1.0, seconds=left).found

    low = 0 if calendar.dates.finish_by is None else (calendar.dates.finish_by - start).days
    step = 1
    while not is_feasible(low + step):
        if low + step > HORIZON_DAYS or perf_counter() > deadline:
            return None
        low, step = low + step, 2 * step
    high = low + step
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if is_feasible(middle) else (middle, high)
    return start + dt.timedelta(days=high)


def _within(requested: Limits, days: int, calendar: Calendar) -> Limits:
    """Limits of scheduled hours for due dates moved forward by `days`."""
    dates = calendar.dates.sooner(days)
    found = with_date_limits(requested, dates, calendar.working, calendar.printers)
    if dates.finish_by is None:
        return found
    hours = hours_between(calendar.delivered_days, dates.finish_by, dates, calendar.working)
    own = requested.own_hours
    return replace(found, own_hours=hours if own is None else min(own, hours))


def with_scheduled_hours(problem: Problem) -> Problem:
    """The problem with scheduled hours as own hours, which include each part's share of its order."""
    orders = tuple(replace(order, own_hours=0.0) for order in problem.orders)
    return replace(problem, own_hours=problem.booked_hours, orders=orders)


def _in_requested_limits(found: Choice, first: Choice, shop: Workshop) -> Choice:
    """A choice of a tightened problem as one of the problem that `first` solves, whose bound holds for it."""
    assert found.totals is not None
    value = value_of(found.totals, found.objective)
    gap = proven_gap(value, first.bound, found.objective, shop)
    return replace(
        first,
        status="optimal" if gap <= PROVEN else "feasible",
        gap=gap,
        value=value,
        totals=found.totals,
    )


def _timed(choice: Choice, calendar: Calendar, rounds: int) -> ScheduledChoice:
    assert choice.totals is not None
    table = calendar.schedule(choice.totals)
    return ScheduledChoice(choice, table, calendar.dates.late(table.ends), rounds)


def _days_late(found: ScheduledChoice) -> float:
    assert found.timetable is not None
    ends = found.timetable.ends
    return sum(
        (ends[part] - dt.datetime.combine(day, dt.time())).total_seconds() / 86400.0
        for part, day in found.late.items()
    )
