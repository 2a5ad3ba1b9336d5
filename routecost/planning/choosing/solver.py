"""HiGHS through scipy: linear relaxation with reduced costs, and mixed-integer program."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from time import perf_counter
from typing import TYPE_CHECKING, Literal

import numpy as np
from numpy.typing import NDArray

from routecost.core.arrays import Floats
from routecost.planning.choosing.cover_cuts import Cut
from routecost.planning.choosing.model import Measure, Model

if TYPE_CHECKING:
    from scipy.optimize import OptimizeResult
    from scipy.sparse import csr_array

Weights = Mapping[Measure, float]
"""Objective weight of each measure."""
Caps = Mapping[Measure, float]
"""Upper limit of each measure."""


@dataclass(frozen=True)
class Effort:
    """Effort limits of the solver; a limit of nodes is deterministic."""

    deadline: float = math.inf
    """By `perf_counter`."""
    nodes: int | None = None
    """Of the branch-and-bound tree of each call."""

    @property
    def seconds_left(self) -> float:
        return self.deadline - perf_counter()


UNLIMITED = Effort()


def share_over(value: float, bound: float) -> float:
    """The relative gap: the share of a value by which it exceeds a bound.

    >>> share_over(100.0, 98.0), share_over(0.0, 0.0)
    (0.02, 0.0)
    """
    return (value - bound) / abs(value) if value > bound else 0.0


@dataclass(frozen=True, eq=False)
class Solution:
    """The incumbent. `chosen` are rows of the problem's options, one for each part."""

    status: Literal["found", "none", "unknown"]
    """`none`: proven infeasible; `unknown`: stopped before a solution was found."""
    chosen: tuple[int, ...]
    value: float
    bound: float
    """Proven lower bound of the value."""

    @property
    def gap(self) -> float:
        """The share by which a better plan might undercut this one at most."""
        return share_over(self.value, self.bound) if self.chosen else 0.0


NOTHING_FITS = Solution("none", (), math.inf, math.inf)


@dataclass(frozen=True, eq=False)
class Relaxation:
    """The linear relaxation. A plan with an option has at least `value` plus the option's reduced cost."""

    value: float
    variables: Floats
    reduced_costs: Floats
    """(variables,)."""


def with_caps(model: Model, caps: Caps) -> Model:
    """The model with a row for the limit of each measure."""
    from scipy.sparse import csr_array

    if not caps:
        return model
    rows = csr_array(np.array([model.measures[measure] for measure in caps]))
    return _with_rows(model, rows, -np.inf, list(caps.values()))


def with_cuts(model: Model, cuts: list[Cut]) -> Model:
    """The model with inequalities that hold for every plan."""
    from scipy.sparse import csr_array

    matrix = csr_array(np.array([cut.coefficients for cut in cuts]))
    return _with_rows(model, matrix, np.array([cut.least for cut in cuts]), np.inf)


def _with_rows(model: Model, rows: csr_array, low: object, high: object) -> Model:
    from scipy.sparse import vstack

    matrix = vstack((model.matrix, rows), format="csr")
    added = matrix.shape[0] - len(model.low)
    return replace(
        model,
        matrix=matrix,
        low=np.append(model.low, np.broadcast_to(np.asarray(low, dtype=float), added)),
        high=np.append(model.high, np.broadcast_to(np.asarray(high, dtype=float), added)),
    )


def objective(model: Model, weights: Weights) -> Floats:
    """(variables,): the weighted sum of measures as a vector."""
    return sum((w * model.measures[m] for m, w in weights.items()), np.zeros(len(model.upper)))


def solve_relaxation(model: Model, weights: Weights) -> Relaxation | None:
    """The linear relaxation; None where it is infeasible."""
    from scipy.optimize import linprog
    from scipy.sparse import vstack

    same = model.low == model.high
    above, below = np.isfinite(model.low) & ~same, np.isfinite(model.high) & ~same
    found = linprog(
        objective(model, weights),
        A_ub=vstack((model.matrix[below], -model.matrix[above])),
        b_ub=np.concatenate((model.high[below], -model.low[above])),
        A_eq=model.matrix[same],
        b_eq=model.high[same],
        bounds=list(zip([0.0] * len(model.upper), model.upper.tolist(), strict=True)),
        method="highs",
    )
    if found.status == 2:
        return None
    if found.x is None or found.fun is None:
        # numerical failure: nothing is known
        nothing = np.zeros(len(model.upper))
        return Relaxation(-math.inf, nothing, nothing)
    return Relaxation(found.fun, np.asarray(found.x), np.asarray(found.lower.marginals))


def solve_integer(
    model: Model, weights: Weights, *, gap: float = 0.0, effort: Effort = UNLIMITED
) -> Solution:
    """The plan with the least weighted sum of measures; `gap` is the relative gap that is good enough."""
    found = _milp(model, weights, model.whole, gap, effort)
    if found is None or found.x is None:
        is_none = found is not None and found.status == 2
        return NOTHING_FITS if is_none else Solution("unknown", (), math.inf, -math.inf)
    p = model.problem
    chosen = np.flatnonzero(found.x[: len(p.options)] > 0.5)
    bound = found.fun if found.mip_dual_bound is None else found.mip_dual_bound
    return Solution(
        status="found",
        chosen=tuple(chosen[np.argsort(p.part_of[chosen])].tolist()),
        value=float(found.fun),
        bound=min(float(bound), float(found.fun)),
    )


def _milp(
    model: Model, weights: Weights, whole: NDArray[np.int64], gap: float, effort: Effort
) -> OptimizeResult | None:
    """What HiGHS finds; None where no time is left."""
    from scipy.optimize import Bounds, LinearConstraint, milp

    left = effort.seconds_left
    if left <= 0.0:
        return None
    return milp(
        objective(model, weights),
        integrality=whole,
        bounds=Bounds(np.zeros(len(model.upper)), model.upper),
        constraints=LinearConstraint(model.matrix, model.low, model.high),
        options={
            "disp": False,
            "mip_rel_gap": gap,
            **({} if math.isinf(left) else {"time_limit": left}),
            **({} if effort.nodes is None else {"node_limit": effort.nodes}),
        },
    )
