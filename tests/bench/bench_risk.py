"""Sampling a large build beside the bare matrix product of the same size: `python tests/bench/bench_risk.py`.

500 parts x 5 routes x 10 000 sampled worlds, and repricing after one price has changed. Nothing is asserted.
"""

from __future__ import annotations

import time

import numpy as np

PLANS, TERMS, DRAWS, ROUTES = 2_500, 120, 10_000, 5


def timed(what: str, run) -> float:
    best = min(_seconds(run) for _ in range(3))
    print(f"{what:<52}{best * 1000:10.1f} ms")
    return best


def _seconds(run) -> float:
    start = time.perf_counter()
    run()
    return time.perf_counter() - start


def main() -> None:
    from routecost.costing.quantities import Quantities
    from routecost.costing.uncertainty.risk import wins

    rng = np.random.default_rng(1)
    matrix = rng.random((PLANS, TERMS)) * (rng.random((PLANS, TERMS)) < 0.3)
    floored = rng.choice(PLANS, PLANS // ROUTES, replace=False)
    groups = np.zeros((len(floored), TERMS))
    groups[:, :5] = matrix[floored, :5]
    floors = np.zeros_like(groups)
    floors[:, 5] = 1.0
    q = Quantities(tuple(map(str, range(TERMS))), matrix, groups, floors, floored)
    powers = (rng.random((TERMS, 60)) < 0.05).astype(float)
    likely = rng.random(60) + 0.5
    base = rng.random(TERMS)

    def sampled() -> np.ndarray:
        values = likely[:, None] * np.exp(0.2 * rng.standard_normal((60, DRAWS)))
        prices = base[:, None] * np.exp(powers @ np.log(values / likely[:, None]))
        cost = q.cost(prices)
        parts = cost.reshape(PLANS // ROUTES, ROUTES, DRAWS)
        return np.stack([wins(rows) for rows in parts])

    prices = rng.random((TERMS, DRAWS))
    bare = timed("bare product, 2 500 x 120 by 120 x 10 000", lambda: matrix @ prices)
    ours = timed("sampled worlds with floors and chances of each route", sampled)
    print(f"{'ratio':<52}{ours / bare:10.1f}")
    timed("the build repriced after one price has changed", lambda: q.cost(base))


if __name__ == "__main__":
    main()
