"""One option for each part of the bill, jointly the best, with proof."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from time import perf_counter
from typing import Literal

from routecost.buying.options import Option, Workshop
from routecost.buying.totals import Totals, totals
from routecost.core.money import minor_digits
from routecost.planning.choosing.dominance import undominated
from routecost.planning.choosing.limits import Limits, Objective
from routecost.planning.choosing.problem import Problem
from routecost.planning.choosing.search import least
from routecost.planning.choosing.solver import Solution, Weights, share_over

PROVEN = 1e-6
"""A gap below this is rounding: a cent in ten thousand."""
_TIE = 0.4
"""Between plans of equal outlay the one with fewer own hours is taken: all own hours together count this share
of a minor unit, too little to outweigh one."""
_SAME_HOURS = 0.005
"""Own hours within this are equal (18 s): then the smaller outlay decides."""


@dataclass(frozen=True, eq=False)
class Choice:
    """A plan for the bill, or the proof that there is none."""

    status: Literal["optimal", "feasible", "none", "unknown"]
    """`feasible`: a plan, but a better one may exist within the gap; `unknown`: time ran out before either."""
    gap: float
    """The share by which a better plan might undercut this one at most."""
    objective: Objective
    value: float
    """Of the objective."""
    limits: Limits
    totals: Totals | None

    @property
    def found(self) -> bool:
        return self.totals is not None


def bill_problem(parts: Sequence[str], options: Sequence[Option], shop: Workshop) -> Problem:
    """The problem of a bill, without the options that can never win."""
    return undominated(Problem.of(parts, options, shop))


def value_of(found: Totals, objective: Objective) -> float:
    """What the objective comes to."""
    return {
        "outlay": found.outlay,
        "full": found.full,
        "own-time": found.own_hours,
        "hour-worth": found.outlay + objective.hour_worth * found.own_hours,
    }[objective.name]


def choose(
    problem: Problem,
    objective: Objective,
    limits: Limits,
    *,
    gap: float = 0.0,
    seconds: float = math.inf,
    nodes: int | None = None,
    start: Totals | None = None,
    at_least: float = -math.inf,
) -> Choice:
    """The plan that is least by the objective and keeps the limits.

    `gap`: good enough is what is proven to be within this share of the best. After `seconds`, or so many
    `nodes` of the solver's tree, the best plan so far is returned with its proven gap; nodes are the same on every
    machine. `start` is a plan that is likely to be good, `at_least` a value
    of the objective that no plan undercuts.
    """
    deadline = perf_counter() + seconds
    in_time = limits.in_time(problem)
    weights = objective.weights(problem.shop.tariff.own_rate)
    caps = dict(limits.caps(problem.shop.tariff.currency))
    known = {id(o) for o in start.options} if start is not None else set[int]()
    rows = [i for i, o in enumerate(in_time.options) if id(o) in known]
    found = least(
        in_time,
        _with_tie(weights, in_time),
        caps,
        gap=gap,
        seconds=seconds,
        nodes=nodes,
        start=rows,
        at_least=at_least,
    )
    if found.chosen and objective.name == "own-time":
        caps["own-hours"] = min(found.value + _SAME_HOURS, caps.get("own-hours", math.inf))
        left = max(0.0, deadline - perf_counter())
        cheaper = least(in_time, {"outlay": 1.0}, caps, gap=gap, seconds=left, nodes=nodes)
        if cheaper.chosen:
            found = Solution("found", cheaper.chosen, found.value, found.bound)
    return _told(found, in_time, objective, limits)


def _with_tie(weights: Weights, problem: Problem) -> Weights:
    if weights.get("own-hours", 0.0) > 0.0:
        return weights
    most = sum(
        float(problem.own_hours[problem.part_of == i].max(initial=0.0)) for i in range(len(problem.parts))
    ) + sum(order.own_hours for order in problem.orders)
    unit = 10.0 ** -minor_digits(problem.shop.tariff.currency)
    return {**weights, "own-hours": _TIE * unit / most} if most > 0.0 else weights


def _told(found: Solution, problem: Problem, objective: Objective, limits: Limits) -> Choice:
    if not found.chosen:
        status: Literal["none", "unknown"] = "none" if found.status == "none" else "unknown"
        return Choice(status, 0.0, objective, math.inf, limits, None)
    sums = totals([problem.options[i] for i in found.chosen], problem.shop)
    value = value_of(sums, objective)
    # what is paid is whole minor units, what the solver counts is not
    unit = 10.0 ** -minor_digits(problem.shop.tariff.currency)
    rounding = _SAME_HOURS if objective.name == "own-time" else unit
    gap = share_over(value - rounding, found.bound)
    return Choice("optimal" if gap <= PROVEN else "feasible", gap, objective, value, limits, sums)
