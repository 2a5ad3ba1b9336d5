"""Plans that could turn out better than the chosen one if prices came out otherwise: one part made by another
route, and whatever was found on the way."""

from __future__ import annotations

from collections.abc import Iterable

from routecost.buying.totals import Totals, totals
from routecost.planning.choosing.limits import Limits, Objective
from routecost.planning.choosing.problem import Problem
from routecost.planning.comparing.baseline import best_of_routes, broken


def alternative_plans(
    problem: Problem, plan: Totals, objective: Objective, limits: Limits, others: Iterable[Totals] = ()
) -> tuple[Totals, ...]:
    """The plan itself, then every plan that makes one part by another route, at that route's best by itself;
    then the `others`. None stands twice, and none exceeds a limit."""
    found = {tuple(id(o.plan) for o in plan.options): plan}
    swapped = []
    for i, own in enumerate(plan.options):
        for route, option in best_of_routes(problem, own.part, objective).items():
            if route != own.route:
                swapped.append(totals((*plan.options[:i], option, *plan.options[i + 1 :]), problem.shop))
    for other in (*swapped, *others):
        if broken(other, limits):
            continue
        found.setdefault(tuple(id(o.plan) for o in other.options), other)
    return tuple(found.values())
