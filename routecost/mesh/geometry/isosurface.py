"""Isosurface of grid values at zero, by marching tetrahedra: always closed."""

from __future__ import annotations

from functools import cache
from itertools import permutations

import numpy as np
from numpy.typing import NDArray

from routecost.core.arrays import Ints

CORNERS = np.array([[c & 1, c >> 1 & 1, c >> 2 & 1] for c in range(8)])

NEIGHBOURS: NDArray[np.bool_] = np.zeros((3, 3, 3), bool)
"""Nodes joined by an edge of the tetrahedra: the connectivity of the isosurface."""
for _c in range(8):
    NEIGHBOURS[tuple(1 + CORNERS[_c])] = NEIGHBOURS[tuple(1 - CORNERS[_c])] = True


def mixed_cells(positive: NDArray[np.bool_]) -> tuple[Ints, Ints]:
    """Flat numbers (k,) of the lowest nodes of cells with both signs, and which corners are positive (k,), as bits."""
    nx, ny, nz = positive.shape
    sign = positive.astype(np.uint8)
    case = np.zeros((nx - 1, ny - 1, nz - 1), np.uint8)
    for c, (x, y, z) in enumerate(CORNERS):
        case |= sign[x : nx - 1 + x, y : ny - 1 + y, z : nz - 1 + z] << c
    at = np.flatnonzero((case > 0) & (case < 255))
    x, y, z = np.unravel_index(at, case.shape)
    return (x * ny + y) * nz + z, case.ravel()[at].astype(np.int64)


def corner_nodes(cells: Ints, shape: tuple[int, ...]) -> Ints:
    """Flat numbers (k, 8) of the nodes at the corners of cells."""
    return np.asarray(cells[:, None] + CORNERS @ np.array([shape[1] * shape[2], shape[2], 1]))


def zero_surface(values: NDArray[np.float32]) -> tuple[Ints, Ints, Ints]:
    """The surface around where `values` (x, y, z) are positive: n vertices and faces (m, 3).

    Each vertex is where the edge between two nodes crosses zero; returned are the flat numbers of both nodes,
    (n,) and (n,), and the faces. Every cell is cut into six tetrahedra along its diagonal, so the surface is closed
    whatever the values, as long as the outermost nodes are not positive (Kuhn's subdivision; marching tetrahedra after
    Doi & Koide, 1991). Normals point away from the positive side.
    """
    cells, case = mixed_cells(values > 0)
    table, start = _table()
    count = start[case + 1] - start[case]
    cell = np.repeat(cells, count)
    row = np.arange(len(cell)) - np.repeat(np.cumsum(count) - count - start[case], count)
    low, way = table[row, :, 0], table[row, :, 1]
    corner = CORNERS @ np.array([values.shape[1] * values.shape[2], values.shape[2], 1])
    edges, faces = np.unique((cell[:, None] + corner[low]) * 8 + way, return_inverse=True)
    lower = edges >> 3
    return lower, lower + corner[edges & 7], faces.reshape(-1, 3).astype(np.int64)


@cache
def _table() -> tuple[Ints, Ints]:
    """Triangles by case: rows (t, 3, 2) of lower corner and direction of the edge of each vertex, and the first row of
    each case (257,)."""
    rows: list[list[tuple[int, int]]] = []
    start = [0]
    for case in range(256):
        for i, j, _ in permutations((1, 2, 4)):
            inner = [c for c in (0, i, i | j, 7) if case >> c & 1]
            outer = [c for c in (0, i, i | j, 7) if not case >> c & 1]
            # ring of crossed edges, in an order that goes around
            ring = [(a, b) for a in inner for b in (outer if a == inner[0] else outer[::-1])]
            for k in range(1, len(ring) - 1):
                rows.append([(min(e), min(e) ^ max(e)) for e in _outward(ring[0], ring[k], ring[k + 1])])
        start.append(len(rows))
    return np.array(rows, dtype=np.int64), np.array(start, dtype=np.int64)


def _outward(*edges: tuple[int, int]) -> tuple[tuple[int, int], ...]:
    """The triangle of the middles of three edges (inner corner, outer corner), wound to face the outer side."""
    inner, outer = (CORNERS[[e[k] for e in edges]].astype(float) for k in (0, 1))
    a, b, c = (inner + outer) / 2
    faces_out = np.cross(b - a, c - a) @ (outer - inner).sum(axis=0) > 0
    return edges if faces_out else edges[::-1]
