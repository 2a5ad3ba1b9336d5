"""What time to wait is worth in money: the Pareto frontier of outlay against the finish."""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from routecost.buying.totals import Totals
from routecost.planning.choosing.date_limits import finished_by, hours_between
from routecost.planning.choosing.deadlines import Calendar, with_scheduled_hours
from routecost.planning.choosing.limits import Limits
from routecost.planning.choosing.problem import Problem
from routecost.planning.choosing.solver import share_over
from routecost.planning.comparing.frontier import POINTS, LeastOutlay, pareto
from routecost.scheduling.workdays import HORIZON_DAYS


@dataclass(frozen=True, eq=False)
class MakespanPoint:
    """A plan, the end of its timetable, and a lower bound of the outlay of plans that end by that day."""

    totals: Totals
    finish: dt.datetime
    bound: float

    @property
    def gap(self) -> float:
        return share_over(self.totals.outlay, self.bound)


def makespan_frontier(
    problem: Problem,
    limits: Limits,
    calendar: Calendar,
    known: Totals,
    known_finish: dt.datetime,
    *,
    points: int = POINTS,
    **effort: Any,
) -> tuple[MakespanPoint, ...]:
    """Pareto-efficient plans in finish and outlay, the soonest first; `effort` holds fields of `LeastOutlay`.

    For days from the soonest that is possible to when the least outlay ends, the least outlay is sought among
    plans within the limits that such a finish implies; then each is scheduled. The budget is lifted, and so is the
    limit of own hours; others hold. `known` is one of the points, with its own finish.
    """
    dates, working = calendar.dates, calendar.working
    # the hours that a timetable schedules are what the days must hold
    problem = with_scheduled_hours(problem)
    solver = LeastOutlay(problem, **effort)
    free = limits.set_to("budget", None).set_to("own-hours", None)
    widest = solver.within(free, known)
    if widest is None:
        return ()
    plan, bound = widest
    found = [(known, known_finish), (plan, calendar.schedule(plan).finish)]
    bounds = [(dt.date.max, bound)]
    last = (max(finish for _, finish in found).date() - dates.start).days
    first = _soonest(problem, free, calendar)
    for n in sorted({round(x) for x in np.linspace(first, last - 1, points - 1)}, reverse=True):
        if n < first:
            continue
        day = dates.start + dt.timedelta(days=n)
        hours = hours_between(calendar.delivered_days, day, dates, working)
        within = replace(finished_by(free, day, dates, working, calendar.printers), own_hours=hours)
        point = solver.within(within, plan, bound)
        if point is None:
            break  # what is infeasible for a later day is so for a sooner one
        plan, bound = point
        bounds.append((day, bound))
        found.append((plan, calendar.schedule(plan).finish))

    def bound_at(finish: dt.datetime) -> float:
        # a plan that ends by a day ends by every later one
        return max(b for day, b in bounds if day >= finish.date())

    every = (MakespanPoint(t, finish, min(bound_at(finish), t.outlay)) for t, finish in found)
    return pareto(every, key=lambda p: (p.finish, p.totals.outlay))


def _soonest(problem: Problem, free: Limits, calendar: Calendar) -> int:
    """A lower bound of the finish in days after the start: the longest part by itself, or all own hours."""
    in_time = free.in_time(problem)
    shortest = np.full(len(in_time.parts), np.inf)
    np.minimum.at(shortest, in_time.part_of, in_time.lead_days)
    fewest = np.full(len(in_time.parts), np.inf)
    np.minimum.at(fewest, in_time.part_of, in_time.own_hours)
    hours, n = float(fewest.sum()), int(calendar.delivered_days)
    working = calendar.working
    while hours > 0.0 and n < HORIZON_DAYS:
        off = working.is_off(calendar.dates.start + dt.timedelta(days=n))
        hours -= 0.0 if off else working.hours_a_day
        n += 1
    longest = float(shortest.max(initial=0.0))
    return max(n - 1, math.ceil(longest) - 1 if math.isfinite(longest) else 0, 0)
