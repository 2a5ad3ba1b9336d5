"""A bill to be planned: every way of making each part that is allowed, and why a part has none."""

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
    """Of each route, the reason that decides."""


@dataclass(frozen=True, eq=False)
class Candidates:
    """All allowed options, and those of them that can win."""

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
    """The bill of some parts, each with its plans: of each route those with the best verdict and the fewest
    changes. Ruled-out plans are never allowed.

    `pins` fixes the route of parts; `as_designed` forbids ways that need the part changed. Raises InputError
    for missing prices.
    """
    pins = pins or {}
    options: list[Option] = []
    barred: list[Barred] = []
    for part, every in plans.items():
        of_route = [p for p in every if p.route == pins.get(part, p.route)]
        # inside a route the rule of the ranking holds: nobody gets changes for what can be had without
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
