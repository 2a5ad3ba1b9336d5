"""Triangles scanned row by row over a square lattice: which lattice point meets which face, and how high.

Where an edge crosses a row is computed from the same two vertices in the same order for both faces that share
it, and all intervals are half-open. So over a closed surface each point has as many faces that look up as look
down: no rounding, sliver or upright face can make a leak.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from routecost.parts.mesh import Floats, Ints

Bools = NDArray[np.bool_]

_BLOCK = 1 << 17  # faces scanned at once: bounds the memory, costs no speed


def scan(faces: Ints, u: Floats, v: Floats, z: Floats) -> tuple[Ints, Ints, Floats, Bools, Ints]:
    """All hits (column u, column v, height, rising, face) of lattice points with faces, in no order."""
    blocks = [_scan_block(faces[k : k + _BLOCK], k, u, v, z) for k in range(0, len(faces), _BLOCK)]
    ix, iy, height, rising, face = (np.concatenate(parts) for parts in zip(*blocks, strict=True))
    return ix, iy, height, rising, face


def _scan_block(
    faces: Ints, first_face: int, u: Floats, v: Floats, z: Floats
) -> tuple[Ints, Ints, Floats, Bools, Ints]:
    column_from, column_to = _lattice_range(u, faces)
    row_from, row_to = _lattice_range(v, faces)
    met = np.flatnonzero((column_from < column_to) & (row_from < row_to))
    faces, row_from, row_to = faces[met], row_from[met], row_to[met]

    # corners by rising v: every row crosses the long edge low-high and one of the two short ones
    corner_v = v[faces]
    lowest, highest = corner_v.argmin(axis=1), corner_v.argmax(axis=1)
    middle = 3 - lowest - highest
    each = np.arange(len(faces))
    low, mid, high = faces[each, lowest], faces[each, middle], faces[each, highest]
    wound_upward = (lowest + 1) % 3 == middle

    pair, row = ranges(row_from, row_to)
    low, mid, high = low[pair], mid[pair], high[pair]
    long_u, long_z = _crossing(low, high, row, u, v, z)
    below = row < v[mid]
    short_u, short_z = _crossing(np.where(below, low, mid), np.where(below, mid, high), row, u, v, z)
    # which way the surface faces follows from the winding alone: the counts then cancel exactly
    rising = (short_u > long_u) == wound_upward[pair]
    swap = short_u < long_u
    left_u, right_u = np.minimum(long_u, short_u), np.maximum(long_u, short_u)
    left_z, right_z = np.where(swap, short_z, long_z), np.where(swap, long_z, short_z)

    hit, column = ranges(np.ceil(left_u).astype(np.int64), np.ceil(right_u).astype(np.int64))
    share = (column - left_u[hit]) / (right_u[hit] - left_u[hit])
    height = left_z[hit] + share * (right_z[hit] - left_z[hit])
    return column, row[hit], height, rising[hit], met[pair[hit]] + first_face


def _lattice_range(x: Floats, faces: Ints) -> tuple[Ints, Ints]:
    """Lattice numbers in the half-open range that each face covers."""
    a, b, c = x[faces.T]
    low, high = np.minimum(np.minimum(a, b), c), np.maximum(np.maximum(a, b), c)
    return np.ceil(low).astype(np.int64), np.ceil(high).astype(np.int64)


def ranges(start: Ints, stop: Ints) -> tuple[Ints, Ints]:
    """For every k the numbers start[k] … stop[k] − 1, in one array, with the k each belongs to.

    >>> ranges(np.array([5, 0, 7]), np.array([7, 0, 8]))
    (array([0, 0, 2]), array([5, 6, 7]))
    """
    count = stop - start
    owner = np.repeat(np.arange(len(start)), count)
    before = np.cumsum(count) - count
    return owner, np.arange(len(owner)) - (before - start)[owner]


def _crossing(p: Ints, q: Ints, row: Ints, u: Floats, v: Floats, z: Floats) -> tuple[Floats, Floats]:
    """Where the edges p–q (p the lower) cross a row; kept between the ends against rounding."""
    share = (row - v[p]) / (v[q] - v[p])
    at = u[p] + share * (u[q] - u[p])
    at = np.clip(at, np.minimum(u[p], u[q]), np.maximum(u[p], u[q]))
    return at, z[p] + share * (z[q] - z[p])
