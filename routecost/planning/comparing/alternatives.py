"""Alternative plans that may be better at other prices: one part by another route, and other plans found before."""

from __future__ import annotations

from collections.abc import Iterable

from routecost.buying.totals import Totals, totals
from routecost.planning.choosing.limits import Limits, Objective
from routecost.planning.choosing.problem import Problem
from routecost.planning.comparing.baseline import best_of_routes, exceeded_limits


def alternative_plans(
    problem: Problem, plan: Totals, objective: Objective, limits: Limits, others: Iterable[Totals] = ()
) -> tuple[Totals, ...]:
    """The plan itself, then every plan that makes one part by another route, at that route's best by itself;
    then the `others`; without duplicates, all within the limits."""
    found = {tuple(id(o.plan) for o in plan.options): plan}
    swapped = []
    for i, own in enumerate(plan.options):
        for route, option in best_of_routes(problem, own.part, objective).items():
            if route != own.route:
                swapped.append(totals((*plan.options[:i], option, *plan.options[i + 1 :]), problem.shop))
    for other in (*swapped, *others):
        if exceeded_limits(other, limits):
            continue
        found.setdefault(tuple(id(o.plan) for o in other.options), other)
    return tuple(found.values())
