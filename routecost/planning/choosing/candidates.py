"""The candidates of a bill: all allowed options of each part, and why a part has none."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from routecost.buying.options import Option, Workshop, options_of
from routecost.costing.ranking import contenders
from routecost.planning.choosing.dominance import undominated
from routecost.planning.choosing.problem import Problem
from routecost.routes.process.operation import ProcessPlan


@dataclass(frozen=True)
class Barred:
    """A part that no allowed route can make."""

    part: str
    reasons: tuple[str, ...]
    """The deciding reason of each route."""


@dataclass(frozen=True, eq=False)
class Candidates:
    """All allowed options, and those that are not dominated."""

    everything: Problem
    problem: Problem
    barred: tuple[Barred, ...]


def candidates_of(
    plans: Mapping[str, Sequence[ProcessPlan]],
    shop: Workshop,
    *,
    pins: Mapping[str, str] | None = None,
    as_designed: bool = False,
) -> Candidates:
    """The candidates among the plans of each part: of each route those with the best verdict and the fewest changes,
    never ruled-out ones.

    `pins` fixes the route of parts; `as_designed` excludes plans that need the part changed. Raises InputError
    for missing prices.
    """
    pins = pins or {}
    options: list[Option] = []
    barred: list[Barred] = []
    for part, every in plans.items():
        of_route = [p for p in every if p.route == pins.get(part, p.route)]
        # as in the ranking: no changes where a route does without
        able = [of_route[i] for i in contenders(of_route)]
        allowed = [p for p in able if not as_designed or p.verdict.level == "suits"]
        options += options_of(allowed, shop)
        if not allowed:
            barred.append(Barred(part, _reasons(of_route, as_designed)))
    everything = Problem.of(tuple(plans), options, shop)
    return Candidates(everything, undominated(everything), tuple(barred))


def _reasons(plans: Sequence[ProcessPlan], as_designed: bool) -> tuple[str, ...]:
    """The deciding reason of each route's best verdict, in the order of the plans."""
    first: dict[str, ProcessPlan] = {}
    for plan in plans:
        so_far = first.get(plan.route)
        if so_far is None or (so_far.verdict.level == "ruled out" and plan.verdict.level == "changes"):
            first[plan.route] = plan
    found = []
    for route, plan in first.items():
        level = plan.verdict.level
        why = "; ".join(r.text for r in plan.verdict.reasons if r.level == level)
        found.append(
            f"{route} {'needs changes' if level == 'changes' and as_designed else 'is ruled out'}: {why}"
        )
    return tuple(found) or ("no route makes it",)
