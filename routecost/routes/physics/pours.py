"""Filling a cavity in pours that are neither too deep nor too heavy, each on top of the gelled one below."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, inf

import numpy as np
from numpy.typing import NDArray

from routecost.routes.physics.domain import above_zero, not_negative, share


@dataclass(frozen=True)
class Pour:
    """One pour: from which level to which, heights over the bottom of the cavity's first slice."""

    from_mm: float
    to_mm: float
    volume_mm3: float
    mass_g: float

    @property
    def depth_mm(self) -> float:
        return self.to_mm - self.from_mm


def plan_pours(
    area_by_height_mm2: Sequence[float],
    slice_mm: float,
    density_g_cm3: float,
    depth_limit_mm: float,
    mass_limit_g: float,
) -> tuple[Pour, ...]:
    """The fewest pours within both limits, evened out so that the last is no sliver.

    `area_by_height_mm2`: the cavity's section in each slice from the bottom up, taken as constant over the
    slice; the level after a pour follows from integrating it. Slices of no area at either end are not
    filled. Limits above 0, infinite allowed. Volumes add up to the cavity's.

    >>> for pour in plan_pours([1000.0] * 50, 1.0, 1.1, depth_limit_mm=20, mass_limit_g=800):
    ...     print(round(pour.from_mm, 2), round(pour.to_mm, 2), round(pour.mass_g, 2))
    0.0 16.67 18.33
    16.67 33.33 18.33
    33.33 50.0 18.33
    """
    above_zero("slice", slice_mm, "mm")
    above_zero("density", density_g_cm3, "g/cm³")
    _check_limit("depth limit", depth_limit_mm, "mm")
    _check_limit("mass limit", mass_limit_g, "g")
    area = np.asarray(area_by_height_mm2, dtype=np.float64)
    if not np.all((area >= 0.0) & np.isfinite(area)):
        raise ValueError("a section of the cavity is negative or not a number; give areas of 0 mm² or more")
    filled = np.flatnonzero(area)
    if not len(filled):
        return ()
    first, last = int(filled[0]), int(filled[-1]) + 1
    level = np.arange(first, last + 1, dtype=np.float64) * slice_mm
    below = np.concatenate(([0.0], np.cumsum(area[first:last] * slice_mm)))
    volume_limit = mass_limit_g / density_g_cm3 * 1000.0
    _check_count(level, below, depth_limit_mm, volume_limit)

    tops = _fill(level, below, depth_limit_mm, volume_limit)
    # the smallest share of both limits that needs no more pours: 40 halvings reach a millionth of a millionth
    too_small, enough = 0.5 / len(tops), 1.0
    for _ in range(40):
        middle = (too_small + enough) / 2.0
        tried = _fill(level, below, middle * depth_limit_mm, middle * volume_limit, len(tops))
        if tried:
            enough, tops = middle, tried
        else:
            too_small = middle

    pours, bottom, start = [], float(level[0]), 0.0
    for top in tops:
        end = float(np.interp(top, level, below))
        pours.append(Pour(bottom, top, end - start, (end - start) / 1000.0 * density_g_cm3))
        bottom, start = top, end
    return tuple(pours)


def pour_waits_h(pours: int, gel_h: float) -> float:
    """Waiting between pours: each but the first waits for the one below to gel. The last cure comes on top.

    >>> pour_waits_h(3, 4.0)
    8.0
    """
    not_negative("number of pours", pours)
    not_negative("gel time", gel_h, "h")
    return max(0, pours - 1) * gel_h


def largest_mix_g(pot_life_min: float, mix_min: float, pour_g_min: float, usable_share: float) -> float:
    """Heaviest batch that is mixed and poured before it thickens: (usable pot life − mixing) × pouring rate.

    Resin thickens before its pot life is over; `usable_share` of it is good for pouring.

    >>> largest_mix_g(pot_life_min=10, mix_min=3, pour_g_min=100, usable_share=0.8)
    500.0
    """
    above_zero("pot life", pot_life_min, "min")
    not_negative("mixing time", mix_min, "min")
    above_zero("pouring rate", pour_g_min, "g/min")
    share("usable share of the pot life", usable_share)
    left = usable_share * pot_life_min - mix_min
    if left <= 0.0:
        raise ValueError(
            f"mixing for {mix_min:g} min leaves nothing of the {usable_share * pot_life_min:g} min that "
            "the resin pours well; take a slower resin or mix faster"
        )
    return left * pour_g_min


def mix_batches(mass_g: float, largest_mix_g: float) -> int:
    """Batches mixed for one pour.

    >>> mix_batches(1200, 500), mix_batches(1000, 500), mix_batches(0, 500)
    (3, 2, 0)
    """
    not_negative("mass", mass_g, "g")
    _check_limit("largest batch", largest_mix_g, "g")
    return ceil(mass_g / largest_mix_g * (1.0 - 1e-12))


def _fill(
    level: NDArray[np.float64],
    below: NDArray[np.float64],
    depth_limit: float,
    volume_limit: float,
    most: float = inf,
) -> list[float]:
    """Tops of pours that each rise until a limit is met; empty when `most` do not fill the cavity."""
    top = float(level[0])
    tops: list[float] = []
    end = float(level[-1])
    close = 1e-9 * (end - top)  # a sliver that rounding leaves is no pour
    while top < end - close:
        if len(tops) == most:
            return []
        by_volume = _level_of(float(np.interp(top, level, below)) + volume_limit, level, below)
        top = min(top + depth_limit, by_volume)
        tops.append(top if top < end - close else end)
    return tops


def _level_of(volume: float, level: NDArray[np.float64], below: NDArray[np.float64]) -> float:
    """Highest level up to which the cavity holds no more than this volume."""
    full = int(np.searchsorted(below, volume, side="right"))
    if full == len(below):
        return float(level[-1])
    share_of_slice = (volume - below[full - 1]) / (below[full] - below[full - 1])
    return float(level[full - 1] + share_of_slice * (level[full] - level[full - 1]))


def _check_limit(name: str, value: float, unit: str) -> None:
    if not value > 0.0:
        raise ValueError(f"{name} is {value:g} {unit}; give a number above 0 {unit}")


def _check_count(
    level: NDArray[np.float64], below: NDArray[np.float64], depth_limit: float, volume_limit: float
) -> None:
    least = (level[-1] - level[0]) / depth_limit + below[-1] / volume_limit
    if least > 10_000:  # days of pouring even at a pour a minute: a unit went wrong
        raise ValueError(
            f"the cavity would take some {least:.0f} pours; check the units of the limits and of the cavity"
        )
