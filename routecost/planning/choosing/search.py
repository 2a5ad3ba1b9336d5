"""The best plan with proof, in a time that stays short for hundreds of parts.

The relaxation of the model says of each option how much a plan costs at the least that takes it. A short list
of the most promising options is solved first; then all those are that could still be better, which are few.
What is left out is proven not to be needed. For many parts a bound with whole packs but shares of options is
tried before: as a rule it proves that the first plan is good enough.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from time import perf_counter

import numpy as np

from routecost.core.arrays import Bools, Floats
from routecost.planning.choosing.cover_cuts import violated_rows
from routecost.planning.choosing.model import Model, model_of
from routecost.planning.choosing.problem import Problem
from routecost.planning.choosing.solver import (
    NOTHING_FITS,
    Caps,
    Effort,
    Relaxation,
    Solution,
    Weights,
    bound_in_shares,
    solve_integer,
    solve_relaxation,
    with_caps,
    with_rows,
)

SMALL = 300
"""So many options are solved at once: HiGHS takes less than a second for them."""
_SHORT_LISTS = (8, 32)
"""Options a part in the first short list, and in the second where nothing in the first fits."""
_ROUNDS = 6
"""Rounds of rounding rows: most of the gain comes from the first three."""
_LEAST_RISE = 5e-4
"""A round that lifts the bound by less than this share is the last."""
_SHARE_GAP = 0.4
"""Of the gap, how near the bound in shares is brought to the best in shares, which leaves the rest of the gap to
what sharing saves: nearer takes much longer, and less near seldom proves enough."""
_PARTS_A_RESOURCE = 2
"""So many parts for each resource make the bound in shares worth its time: with 200 parts it takes a third of what
a proof of whole options takes, with 50 about as much, and is not always enough."""
_TOLERANCE = 1e-7
"""Reduced costs are right to this share of the objective."""


def least(
    problem: Problem,
    weights: Weights,
    caps: Caps | None = None,
    *,
    gap: float = 0.0,
    seconds: float = math.inf,
    nodes: int | None = None,
    due_days: Sequence[float] | None = None,
    start: Sequence[int] = (),
    at_least: float = -math.inf,
) -> Solution:
    """The plan with the least weighted sum of measures within the caps.

    `gap`: good enough is what is proven to be within this share of the best; `due_days` (parts,) gives the
    measure `lateness` its meaning; `start` are rows of options that a good plan is known to take, `at_least` is a
    value that no plan undercuts. After `seconds`, or so many `nodes` each time the solver is called, the best so far
    is returned with its proven bound.
    """
    effort = Effort(perf_counter() + seconds, nodes)
    caps = caps or {}
    if problem.without_option:
        return NOTHING_FITS

    def of(some: Problem) -> Model:
        return with_caps(model_of(some, due_days), caps)

    if len(problem.options) <= SMALL:
        return solve_integer(of(problem), weights, gap=gap, effort=effort)
    _, tight = _tightened(of(problem), weights, effort)
    if tight is None:
        return NOTHING_FITS
    costs = tight.reduced_costs[: len(problem.options)]
    keep, best = np.zeros(len(costs), dtype=bool), Solution("unknown", (), math.inf, tight.value)
    for each in _SHORT_LISTS:
        keep = _short_list(problem, costs, tight.variables, each)
        keep[list(start)] = True
        # it is solved quickly, so nearly all of the gap is left for what is not in the list
        best = _solved_some(problem, keep, of, weights, gap / 10.0, effort)
        if best.chosen:
            break
    if not best.chosen:
        return solve_integer(of(problem), weights, gap=gap, effort=effort)
    # plans with options above this cannot be better by more than the gap
    enough = best.value - gap * abs(best.value)
    below = enough - tight.value + _TOLERANCE * abs(best.value)
    wanted = keep | (costs <= below)
    proven = max(tight.value, at_least)
    if enough <= proven or (wanted == keep).all():
        return _with_bound(best, best.bound, tight.value + max(below, 0.0), proven)
    if gap > 0.0 and len(problem.parts) > _PARTS_A_RESOURCE * len(problem.resources):
        tightened, _ = _tightened(of(problem.only(wanted)), weights, effort)
        shared = bound_in_shares(tightened, weights, gap=gap * _SHARE_GAP, effort=effort)
        proven = max(proven, min(shared, tight.value + below))
        if proven >= enough or effort.seconds_left < 0.0:
            return _with_bound(best, proven, tight.value + below, proven)
    rest = _solved_some(problem, wanted, of, weights, gap, effort)
    bound = rest.bound if rest.chosen else -math.inf
    return _with_bound(min(best, rest, key=lambda s: s.value), bound, tight.value + below, proven)


def _with_bound(best: Solution, among: float, left_out: float, at_least: float) -> Solution:
    """The best plan with its bound: `among` what was searched no plan is below that, and `left_out` is what
    options that were not searched would reach at the least."""
    bound = max(at_least, min(among, left_out))
    return replace(best, bound=min(bound, best.value))


def _tightened(model: Model, weights: Weights, effort: Effort) -> tuple[Model, Relaxation | None]:
    """The model with rounding rows, as long as they lift its relaxation; None where even that has no solution."""
    found = solve_relaxation(model, weights)
    first_pack = len(model.problem.options)
    for _ in range(_ROUNDS):
        if found is None or math.isinf(found.value) or effort.seconds_left < 0.0:
            break
        rows = violated_rows(model.problem, found.variables, first_pack)
        if not rows:
            break
        model = with_rows(model, rows)
        better = solve_relaxation(model, weights)
        if better is None or better.value - found.value <= _LEAST_RISE * abs(better.value):
            return model, better
        found = better
    return model, found


def _short_list(problem: Problem, costs: Floats, variables: Floats, each: int) -> Bools:
    """Of each part the options with the least reduced cost, those that the relaxation uses first."""
    keep = np.zeros(len(costs), dtype=bool)
    order = np.lexsort((costs, -variables[: len(costs)]))
    order = order[np.argsort(problem.part_of[order], kind="stable")]
    first = np.searchsorted(problem.part_of[order], np.arange(len(problem.parts)))
    place = np.arange(len(order)) - first[problem.part_of[order]]
    keep[order[place < each]] = True
    return keep


def _solved_some(
    problem: Problem,
    keep: Bools,
    of: Callable[[Problem], Model],
    weights: Weights,
    gap: float,
    effort: Effort,
) -> Solution:
    """The best plan among some of the options, in rows of all of them."""
    rows = np.flatnonzero(keep)
    found = solve_integer(of(problem.only(keep)), weights, gap=gap, effort=effort)
    return replace(found, chosen=tuple(rows[list(found.chosen)].tolist()))
