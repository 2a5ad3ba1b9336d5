"""Infeasible requests and shadow prices: the least relaxation of limits that is feasible, and the saving by one step
more of each limit."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from routecost.core.money import minor_digits
from routecost.planning.choosing.choice import Choice, choose, value_of
from routecost.planning.choosing.limits import LimitName, Limits, Objective, least_budget
from routecost.planning.choosing.model import Measure
from routecost.planning.choosing.problem import Problem
from routecost.planning.choosing.search import least
from routecost.planning.choosing.solver import Weights

_MEASURE: dict[LimitName, Measure] = {
    "budget": "outlay",
    "own-hours": "own-hours",
    "printer-hours": "printer-hours",
    "days": "lateness",
    "needed-by": "lateness",
}
_HAIR = 1e-6
"""Needed values are raised by this share, the solver's feasibility tolerance, before they are set as limits."""


@dataclass(frozen=True)
class Shortfall:
    """A limit to relax, all others held: feasible at `needed`, infeasible below it.

    `needed` is proven up to `within`. For `needed-by` it counts days by which all dates move."""

    limit: LimitName
    requested: float
    needed: float
    within: float = 0.0

    @property
    def short_by(self) -> float:
        return self.needed - self.requested


@dataclass(frozen=True)
class Infeasibility:
    """Relaxations that make a request feasible: any one of `each`; or an irreducible set, all of `together`, where no
    single limit suffices."""

    each: tuple[Shortfall, ...]
    together: tuple[Shortfall, ...] = ()


@dataclass(frozen=True)
class Margin:
    """The shadow price of a limit: what one step more saves of the objective."""

    limit: LimitName
    step: float
    saving: float
    exact: bool
    """False where time ran out before the saving was proven."""


def explain_infeasibility(problem: Problem, limits: Limits, *, seconds: float = math.inf) -> Infeasibility:
    """For each limit the least value that is feasible, all other limits held.

    Where no single limit suffices, a smallest set of limits that does together: each at the least value that is
    feasible given those before it.
    """
    each = []
    for name in limits.names:
        short = _needed(problem, limits, name, seconds)
        if short is not None:
            each.append(short)
    if each:
        return Infeasibility(tuple(each))
    for count in range(2, len(limits.names) + 1):
        for names in combinations(limits.names, count):
            together = _needed_together(problem, limits, names, seconds)
            if together:
                return Infeasibility((), together)
    return Infeasibility(())


def _needed_together(
    problem: Problem, limits: Limits, names: tuple[LimitName, ...], seconds: float
) -> tuple[Shortfall, ...]:
    """Each at its least feasible value, with those before it set and those after it lifted."""
    found: list[Shortfall] = []
    for i, name in enumerate(names):
        held = limits
        for before in found:
            held = held.set_to(before.limit, before.needed + _HAIR * max(1.0, abs(before.needed)))
        for after in names[i + 1 :]:
            held = held.set_to(after, None)
        short = _needed(problem, held, name, seconds)
        if short is None:
            return ()
        requested = limits.of(name)
        assert requested is not None
        # given the limits set so far the requested value may suffice
        needed = max(short.needed, requested)
        found.append(Shortfall(name, requested, needed, short.within))
    return tuple(found)


def _needed(problem: Problem, limits: Limits, name: LimitName, seconds: float) -> Shortfall | None:
    """The least feasible value of a limit, the others held; None where there is none."""
    requested = limits.of(name)
    assert requested is not None
    others = limits.set_to(name, None)
    in_time = others.in_time(problem)
    measure = _MEASURE[name]
    due = None
    if measure == "lateness":
        lifted = Limits(days=0.0) if name == "days" else Limits(needed_by=limits.needed_by)
        due = np.minimum(lifted.due_days(in_time), 1e9).tolist()
    weights: Weights = {measure: 1.0}
    found = least(in_time, weights, others.caps(problem.shop.tariff.currency), seconds=seconds, due_days=due)
    if not found.chosen:
        return None
    needed = least_budget(found.value, problem.shop.tariff.currency) if name == "budget" else found.value
    return Shortfall(name, requested, needed, max(0.0, found.value - found.bound))


def step_of(name: LimitName, currency: str) -> float:
    """One step more of a limit: an hour, a day, ten units of the currency (a thousand where there are no cents).

    >>> step_of("own-hours", "EUR"), step_of("budget", "EUR"), step_of("budget", "JPY")
    (1.0, 10.0, 1000.0)
    """
    return 10.0 ** (3 - minor_digits(currency)) if name == "budget" else 1.0


def margins(
    problem: Problem,
    objective: Objective,
    limits: Limits,
    best: Choice,
    *,
    gap: float = 0.0,
    seconds: float = math.inf,
    nodes: int | None = None,
) -> tuple[Margin, ...]:
    """What one step more of each limit saves of the objective."""
    found = []
    for name in limits.names:
        requested = limits.of(name)
        assert requested is not None
        step = step_of(name, problem.shop.tariff.currency)
        if objective.name == "outlay" and name == "budget":
            # the least outlay is within the budget
            found.append(Margin(name, step, 0.0, best.status == "optimal"))
            continue
        wider = limits.set_to(name, requested + step)
        more = choose(problem, objective, wider, gap=gap, seconds=seconds, nodes=nodes)
        # the plan is within the wider limit too
        value = min(best.value, value_of(more.totals, objective)) if more.totals else best.value
        found.append(Margin(name, step, best.value - value, more.status == "optimal"))
    return tuple(found)
