"""The optimal choice of one option for each part of the bill, with a proven gap."""

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
"""Tie-break between plans of equal outlay by own hours: all own hours together weigh this share of a minor unit."""
_SAME_HOURS = 0.005
"""Own hours within this are equal (18 s): the smaller outlay decides."""


@dataclass(frozen=True, eq=False)
class Choice:
    """An optimal or feasible plan for the bill, or the proof that there is none."""

    status: Literal["optimal", "feasible", "none", "unknown"]
    """`feasible`: not proven optimal; `none`: proven infeasible; `unknown`: stopped before either."""
    gap: float
    """Relative gap between value and bound."""
    objective: Objective
    value: float
    """Of the objective."""
    bound: float
    """Lower bound of the value within the limits, before payments are rounded."""
    limits: Limits
    totals: Totals | None

    @property
    def found(self) -> bool:
        return self.totals is not None


def bill_problem(parts: Sequence[str], options: Sequence[Option], shop: Workshop) -> Problem:
    """The problem of a bill, without dominated options."""
    return undominated(Problem.of(parts, options, shop))


def value_of(found: Totals, objective: Objective) -> float:
    """The value of the objective."""
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
    """The plan of least objective within the limits.

    `gap`: the relative gap that is good enough. After `seconds`, or `nodes` of the branch-and-bound tree, the
    incumbent is returned with its proven gap; a limit of nodes is deterministic. `start` is a plan that is likely to
    be good, `at_least` a known lower bound of the objective.
    """
    deadline = perf_counter() + seconds
    in_time = limits.in_time(problem)
    weights = objective.weights(problem.shop.tariff.own_rate)
    tie = _tie_break(weights, in_time)
    caps = dict(limits.caps(problem.shop.tariff.currency))
    known = {id(o) for o in start.options} if start is not None else set[int]()
    found = least(
        in_time,
        {**weights, **tie},
        caps,
        gap=gap,
        seconds=seconds,
        nodes=nodes,
        start=[i for i, o in enumerate(in_time.options) if id(o) in known],
        at_least=at_least,
    )
    if found.chosen and objective.name == "own-time":
        caps["own-hours"] = min(found.value + _SAME_HOURS, caps.get("own-hours", math.inf))
        left = max(0.0, deadline - perf_counter())
        cheaper = least(in_time, {"outlay": 1.0}, caps, gap=gap, seconds=left, nodes=nodes)
        if cheaper.chosen:
            found = Solution("found", cheaper.chosen, found.value, found.bound)
    if not found.chosen:
        return Choice(
            "none" if found.status == "none" else "unknown", 0.0, objective, math.inf, math.inf, limits, None
        )
    sums = totals([in_time.options[i] for i in found.chosen], problem.shop)
    value = value_of(sums, objective)
    off = proven_gap(value, found.bound, objective, problem.shop)
    # all own hours together add no more than this to the bound; nothing costs less than 0
    bound = min(value, max(0.0, found.bound - (_TIE * _minor_unit(problem.shop) if tie else 0.0)))
    return Choice("optimal" if off <= PROVEN else "feasible", off, objective, value, bound, limits, sums)


def proven_gap(value: float, bound: float, objective: Objective, shop: Workshop) -> float:
    """The relative gap between a value and a bound; a difference within the rounding of payments is none."""
    rounding = _SAME_HOURS if objective.name == "own-time" else _minor_unit(shop)
    return share_over(value - rounding, bound)


def _minor_unit(shop: Workshop) -> float:
    return 10.0 ** -minor_digits(shop.tariff.currency)


def _tie_break(weights: Weights, problem: Problem) -> Weights:
    """The weight of own hours that decides between equal outlays; empty where they count anyway."""
    most = sum(
        float(problem.own_hours[problem.part_of == i].max(initial=0.0)) for i in range(len(problem.parts))
    ) + sum(order.own_hours for order in problem.orders)
    if weights.get("own-hours", 0.0) > 0.0 or most <= 0.0:
        return {}
    return {"own-hours": _TIE * _minor_unit(problem.shop) / most}
