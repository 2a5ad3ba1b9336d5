"""Closing holes too small to matter: cracks, missing slivers, edges split on one side only."""

from __future__ import annotations

import numpy as np

from routecost.core.arrays import Floats, Ints
from routecost.mesh.geometry.edges import Edges

MOST_EDGES = 100
"""A longer rim is an opening, not an export defect; and the cost grows with its cube."""

MOST_AREA_SHARE = 1e-4
"""Share of the whole surface that one filling may add: 2.4 mm square in a 100 mm cube."""

MOST_RIM_EDGES = 20_000
"""Files with more open edges than this are not damaged but open; their rims are not searched."""


def boundary_loops(edges: Edges) -> list[Ints]:
    """Closed loops of vertices around the holes, in the winding direction of a filling.

    Rims that meet in a vertex are separated. Edges that form no loop are omitted.
    """
    tail, head = edges.ends(edges.boundary)
    if len(tail) > MOST_RIM_EDGES:
        return []
    onward: dict[int, list[int]] = {}
    for a, b in zip(head.tolist(), tail.tolist(), strict=True):  # against the winding of the existing face
        onward.setdefault(a, []).append(b)
    loops = []
    for start in list(onward):
        while onward.get(start):
            path, at = [start], {start: 0}
            while onward.get(path[-1]):
                vertex = onward[path[-1]].pop()
                if vertex in at:
                    loops.append(np.array(path[at[vertex] :]))
                    for done in path[at[vertex] + 1 :]:
                        del at[done]
                    del path[at[vertex] + 1 :]
                else:
                    at[vertex] = len(path)
                    path.append(vertex)
            if len(path) > 1:
                break
    return loops


def minimal_triangulation(points: Floats) -> tuple[Ints, float]:
    """The triangulation (n − 2, 3) of a closed loop of n points that has the least area, and that area.

    Barequet & Sharir, "Filling gaps in the boundary of a polyhedron", Comput. Aided Geom. Design 12 (1995).

    >>> minimal_triangulation(np.array([[0.0, 0, 0], [1, 0, 0], [1, 1, 0], [0, 1, 0]]))[1]
    1.0
    """
    n = len(points)
    least = np.zeros((n, n))
    choice = np.zeros((n, n), np.int64)
    for width in range(2, n):
        for i in range(n - width):
            j = i + width
            between = np.arange(i + 1, j)
            cross = np.cross(points[between] - points[i], points[j] - points[i])
            total = least[i, between] + least[between, j] + 0.5 * np.linalg.norm(cross, axis=1)
            best = int(total.argmin())
            least[i, j], choice[i, j] = total[best], between[best]
    triangles: list[list[int]] = []
    waiting = [(0, n - 1)]
    while waiting:
        i, j = waiting.pop()
        if j - i > 1:
            k = int(choice[i, j])
            triangles.append([i, k, j])
            waiting += [(i, k), (k, j)]
    return np.array(triangles, dtype=np.int64).reshape(-1, 3), float(least[0, n - 1])


def small_fillings(vertices: Floats, edges: Edges, surface: float) -> tuple[Ints, int, float]:
    """Faces (k, 3) that close the small holes, how many holes those are, and the area they add."""
    faces: list[Ints] = []
    added = 0.0
    for rim in boundary_loops(edges):
        if 3 <= len(rim) <= MOST_EDGES:
            triangles, area = minimal_triangulation(vertices[rim])
            if area <= MOST_AREA_SHARE * surface:
                faces.append(rim[triangles])
                added += area
    return (np.concatenate(faces) if faces else np.zeros((0, 3), np.int64)), len(faces), added
