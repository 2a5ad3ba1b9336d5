"""Triangles scanned row by row over a square lattice: which lattice point meets which face at what height.

Where an edge crosses a row is computed from the same two vertices in the same order for both faces that share
it, and all intervals are half-open. So over a closed surface each point meets as many upward as downward faces,
whatever the rounding: no sliver or upright face can cause a leak.
"""

from __future__ import annotations

import numpy as np

from routecost.core.arrays import Bools, Floats, Ints

_BLOCK = 1 << 13  # faces scanned at once: their arrays stay in the processor's cache

# corners (lowest, middle, highest), indexed by bits: second above first (1), third above second (2), third above
# first (4); 3 and 4 are impossible
_SORTED = np.array([[2, 1, 0], [2, 0, 1], [1, 2, 0], [0, 1, 2], [0, 1, 2], [0, 2, 1], [1, 0, 2], [0, 1, 2]]).T
_WOUND_UPWARD = (_SORTED[0] + 1) % 3 == _SORTED[1]


def scan(faces: Ints, u: Floats, v: Floats, z: Floats) -> tuple[Ints, Ints, Floats, Bools, Ints]:
    """All hits (column u, column v, height, rising, face) of lattice points with faces, in no order."""
    points = np.stack([u, v, z])
    column, row = np.ceil(u).astype(np.int64), np.ceil(v).astype(np.int64)
    # both in one number, so that one look-up shows whether the corners of a face share a row or column
    cell = (column << 32) + row
    blocks = [_scan_block(faces[k : k + _BLOCK], k, points, row, cell) for k in range(0, len(faces), _BLOCK)]
    ix, iy, height, rising, face = (np.concatenate(parts) for parts in zip(*blocks, strict=True))
    return ix, iy, height, rising, face


def _scan_block(
    faces: Ints, first_face: int, points: Floats, row_of: Ints, cell_of: Ints
) -> tuple[Ints, Ints, Floats, Bools, Ints]:
    a, b, c = cell_of.take(faces.T)
    apart = (a ^ b) | (a ^ c)
    met = np.flatnonzero((apart >> 32 != 0) & (apart << 32 != 0))
    corners = faces.take(met, axis=0).T

    # corners sorted by v: every row crosses the long edge low-high and one of the two short ones
    a, b, c = rows = row_of.take(corners)
    kind = (b > a) + 2 * (c > b) + 4 * (c > a)
    by_v = _SORTED.take(kind, axis=1) * len(met) + np.arange(len(met))
    corners, rows = corners.ravel().take(by_v), rows.ravel().take(by_v)
    pair, row = ranges(rows[0], rows[2])
    # the short edge begins at corner 0 below the middle one, else at corner 1
    short = (row >= rows[1].take(pair)) * len(met) + pair
    corners = corners.ravel()
    lower = corners.take(np.stack([pair, short]))
    upper = corners.take(np.stack([pair + 2 * len(met), short + len(met)]))
    (long_u, short_u), (long_z, short_z) = _crossing(points, lower, upper, row)
    # the facing follows from the winding alone, so that the counts cancel exactly
    rising = (short_u > long_u) == _WOUND_UPWARD[kind].take(pair)

    hit, column = ranges(
        np.ceil(np.minimum(long_u, short_u)).astype(np.int64),
        np.ceil(np.maximum(long_u, short_u)).astype(np.int64),
    )
    begin, wide = long_u.take(hit), (short_u - long_u).take(hit)
    height = long_z.take(hit) + (column - begin) / wide * (short_z - long_z).take(hit)
    return column, row.take(hit), height, rising.take(hit), met.take(pair.take(hit)) + first_face


def ranges(start: Ints, stop: Ints) -> tuple[Ints, Ints]:
    """For every k the numbers start[k] … stop[k] − 1, in one array, with the k each belongs to.

    >>> ranges(np.array([5, 0, 7]), np.array([7, 0, 8]))
    (array([0, 0, 2]), array([5, 6, 7]))
    """
    count = stop - start
    owner = np.repeat(np.arange(len(start)), count)
    before = np.cumsum(count) - count
    return owner, np.arange(len(owner)) - (before - start).take(owner)


def _crossing(points: Floats, p: Ints, q: Ints, row: Ints) -> tuple[Floats, Floats]:
    """Where the edges p–q (p the lower) cross a row; clamped between the ends against rounding."""
    u, v, z = (coordinate.take(p) for coordinate in points)
    to_u, to_v, to_z = (coordinate.take(q) for coordinate in points)
    share = (row - v) / (to_v - v)
    at = u + share * (to_u - u)
    at = np.minimum(np.maximum(at, np.minimum(u, to_u)), np.maximum(u, to_u))
    return at, z + share * (to_z - z)
