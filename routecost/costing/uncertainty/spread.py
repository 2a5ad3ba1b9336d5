"""Low, likely, high: what is known of an uncertain input, and how it is sampled."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt
from typing import Literal

import numpy as np

from routecost.core.arrays import Floats

Law = Literal["triangular", "pert"]


@dataclass(frozen=True)
class Spread:
    """Three points of one input. `low <= likely <= high`; all equal means it is certain.

    >>> Spread(4, 6, 12).pert_mean, round(Spread(4, 6, 12).pert_sd, 4)
    (6.666..., 1.3333)
    """

    low: float
    likely: float
    high: float

    def __post_init__(self) -> None:
        if not self.low <= self.likely <= self.high:
            raise ValueError(
                f"{self.low:g}, {self.likely:g}, {self.high:g} are not in order; write low, likely, high"
            )

    @property
    def mean(self) -> float:
        """Of the triangular law: (a + m + b) / 3."""
        return (self.low + self.likely + self.high) / 3.0

    @property
    def sd(self) -> float:
        """Of the triangular law: sqrt((a² + m² + b² - am - ab - mb) / 18)."""
        a, m, b = self.low, self.likely, self.high
        return sqrt(max(0.0, (a * a + m * m + b * b - a * m - a * b - m * b) / 18.0))

    @property
    def pert_mean(self) -> float:
        """(a + 4m + b) / 6: Malcolm, Roseboom, Clark, Fazar, Operations Research 7 (1959)."""
        return (self.low + 4.0 * self.likely + self.high) / 6.0

    @property
    def pert_sd(self) -> float:
        """(b - a) / 6, the same source."""
        return (self.high - self.low) / 6.0


def sample(spreads: list[Spread], n: int, seed: int, law: Law = "triangular") -> Floats:
    """Samples, (len(spreads), n): each input by a stream of its own, so that adding one leaves the others.

    The triangular law by inverting its distribution; `pert` as the beta law with the same ends and mode
    and shape 4 (Vose, *Risk Analysis*, from memory), whose mean is the PERT mean.

    >>> sample([Spread(0, 1, 2)], 3, seed=1).shape
    (1, 3)
    """
    out = np.empty((len(spreads), n))
    streams = np.random.SeedSequence(seed).spawn(len(spreads))
    for row, (s, stream) in enumerate(zip(spreads, streams, strict=True)):
        rng = np.random.Generator(np.random.PCG64(stream))
        width = s.high - s.low
        if width <= 0.0:
            out[row] = s.likely
        elif law == "triangular":
            u = rng.random(n)
            cut = (s.likely - s.low) / width
            rising = s.low + np.sqrt(u * width * (s.likely - s.low))
            falling = s.high - np.sqrt((1.0 - u) * width * (s.high - s.likely))
            out[row] = np.where(u < cut, rising, falling)
        else:
            a = 1.0 + 4.0 * (s.likely - s.low) / width
            b = 1.0 + 4.0 * (s.high - s.likely) / width
            out[row] = s.low + width * rng.beta(a, b, n)
    return out
