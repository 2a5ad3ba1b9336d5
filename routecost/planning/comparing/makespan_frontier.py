"""What time to wait is worth in money: the least outlay for many days by which all is done."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from routecost.buying.totals import Totals
from routecost.planning.choosing.choice import choose
from routecost.planning.choosing.date_limits import hours_between, until
from routecost.planning.choosing.deadlines import Calendar, booked
from routecost.planning.choosing.limits import Limits, Objective
from routecost.planning.choosing.problem import Problem
from routecost.planning.choosing.solver import share_over
from routecost.planning.comparing.frontier import GAP, POINTS
from routecost.scheduling.workdays import HORIZON_DAYS


@dataclass(frozen=True, eq=False)
class MakespanPoint:
    """A plan, the moment its timetable ends, and what no plan that ends by that day undercuts."""

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
    gap: float = GAP,
    seconds: float = math.inf,
    nodes: int | None = None,
    on_point: Callable[[str], None] | None = None,
) -> tuple[MakespanPoint, ...]:
    """Plans of which none ends later and costs more than another, the soonest first.

    For days from the soonest that is possible to when the least outlay ends, the least outlay is sought among
    plans that keep what any plan keeps which is done by then; then each gets its timetable. The budget is
    lifted, and so is the limit of own hours; others are kept. `known` takes part with its own finish.
    """
    dates, working = calendar.dates, calendar.working
    # what a timetable books of hands is what the days must hold
    problem = booked(problem)
    free = limits.set_to("budget", None).set_to("own-hours", None)

    def least(within: Limits, start: Totals | None, at_least: float) -> tuple[Totals, float] | None:
        found = choose(
            problem,
            Objective("outlay"),
            within,
            gap=gap,
            seconds=seconds,
            nodes=nodes,
            start=start,
            at_least=at_least,
        )
        if on_point:
            on_point("finish")
        if found.totals is None:
            return None
        return found.totals, max(at_least, found.value * (1.0 - found.gap))

    widest = least(free, known, -math.inf)
    if widest is None:
        return ()
    found: list[tuple[Totals, dt.datetime]] = [(known, known_finish)]
    totals, bound = widest
    finish = calendar.schedule(totals).finish
    found.append((totals, finish))
    bounds: list[tuple[dt.date, float]] = [(dt.date.max, bound)]
    last = (max(finish, found[0][1]).date() - dates.start).days
    first = _soonest(problem, free, calendar)
    for n in sorted({round(x) for x in np.linspace(first, last - 1, points - 1)}, reverse=True):
        if n < first:
            continue
        day = dates.start + dt.timedelta(days=n)
        hours = hours_between(calendar.delivered_days, day, dates, working)
        within = replace(until(free, day, dates, working, calendar.printers), own_hours=hours)
        point = least(within, totals, bound)
        if point is None:
            break  # what a later day does not allow, no sooner one does
        totals, bound = point
        bounds.append((day, bound))
        found.append((totals, calendar.schedule(totals).finish))
    return _undercut(found, bounds)


def _soonest(problem: Problem, free: Limits, calendar: Calendar) -> int:
    """Days after the start before which no plan is done: the part that takes longest, or all hands."""
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


def _undercut(
    found: list[tuple[Totals, dt.datetime]], bounds: list[tuple[dt.date, float]]
) -> tuple[MakespanPoint, ...]:
    kept: list[MakespanPoint] = []
    for totals, finish in sorted(found, key=lambda f: (f[1], f[0].outlay)):
        if kept and totals.outlay >= kept[-1].totals.outlay:
            continue
        # a plan that ends by a day ends by every later one
        bound = max(b for day, b in bounds if day >= finish.date())
        kept.append(MakespanPoint(totals, finish, min(bound, totals.outlay)))
    return tuple(kept)
