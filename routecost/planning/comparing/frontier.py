"""What own time is worth in money: the Pareto frontier of outlay against own hours."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any, Protocol, TypeVar

import numpy as np

from routecost.buying.totals import Totals
from routecost.planning.choosing.choice import Choice, choose
from routecost.planning.choosing.limits import Limits, Objective
from routecost.planning.choosing.problem import Problem
from routecost.planning.choosing.solver import share_over

POINTS = 12
"""A dozen limits show the shape of the trade."""
GAP = 0.04
"""Each point's outlay is proven to be within this share of the least possible, or nearer; what is found is as a
rule within a quarter of it. To prove it to 1 % takes five times as long."""


class Outlaid(Protocol):
    """Anything that has totals."""

    @property
    def totals(self) -> Totals: ...


P = TypeVar("P", bound=Outlaid)


@dataclass(frozen=True, eq=False)
class Point:
    """The least outlay with no more than `limit` own hours."""

    limit: float
    totals: Totals
    bound: float
    """No plan within the limit has a smaller outlay than this, before rounding."""

    @property
    def gap(self) -> float:
        return share_over(self.totals.outlay, self.bound)


@dataclass(frozen=True, eq=False)
class LeastOutlay:
    """Solves for one point of a frontier after another, each to the same gap and effort."""

    problem: Problem
    gap: float = GAP
    seconds: float = math.inf
    nodes: int | None = None
    on_point: Callable[[], None] | None = None

    def within(
        self, limits: Limits, start: Totals | None = None, bound: float = -math.inf
    ) -> tuple[Totals, float] | None:
        """The least outlay within limits and a lower bound of it; None where no plan is found. `start` is a plan
        that is likely to be good, `bound` a lower bound that is known from wider limits."""
        found = choose(
            self.problem,
            Objective("outlay"),
            limits,
            gap=self.gap,
            seconds=self.seconds,
            nodes=self.nodes,
            start=start,
            at_least=bound,
        )
        if self.on_point:
            self.on_point()
        return None if found.totals is None else (found.totals, max(bound, found.bound))


def pareto(points: Iterable[P], key: Callable[[P], Any]) -> tuple[P, ...]:
    """The points that no other is no worse than in both its key and its outlay, by ascending key: each has a
    smaller outlay than the one before."""
    efficient: list[P] = []
    for point in sorted(points, key=key):
        if not efficient or point.totals.outlay < efficient[-1].totals.outlay:
            efficient.append(point)
    return tuple(efficient)


def frontier(
    problem: Problem, limits: Limits, known: Choice | None = None, *, points: int = POINTS, **effort: Any
) -> tuple[Point, ...]:
    """The least outlay against own hours, the fewest hours first; `effort` holds fields of `LeastOutlay`.

    From the fewest hours that are possible to those of the least outlay, in equal steps. The budget and the limit
    of own hours are lifted, all other limits hold. The plan that is `known` is one of the points. Between two
    points nothing is solved where the one with fewer hours is within the gap of the other's bound. Points that
    are not Pareto-efficient are left out.
    """
    solver = LeastOutlay(problem, **effort)
    free = limits.set_to("budget", None).set_to("own-hours", None)

    def point(hours: float, start: Totals | None, bound: float) -> Point | None:
        within = free.set_to("own-hours", hours * (1.0 + 1e-9) + 1e-9)
        found = solver.within(within, start, bound)
        return None if found is None else Point(hours, *found)

    plan = known.totals if known is not None else None
    if known is not None and plan is not None and known.objective.name == "outlay" and known.limits == free:
        widest = Point(plan.own_hours, plan, known.bound)
    else:
        cheapest = solver.within(free, plan)
        if cheapest is None:
            return ()
        widest = Point(cheapest[0].own_hours, *cheapest)
    fewest = choose(problem, Objective("own-time"), free, seconds=solver.seconds).totals
    hours = np.linspace(fewest.own_hours if fewest else 0.0, widest.totals.own_hours, points).tolist()
    found = {points - 1: widest}

    def bisect(low: int, high: int) -> None:
        """A plan within a tighter limit is within a wider one; the bound of a wider one holds for a tighter."""
        if high - low < 2 or share_over(found[low].totals.outlay, found[high].bound) <= solver.gap:
            return
        middle = (low + high) // 2
        between = point(hours[middle], found[low].totals, found[high].bound)
        if between is None:
            return
        found[middle] = between
        bisect(low, middle)
        bisect(middle, high)

    tightest = point(hours[0], None, widest.bound)
    if tightest is not None:
        found[0] = tightest
        bisect(0, points - 1)
    every = [*found.values()]
    if plan is not None:
        wider = (p.bound for p in every if p.limit >= plan.own_hours * (1.0 - 1e-9))
        every.append(Point(plan.own_hours, plan, max(wider, default=-math.inf)))
    # what is paid is rounded to whole minor units, the bound is not
    every = [replace(p, bound=min(p.bound, p.totals.outlay)) for p in every]
    return pareto(every, key=lambda p: (round(p.totals.own_hours, 6), p.totals.outlay, p.gap))


@dataclass(frozen=True)
class Trade:
    """From a plan to its neighbour on the frontier."""

    more_hours: float
    """Own hours more; negative: fewer."""
    saves: float
    """Of the outlay; negative: costs so much."""


def trades(points: Sequence[Point], at: Totals) -> tuple[Trade, ...]:
    """What the next points of a frontier on either side of a plan offer: the nearest with fewer hours, and the
    nearest with a smaller outlay."""
    plans = [p.totals for p in points]
    fewer = [t for t in plans if t.own_hours < at.own_hours * 0.99 and t.outlay > at.outlay]
    cheaper = [t for t in plans if t.outlay < at.outlay and t.own_hours > at.own_hours]
    neighbours = (
        max(fewer, key=lambda t: t.own_hours, default=None),
        min(cheaper, key=lambda t: t.own_hours, default=None),
    )
    return tuple(Trade(t.own_hours - at.own_hours, at.outlay - t.outlay) for t in neighbours if t)
