"""The least plan with proof: reduced cost fixing around the mixed-integer program.

A short list of the options with the least reduced costs is solved first. Its value and the reduced costs fix most
other options at 0: a plan that takes one of them cannot be better. What remains is solved again.

Why it is here: for the demo's bill (988 options) to optimality it takes 0.6 s by full cost and 2.2 s by outlay, one
call of HiGHS 1.8 s and 4.9 s. Of 2274 options one call takes 3 s (outlay) and 9 s (full cost) instead of 5 s and
14 s, of 9168 within 1 % by outlay 13 s instead of 47 s: larger bills take one call.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from time import perf_counter

import numpy as np

from routecost.core.arrays import Bools, Floats
from routecost.planning.choosing.cover_cuts import violated_cuts
from routecost.planning.choosing.model import Model, model_of
from routecost.planning.choosing.problem import Problem
from routecost.planning.choosing.solver import (
    NOTHING_FITS,
    Caps,
    Effort,
    Relaxation,
    Solution,
    Weights,
    solve_integer,
    solve_relaxation,
    with_caps,
    with_cuts,
)

SMALL = 300
"""Up to so many options HiGHS solves at once in less than a second."""
LARGE = 1500
"""Beyond so many options reduced costs fix too few of them."""
_SHORT_LISTS = (8, 32)
"""Options of each part in the first short list, and in the second where the first is infeasible."""
_ROUNDS = 6
"""Rounds of cuts: most of the gain comes from the first three."""
_LEAST_RISE = 5e-4
"""A round that lifts the bound by less than this share is the last."""
_TOLERANCE = 1e-7
"""Accuracy of reduced costs, as a share of the objective."""


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

    `gap`: the relative gap that is good enough; `due_days` (parts,) defines the measure `lateness`; `start` holds rows
    of options that a good plan is known to take, `at_least` a known lower bound. After `seconds`, or `nodes` of each
    branch-and-bound tree, the incumbent is returned with its proven bound.
    """
    effort = Effort(perf_counter() + seconds, nodes)
    caps = caps or {}
    if problem.without_option:
        return NOTHING_FITS

    def of(some: Problem) -> Model:
        return with_caps(model_of(some, due_days), caps)

    if len(problem.options) <= SMALL:
        return solve_integer(of(problem), weights, gap=gap, effort=effort)
    if len(problem.options) > LARGE:
        plain = with_caps(model_of(problem, due_days, bare=True), caps)
        return solve_integer(plain, weights, gap=gap, effort=effort)
    tight = _with_cuts(of(problem), weights, effort)
    if tight is None:
        return NOTHING_FITS
    costs = tight.reduced_costs[: len(problem.options)]
    keep, best = np.zeros(len(costs), dtype=bool), Solution("unknown", (), math.inf, tight.value)
    for each in _SHORT_LISTS:
        keep = _short_list(problem, costs, tight.variables, each)
        keep[list(start)] = True
        # it is solved quickly, so nearly all of the gap is left for options outside the list
        best = _solved_some(problem, keep, of, weights, gap / 10.0, effort)
        if best.chosen:
            break
    if not best.chosen:
        return solve_integer(of(problem), weights, gap=gap, effort=effort)
    # reduced cost fixing: a plan with an option above this cannot be better by more than the gap
    enough = best.value - gap * abs(best.value)
    below = enough - tight.value + _TOLERANCE * abs(best.value)
    wanted = keep | (costs <= below)
    proven = max(tight.value, at_least)
    if enough <= proven or (wanted == keep).all():
        return _with_bound(best, best.bound, tight.value + max(below, 0.0), proven)
    rest = _solved_some(problem, wanted, of, weights, gap, effort)
    bound = rest.bound if rest.chosen else -math.inf
    return _with_bound(min(best, rest, key=lambda s: s.value), bound, tight.value + below, proven)


def _with_bound(best: Solution, among: float, left_out: float, at_least: float) -> Solution:
    """The best plan with its lower bound: `among` bounds plans of the options that were solved, `left_out` those with
    an option that was fixed at 0."""
    bound = max(at_least, min(among, left_out))
    return replace(best, bound=min(bound, best.value))


def _with_cuts(model: Model, weights: Weights, effort: Effort) -> Relaxation | None:
    """The relaxation with rounding cuts, as long as they lift it; None where even that is infeasible."""
    found = solve_relaxation(model, weights)
    first_pack = len(model.problem.options)
    for _ in range(_ROUNDS):
        if found is None or math.isinf(found.value) or effort.seconds_left < 0.0:
            break
        cuts = violated_cuts(model.problem, found.variables, first_pack)
        if not cuts:
            break
        model = with_cuts(model, cuts)
        better = solve_relaxation(model, weights)
        if better is None or better.value - found.value <= _LEAST_RISE * abs(better.value):
            return better
        found = better
    return found


def _short_list(problem: Problem, costs: Floats, variables: Floats, each: int) -> Bools:
    """Of each part the options with the least reduced costs, basic ones first."""
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
    """The least plan among some of the options, in row numbers of all of them."""
    rows = np.flatnonzero(keep)
    found = solve_integer(of(problem.only(keep)), weights, gap=gap, effort=effort)
    return replace(found, chosen=tuple(rows[list(found.chosen)].tolist()))
