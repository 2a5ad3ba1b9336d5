"""Shrinkage: what a mold and a resin lose on cure, and how much larger a master must be."""

from __future__ import annotations

from routecost.routes.physics.domain import not_negative, percent


def master_scale(mold_linear_percent: float, resin_linear_percent: float = 0.0) -> float:
    """Factor on the master's lengths so that the casting comes out at size: 1 / ((1 − s_mold)(1 − s_resin)).

    >>> round(master_scale(0.1, 0.4), 7)
    1.0050211
    """
    percent("shrinkage of the mold", mold_linear_percent)
    percent("shrinkage of the resin", resin_linear_percent)
    return 1.0 / ((1.0 - mold_linear_percent / 100.0) * (1.0 - resin_linear_percent / 100.0))


def top_up_mm3(volume_mm3: float, linear_percent: float) -> float:
    """Liquid to add so that a room of this volume ends full of cured resin: V / (1 − s)³ − V.

    The first void is V·(1 − (1 − s)³); what fills it shrinks too, and the geometric series sums to this.

    >>> round(top_up_mm3(100_000, 0.4))
    1210
    """
    not_negative("volume", volume_mm3, "mm³")
    percent("linear shrinkage", linear_percent)
    return volume_mm3 / (1.0 - linear_percent / 100.0) ** 3 - volume_mm3
