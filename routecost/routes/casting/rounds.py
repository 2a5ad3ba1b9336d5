"""Rounds of pulls: several molds are filled together, again and again, until enough castings are good.

In a round every mold is filled, but no more than castings are still missing; each comes out well with the
same chance. So pulls are good / yield whatever the number of molds, and rounds are what molds save.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from math import comb


@dataclass(frozen=True)
class Rounds:
    """How many rounds there are on average, by how many molds are filled in them."""

    filled: tuple[int, ...]
    """Molds filled together, ascending."""
    number: tuple[float, ...]
    """Expected number of such rounds."""

    def total(self, cost: Callable[[int], float] = lambda molds: 1.0) -> float:
        """Expected sum over all rounds of what a round with so many molds takes; their number by default.

        >>> rounds_until(24, 4, 0.8).total(lambda molds: molds)  # pulls
        30.0...
        """
        return sum(n * cost(molds) for molds, n in zip(self.filled, self.number, strict=True))


@lru_cache(maxsize=256)
def rounds_until(good: int, molds: int, yield_share: float) -> Rounds:
    """Rounds until `good` castings are good, with up to `molds` filled in each.

    A Markov chain over how many are still missing: a round that fills k of them leaves w fewer with
    probability C(k, w) y^w (1 - y)^(k - w), and is repeated where all fail. Good and molds at least 1,
    0 < yield_share <= 1.

    >>> one = rounds_until(3, 1, 0.75)  # one mold: each round is a pull
    >>> one.filled, one.number
    ((1,), (4.0,))
    >>> sure = rounds_until(6, 4, 1.0)  # four, then the two that are missing
    >>> sure.filled, sure.number
    ((2, 4), (1.0, 1.0))
    """
    begun = [0.0] * (good + 1)
    begun[good] = 1.0
    number = [0.0] * (molds + 1)
    for missing in range(good, 0, -1):
        k = min(missing, molds)
        chance = [comb(k, w) * yield_share**w * (1.0 - yield_share) ** (k - w) for w in range(k + 1)]
        begun[missing] /= 1.0 - chance[0]
        number[k] += begun[missing]
        for well in range(1, k + 1):
            begun[missing - well] += begun[missing] * chance[well]
    used = [k for k in range(1, molds + 1) if number[k] > 0.0]
    return Rounds(tuple(used), tuple(number[k] for k in used))
