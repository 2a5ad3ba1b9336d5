"""Which of many costs is lowest while one price moves, and where that changes.

With all other prices fixed a plan's cost is a broken line: straight, with a kink where a floor begins or
ceases to bind. So the lowest of them is followed from kink to kink, and a crossing is a division. Nothing
is searched for, and nothing between two probes can be missed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import inf, isinf

import numpy as np

from routecost.core.arrays import Floats
from routecost.costing.quantities import Quantities

# costs and slopes are sums of a few dozen products, each right to about 1e-16: lines that differ by less
# than this are the same line, and their crossing would be one of rounding errors
_ROUNDING = 1e-12


@dataclass(frozen=True)
class Crossing:
    """Where another label becomes lowest."""

    price: float
    row: int
    """The plan that is lowest just beyond."""
    cost: float
    """Of both plans, there."""


def first_crossing(
    q: Quantities, prices: Floats, column: int, labels: Sequence[str], lowest: int, *, up: bool
) -> Crossing | None:
    """The nearest price of one resource, upwards or down to nothing, at which the lowest plan has another
    label; None where there is none.

    `labels` (plans,) say which plans count as the same; `lowest` is the plan that is lowest at `prices`.

    >>> from routecost.routes.process.operation import Usage, Operation, ProcessPlan, Verdict
    >>> def plan(route, money, each):
    ...     usages = (Usage("money", money, ""), Usage("each", each, ""))
    ...     return ProcessPlan(route, "p", 1, "", (Operation("o", usages),), Verdict(), 1.0)
    >>> q = Quantities.of([plan("cast", 30.0, 2.0), plan("print", 0.0, 5.0)])
    >>> first_crossing(q, np.array([1.0, 7.0]), 1, ("cast", "print"), 1, up=True)
    Crossing(price=10.0, row=0, cost=50.0)
    """
    sign, here = (1.0, float(prices[column])) if up else (-1.0, float(prices[column]))
    above = q.floors - q.groups
    missing = above @ prices
    turn = sign * above[:, column]
    moving = turn != 0.0
    with np.errstate(over="ignore"):  # a kink too far away to be a number is none
        kinks = -missing[moving] / turn[moving]
    end = inf if up else here
    edges = [0.0, *np.unique(kinks[(kinks > 0.0) & (kinks < end)]).tolist(), end]
    here_cost = q.matrix @ prices
    direct = sign * q.matrix[:, column]
    at = lowest
    for start, stop in pairwise(edges):
        within = (start + stop) / 2.0 if not isinf(stop) else 2.0 * start + 1.0
        binds = missing + turn * within > 0.0
        # on this stretch each cost is value + slope * (distance - start)
        slope, value = direct.copy(), here_cost + direct * start
        np.add.at(slope, q.group_plan[binds], turn[binds])
        np.add.at(value, q.group_plan[binds], missing[binds] + turn[binds] * start)
        distance, at = _follow(value, slope, labels, at, stop - start)
        if labels[at] != labels[lowest]:
            price = here + sign * (start + distance)
            return Crossing(max(price, 0.0), at, float(value[at] + slope[at] * distance))
    return None


def _follow(value: Floats, slope: Floats, labels: Sequence[str], at: int, length: float) -> tuple[float, int]:
    """Along straight lines from the lowest one on: how far to another label, and the line that is lowest
    there; (length, the line that is lowest at the end) where the label stays."""
    same = _ROUNDING * float(np.abs(slope).max(initial=0.0))
    label, x = labels[at], 0.0
    while True:
        falling = np.flatnonzero(slope < slope[at] - same)
        if not len(falling):
            return length, at
        gain = slope[at] - slope[falling]
        with np.errstate(over="ignore"):  # a crossing too far away to be a number is none
            steps = np.maximum(0.0, value[falling] - value[at] - gain * x) / gain
        nearest = float(steps.min())
        # what crosses just at the end is left to the next stretch, where it may turn away again
        if x + nearest >= length * (1.0 - _ROUNDING):
            return length, at
        # of lines that cross in one place the steepest is lowest beyond it
        together = falling[steps * gain <= nearest * gain + _ROUNDING * abs(value[at])]
        at = int(together[np.argmin(slope[together])])
        x += nearest
        if labels[at] != label:
            return x, at
