"""Prices that contradict a law that all others follow: most likely typed wrongly."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp, log

import numpy as np

from routecost.core.arrays import Floats

SCATTER = 0.1
"""Least spread of the log of prices around their law: quotes of one service are within some 10 % of it. Common
practice, no source."""
LEAST_FACTOR = 1.7
"""A price is suspect only if it is off by more than this factor; slips are factors of 2 (two copies) or more."""
LEAST_SIGMAS = 4.0
"""... and by more standard deviations than this, of the scatter and of what the other prices leave open."""
MOST_SUSPECTS = 0.25
"""Largest share of prices that can be suspect; of more, nobody can say which ones are right."""
OPEN_SHARE = 0.2
"""How far a coefficient may be from its price in the tables, besides 100 % of it: by this share of a usual price."""
_BEAM = 20
"""Sets of each size that the search goes on from; of one and two prices it sees most or all."""


@dataclass(frozen=True)
class Suspect:
    """A price that is off."""

    index: int
    expected: float
    """Price by a law fitted to the prices that are not suspect."""
    factor: float
    """Price over expected price."""


@dataclass(frozen=True, eq=False)
class _Law:
    """A law fitted to some of the prices."""

    errors: Floats
    """(n,): log of the law's price over the price."""
    misfit: float
    """Squared errors of these prices, and distance from the tables, in variances."""
    design: Floats
    """Rows of the fit, whitened; (design.T @ design)^-1 is the covariance of the scaled coefficients."""


def suspect_prices(amounts: Floats, prices: Floats, tabled: Floats) -> tuple[Suspect, ...]:
    """The prices to leave out, by index. Arguments as for `fit_law`.

    Removed is the set of prices for which Σ (error / scatter)² of the others, plus a fixed cost for each one removed,
    is least: a robust fit with truncated squares (Black and Rangarajan, Int. J. Computer Vision 19, 1996, from
    memory). The laws that are compared stay loosely near the tables in all proportions, not in size. So a few
    quotes, or one quote that alone has much of one amount, cannot be explained by an absurd law.

    >>> amounts = np.array([[1.0, 2], [1, 4], [1, 9], [1, 5], [1, 20], [1, 12]])
    >>> prices = amounts @ [5.0, 1.0] * [1, 1, 10, 1, 1, 1]
    >>> [(s.index, round(s.factor, 1)) for s in suspect_prices(amounts, prices, np.array([4.0, 2.0]))]
    [(2, 10.0)]
    """
    relative = amounts / prices[:, None]
    by_tables = relative @ tabled
    known = by_tables[by_tables > 0.0]
    centre = tabled / float(np.median(known)) if len(known) else np.zeros_like(tabled)
    usual = np.array([np.median(column[column > 0.0]) for column in relative.T])
    spread = np.maximum(centre, OPEN_SHARE / usual)

    def law(without: Sequence[int]) -> _Law:
        return _fit(relative, centre, spread, without)

    cost = (log(LEAST_FACTOR) / SCATTER) ** 2
    best = (law(()).misfit, tuple[int, ...]())
    level = [best]
    for size in range(1, max(1, int(MOST_SUSPECTS * len(prices))) + 1):
        if size * cost >= best[0]:
            break  # no larger set can be better
        larger = {tuple(sorted({*s, i})) for _, s in level for i in range(len(prices)) if i not in s}
        level = sorted((law(s).misfit + size * cost, s) for s in larger)[:_BEAM]
        best = min(best, level[0])
    removed = best[1]
    return _confirmed(law(removed), removed, relative, spread, prices) if removed else ()


def _fit(relative: Floats, centre: Floats, spread: Floats, without: Sequence[int]) -> _Law:
    """Non-negative least squares of relative errors, with each coefficient near `centre` by `spread`."""
    from scipy.optimize import nnls

    used = np.delete(np.arange(len(relative)), list(without))
    design = np.vstack([relative[used] * spread / SCATTER, np.eye(len(spread))])
    wanted = np.concatenate([np.full(len(used), 1.0 / SCATTER), centre / spread])
    found = np.asarray(nnls(design, wanted)[0])
    errors = np.log(np.maximum(relative @ (found * spread), 1e-9))
    misfit = ((errors[used] / SCATTER) ** 2).sum() + ((found - centre / spread) ** 2).sum()
    return _Law(errors, float(misfit), design)


def _confirmed(
    law: _Law, removed: Sequence[int], relative: Floats, spread: Floats, prices: Floats
) -> tuple[Suspect, ...]:
    """Those whose error is large for what the other prices say about them."""
    others = np.delete(law.errors, list(removed))
    scatter = max(SCATTER, 1.4826 * float(np.median(np.abs(others))))  # from a median of errors to a sigma
    covariance = np.linalg.inv(law.design.T @ law.design)
    found = []
    for i in removed:
        error = float(law.errors[i])
        slope = relative[i] * spread / exp(error)
        sigma = float(np.sqrt(scatter**2 + slope @ covariance @ slope))
        if abs(error) > max(log(LEAST_FACTOR), LEAST_SIGMAS * sigma):
            found.append(Suspect(i, float(prices[i]) * exp(error), exp(-error)))
    return tuple(found)
