"""How many equal rectangles fit on a plate, each turned by 90° or not.

Three constructions, each containing the one before: a plain grid; guillotine cuts (from edge to edge, again
and again); and the pinwheel of five blocks, which no edge-to-edge cut makes (Bischoff & Dowsland, J. Oper.
Res. Soc. 33 (1982); Morabito & Morales, J. Oper. Res. Soc. 49 (1998)). All solved bottom-up over plates
whose sides are sums of the rectangle's sides: no packing loses anything by being pushed into a corner (Herz
1972); all three from memory. A count found is always possible; now and then one more would fit.
"""

from __future__ import annotations

from functools import lru_cache
from math import floor

import numpy as np
from numpy.typing import NDArray

from routecost.routes.physics.domain import above_zero, not_negative

_SLACK = 1e-9  # relative: a length of exactly n rectangles holds n, whatever the last digit
_MOST_PINWHEELS = 40_000_000  # cell look-ups: a quarter of a second; beyond, it gains a percent at best
_MOST_PLATES = 6_000  # sub-plates for guillotine cuts, for the same reason


def fit_count(
    plate_width_mm: float,
    plate_depth_mm: float,
    item_width_mm: float,
    item_depth_mm: float,
    gap_mm: float = 0.0,
    enough: int | None = None,
) -> int:
    """Equal rectangles that fit on a plate, with a gap between neighbours but none to the edge.

    Sides above 0, gap 0 or more. 0 when not even one fits square to the plate. With `enough` the search
    stops there and no more than that is returned: most parts are wanted in few copies.

    >>> fit_count(220, 220, 100, 60)  # a grid gives 6, a pinwheel of four pairs 8
    8
    >>> fit_count(220, 220, 100, 60, gap_mm=30), fit_count(220, 220, 230, 10)
    (4, 0)
    >>> fit_count(220, 220, 20, 20, enough=5)
    5
    """
    for name, side in (("plate width", plate_width_mm), ("plate depth", plate_depth_mm)):
        above_zero(name, side, "mm")
    for name, side in (("rectangle width", item_width_mm), ("rectangle depth", item_depth_mm)):
        above_zero(name, side, "mm")
    not_negative("gap", gap_mm, "mm")
    # a rectangle with its gap on two sides, on a plate that is one gap larger
    plate = sorted((plate_width_mm + gap_mm, plate_depth_mm + gap_mm))
    item = sorted((item_width_mm + gap_mm, item_depth_mm + gap_mm))
    found = _grid(plate[0], plate[1], item[0], item[1])
    if enough is not None and found >= enough:
        return enough
    if found < _area_bound(plate[0], plate[1], item[0], item[1]):
        found = _search(plate[0], plate[1], item[0], item[1])
    return found if enough is None else min(found, enough)


def _times(length: float, part: float) -> int:
    return floor(length / part * (1.0 + _SLACK))


def _area_bound(plate_w: float, plate_d: float, a: float, b: float) -> int:
    return floor(plate_w * plate_d / (a * b) * (1.0 + _SLACK))


def _grid(plate_w: float, plate_d: float, a: float, b: float) -> int:
    """The better of the two plain grids."""
    return max(_times(plate_w, a) * _times(plate_d, b), _times(plate_w, b) * _times(plate_d, a))


@lru_cache(maxsize=4096)
def _search(plate_w: float, plate_d: float, a: float, b: float) -> int:
    """Best count by grids, guillotine cuts and pinwheels; the last two as far as the work stays small."""
    x, y = _sums(plate_w, a, b), _sums(plate_d, a, b)
    if len(x) * len(y) > _MOST_PLATES:
        return _two_grids(plate_w, plate_d, x, y, a, b)
    rest_x, rest_y = _rests(x), _rests(y)
    pinwheels = len(x) ** 3 * len(y) ** 3 / 36.0 <= _MOST_PINWHEELS
    best = np.zeros((len(x), len(y)), dtype=np.int64)
    for i in range(1, len(x)):
        for j in range(1, len(y)):
            count = _grid(x[i], y[j], a, b)
            bound = _area_bound(x[i], y[j], a, b)
            if count < bound:
                cut = range(1, i)
                count = max(count, int((best[cut, j] + best[rest_x[i, 1:i], j]).max(initial=0)))
                cut = range(1, j)
                count = max(count, int((best[i, cut] + best[i, rest_y[j, 1:j]]).max(initial=0)))
            if pinwheels and count < bound:
                count = max(count, _pinwheel(best, rest_x, rest_y, i, j))
            best[i, j] = count
    return int(best[-1, -1])


def _pinwheel(
    best: NDArray[np.int64], rest_x: NDArray[np.intp], rest_y: NDArray[np.intp], i: int, j: int
) -> int:
    """Five blocks around a core: the cuts x1 < x2 and y1 < y2 over all pairs of sums at once."""
    if i < 3 or j < 3:
        return 0
    p1, p2 = (cut[:, None] + 1 for cut in np.triu_indices(i - 1, 1))
    q1, q2 = (cut[None, :] + 1 for cut in np.triu_indices(j - 1, 1))
    blocks = (
        best[p2, q1]
        + best[rest_x[i, p2], q2]
        + best[rest_x[i, p1], rest_y[j, q2]]
        + best[p1, rest_y[j, q1]]
        + best[rest_x[p2, p1], rest_y[q2, q1]]
    )
    return int(blocks.max())


def _two_grids(
    plate_w: float, plate_d: float, x: NDArray[np.float64], y: NDArray[np.float64], a: float, b: float
) -> int:
    """For hundreds of small rectangles: one cut, a grid on either side."""
    across = max(_grid(cut, plate_d, a, b) + _grid(plate_w - cut, plate_d, a, b) for cut in x)
    along = max(_grid(plate_w, cut, a, b) + _grid(plate_w, plate_d - cut, a, b) for cut in y)
    return max(across, along)


def _sums(length: float, a: float, b: float) -> NDArray[np.float64]:
    """All i·a + j·b up to a length, ascending from 0; sums that differ by rounding only are one."""
    most = length * (1.0 + _SLACK)
    sums = np.sort(
        [i * a + j * b for i in range(_times(length, a) + 1) for j in range(_times(most - i * a, b) + 1)]
    )
    return np.asarray(sums[np.concatenate(([True], np.diff(sums) > _SLACK * length))], dtype=np.float64)


def _rests(sums: NDArray[np.float64]) -> NDArray[np.intp]:
    """For lengths p ≥ q: index of the largest sum that p − q still holds; 0 elsewhere."""
    left = np.maximum(sums[:, None] - sums[None, :], 0.0) + 2.0 * _SLACK * sums[-1]
    return np.asarray(np.searchsorted(sums, left, side="right") - 1, dtype=np.intp)
