"""A price law from prices: non-negative least squares of relative errors, and how well it is known.

The law is price = Σ coefficient · amount with coefficients of 0 or more. What the prices do not
determine is left as near to the law of the tables as they allow, and marked so.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from routecost.core.arrays import Floats

RANK_TOLERANCE = 1e-6
"""Directions that move prices by less than this share of the strongest one are not determined by them: a price is
rounded to about 1e-4 and a mesh measured to about 1e-6."""
PULL = 1e-3
"""Weight of staying near the tables where the prices say nothing, over the weight of a price: enough to decide,
too little to show in a price."""
COVERAGE = 0.8
"""Of an interval, from the 10th to the 90th percentile."""
STRONG_COLLINEARITY = 30.0
"""Condition index from which coefficients are hard to tell apart: Belsley, Kuh and Welsch, *Regression
Diagnostics* (1980), from memory."""
MAIN_SHARE = 0.5
"""Share of its variance from which a coefficient takes part in a near dependency; same source."""


@dataclass(frozen=True)
class Coefficient:
    """One coefficient, its 10th and its 90th percentile."""

    driver: str
    value: float
    low: float
    high: float
    is_determined: bool
    """False: the prices determine only its sum with others; then `low` to `high` all fit them equally well."""


@dataclass(frozen=True, eq=False)
class LawFit:
    """A fitted law and its errors. n prices, k drivers."""

    coefficients: tuple[Coefficient, ...]
    fitted: Floats
    """(n,): the law's price for each price that it was fitted to."""
    left_out: Floats
    """(n,): the price by a law fitted to all others."""
    prices: Floats
    rank: int
    """How many combinations of coefficients the prices determine."""
    condition: float
    """Strongest over weakest of these; a large one means wide intervals."""
    hard_to_tell_apart: tuple[str, ...]
    """Drivers that nearly depend on each other in these prices; empty where none do."""

    @property
    def errors(self) -> Floats:
        """(n,): left-out law over price, less one."""
        return self.left_out / self.prices - 1.0

    @property
    def rms_error(self) -> float:
        return rms(self.errors)

    @property
    def worst_error(self) -> float:
        """The error of the largest size, with its sign."""
        return float(self.errors[np.argmax(np.abs(self.errors))])

    @property
    def undetermined(self) -> tuple[str, ...]:
        return tuple(c.driver for c in self.coefficients if not c.is_determined)


def rms(errors: Floats) -> float:
    return float(np.sqrt(np.mean(errors**2)))


def fit_law(drivers: Sequence[str], amounts: Floats, prices: Floats, tabled: Floats) -> LawFit:
    """Fit the law to prices, each weighted by 1/price so that errors are relative.

    amounts (n, k): what each price draws of each driver, 0 or more, no driver drawn by none. prices (n,):
    above 0, at least two. tabled (k,): the coefficients so far. Intervals are by the delete-one jackknife
    (Tukey; Miller, Biometrika 61, 1974) with Student's t of n - rank degrees of freedom, cut off at 0.

    >>> fit = fit_law(["setup", "volume"], np.array([[1.0, 2], [1, 4], [1, 9]]), np.array([7.0, 9, 14]),
    ...               np.array([1.0, 1]))
    >>> [round(c.value, 6) for c in fit.coefficients], round(fit.rms_error, 6)
    ([5.0, 1.0], 0.0)
    """
    n = len(prices)
    if n < 2 or not (prices > 0.0).all() or not (amounts.sum(axis=0) > 0.0).all():
        raise ValueError("give two prices or more, above 0, and drivers that at least one price draws")
    relative = amounts / prices[:, None]
    sizes = np.linalg.norm(relative, axis=0)
    scaled, start = relative / sizes, tabled * sizes
    found = _solve(scaled, start)
    without = np.array([_solve(np.delete(scaled, i, axis=0), start) for i in range(n)])

    _u, singular, directions = np.linalg.svd(scaled)
    rank = int((singular > RANK_TOLERANCE * singular[0]).sum())
    # a share of a coefficient that lies in no direction that the prices determine
    undetermined = (directions[rank:] ** 2).sum(axis=0) > RANK_TOLERANCE
    half = _t_ends(max(1, n - rank)) * _jackknife_error(without)
    low, high = np.maximum(found - half, 0.0), found + half
    for j in np.flatnonzero(undetermined):
        ends = _range_of(int(j), directions[:rank], found)
        low[j], high[j] = min(low[j], ends[0]), max(high[j], ends[1])
    return LawFit(
        coefficients=tuple(
            Coefficient(name, float(v / s), float(a / s), float(b / s), not u)
            for name, v, a, b, s, u in zip(drivers, found, low, high, sizes, undetermined, strict=True)
        ),
        fitted=prices * (scaled @ found),
        left_out=prices * np.einsum("nk,nk->n", scaled, without),
        prices=prices,
        rank=rank,
        condition=float(singular[0] / singular[rank - 1]),
        hard_to_tell_apart=_near_dependency(drivers, singular[:rank], directions[:rank]),
    )


def _solve(scaled: Floats, start: Floats) -> Floats:
    """Non-negative coefficients whose products are nearest to 1; where rows say nothing, nearest to `start`."""
    from scipy.optimize import nnls

    _u, singular, directions = np.linalg.svd(scaled)
    silent = directions[int((singular > RANK_TOLERANCE * singular[0]).sum()) :]
    rows = np.vstack([scaled, PULL * silent])
    wanted = np.concatenate([np.ones(len(scaled)), PULL * silent @ start])
    return np.asarray(nnls(rows, wanted)[0])


def _jackknife_error(without: Floats) -> Floats:
    """Standard errors (k,) from estimates (n, k) with one price left out each."""
    n = len(without)
    around = without - without.mean(axis=0)
    return np.asarray(np.sqrt((n - 1.0) / n * (around**2).sum(axis=0)))


def _t_ends(degrees: int) -> float:
    """Standard errors from the estimate to either end of its interval."""
    from scipy.stats import t

    return float(t.ppf(0.5 + COVERAGE / 2.0, degrees))


def _range_of(j: int, seen: Floats, found: Floats) -> tuple[float, float]:
    """Least and most of one coefficient among all non-negative laws that give the same price for every quote."""
    from scipy.optimize import linprog

    aim = np.zeros(len(found))
    aim[j] = 1.0
    ends = []
    for sign in (1.0, -1.0):
        best = linprog(sign * aim, A_eq=seen, b_eq=seen @ found, bounds=(0.0, None))
        ends.append(float(best.x[j]) if best.x is not None else float(found[j]))
    return ends[0], ends[1]


def _near_dependency(drivers: Sequence[str], singular: Floats, directions: Floats) -> tuple[str, ...]:
    """Drivers most of whose variance lies in the weakest direction, where that is weak beside the strongest."""
    if singular[0] / singular[-1] < STRONG_COLLINEARITY:
        return ()
    parts = (directions / singular[:, None]) ** 2
    share = parts[-1] / parts.sum(axis=0)
    return tuple(name for name, s in zip(drivers, share, strict=True) if s > MAIN_SHARE)
