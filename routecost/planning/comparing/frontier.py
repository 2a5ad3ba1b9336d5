"""What own time and time to wait are worth in money: the least outlay for many limits of each."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from routecost.buying.totals import Totals
from routecost.planning.choosing.choice import Choice, choose
from routecost.planning.choosing.limits import Limits, Objective
from routecost.planning.choosing.problem import Problem
from routecost.planning.choosing.solver import share_over

Axis = Literal["own-hours", "days"]
POINTS = 12
"""A dozen limits show the shape of the trade."""
GAP = 0.04
"""Each point's outlay is proven to be within this share of the least possible, or nearer; what is found is as a
rule within a quarter of it. To prove it to 1 % takes five times as long."""


@dataclass(frozen=True, eq=False)
class Point:
    """The least outlay with no more than `limit` own hours, or days."""

    against: Axis
    limit: float
    totals: Totals
    bound: float
    """No plan within the limit has a smaller outlay than this."""

    @property
    def gap(self) -> float:
        return share_over(self.totals.outlay, self.bound)


def frontier(
    problem: Problem,
    limits: Limits,
    against: Axis,
    known: Choice | None = None,
    *,
    points: int = POINTS,
    gap: float = GAP,
    seconds: float = math.inf,
    nodes: int | None = None,
    on_point: Callable[[str], None] | None = None,
) -> tuple[Point, ...]:
    """The least outlay against own hours, or against the longest lead time; the fewest hours or days first.

    From the least that is possible to what the least outlay takes, in equal steps. The budget and the limit
    itself are lifted, all other limits are kept. The plan that is `known` takes part. What lies between two
    points is not looked at where the one with fewer hours is within the gap already. Points that another one
    undercuts in both are left out.
    """
    free = limits.set_to("budget", None).set_to(against, None)

    def of(found: Totals) -> float:
        return found.own_hours if against == "own-hours" else found.lead_days

    def cheapest(most: float | None, start: Totals | None, at_least: float) -> Point | None:
        within = free if most is None else free.set_to(against, most * (1.0 + 1e-9) + 1e-9)
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
            on_point(against)
        if found.totals is None:
            return None
        bound = max(at_least, found.value * (1.0 - found.gap))
        return Point(against, of(found.totals) if most is None else most, found.totals, bound)

    proven = known is not None and known.objective.name == "outlay" and known.limits == free
    widest = (
        Point(against, of(known.totals), known.totals, known.value * (1.0 - known.gap))
        if proven and known is not None and known.totals is not None
        else cheapest(None, known.totals if known else None, -math.inf)
    )
    if widest is None:
        return ()
    caps = np.linspace(_fewest(problem, free, against, seconds), of(widest.totals), points).tolist()
    found = {points - 1: widest}
    tightest = cheapest(caps[0], None, widest.bound)
    if tightest is not None:
        found[0] = tightest

    def settle(low: int, high: int) -> None:
        """A plan that keeps a tighter limit keeps a wider one; what a wider one cannot reach, none can."""
        if high - low < 2 or share_over(found[low].totals.outlay, found[high].bound) <= gap:
            return
        middle = (low + high) // 2
        point = cheapest(caps[middle], found[low].totals, found[high].bound)
        if point is None:
            return
        found[middle] = point
        settle(low, middle)
        settle(middle, high)

    if tightest is not None:
        settle(0, points - 1)
    every = [*found.values()]
    if known is not None and known.totals is not None:
        hours = of(known.totals)
        bound = max((p.bound for p in every if p.limit >= hours * (1.0 - 1e-9)), default=-math.inf)
        every.append(Point(against, hours, known.totals, bound))
    return _undercut(every, of)


def _fewest(problem: Problem, free: Limits, against: Axis, seconds: float) -> float:
    if against == "own-hours":
        found = choose(problem, Objective("own-time"), free, seconds=seconds)
        return found.totals.own_hours if found.totals is not None else 0.0
    in_time = free.in_time(problem)
    shortest = np.full(len(in_time.parts), np.inf)
    np.minimum.at(shortest, in_time.part_of, in_time.lead_days)
    return float(shortest.max(initial=0.0))


def _undercut(points: Sequence[Point], of: Callable[[Totals], float]) -> tuple[Point, ...]:
    """Fewest first, each with a smaller outlay than the one before."""
    kept: list[Point] = []
    for point in sorted(points, key=lambda p: (round(of(p.totals), 6), p.totals.outlay, p.gap)):
        if not kept or point.totals.outlay < kept[-1].totals.outlay:
            kept.append(point)
    return tuple(kept)


@dataclass(frozen=True)
class Trade:
    """From a plan to its neighbour on the frontier."""

    against: Axis
    more: float
    """Own hours or days more; negative: fewer."""
    saves: float
    """Of the outlay; negative: costs so much."""


def trades(points: Sequence[Point], at: Totals) -> tuple[Trade, ...]:
    """What the next points of a frontier on either side offer against a plan: the nearest with fewer hours or
    days, and the nearest with a smaller outlay."""
    found = []
    for against in ("own-hours", "days"):
        some = [p.totals for p in points if p.against == against]

        def of(t: Totals, hours: bool = against == "own-hours") -> float:
            return t.own_hours if hours else t.lead_days

        fewer = [t for t in some if of(t) < of(at) * 0.99 and t.outlay > at.outlay]
        cheaper = [t for t in some if t.outlay < at.outlay and of(t) > of(at)]
        for nearest in (max(fewer, key=of, default=None), min(cheaper, key=of, default=None)):
            if nearest is not None:
                found.append(Trade(against, of(nearest) - of(at), at.outlay - nearest.outlay))
    return tuple(found)
