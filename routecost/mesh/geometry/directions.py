"""Candidate directions for a part's pose: the six axes, and those of its own faces and edges."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import numpy as np

from routecost.core.arrays import Floats, Vector
from routecost.mesh.geometry.mesh import Mesh
from routecost.mesh.geometry.stable_order import stable_order
from routecost.mesh.geometry.vectors import as_vector

LINES = 13
"""Lines tried, each in both senses: 26 poses. Manufactured parts rarely have more than a handful of distinct ones."""

_SAME_DEG = 0.1
"""Directions closer than this count as one: 0.2 mm in 100, about the tolerance of a levelled bed."""
_GATHER_DEG = 0.5
"""Faces with normals within about this angle of each other form one cluster."""
_LARGE = 0.05
"""Share of the surface above which a plane or an axis is tried however close it is to another one."""
_SMALL = 0.005
"""Share below which it is a facet, not a feature of the part."""
_GROUPS = 400
"""Largest clusters examined: on a part with distinct directions the others are below the smallest share."""
_APART_DEG = 12.0
"""Minimum angle between smaller directions, so that the facets of a curve do not displace the rest."""
_CREASE_DEG = 1.0
"""Faces that meet flatter than this are one plane to rounding; their edge defines no axis."""


@lru_cache(maxsize=1)  # used by poses and by reach
def candidate_ups(mesh: Mesh) -> tuple[Vector, ...]:
    """Up to 26 unit vectors: the six axis directions, then those of the part, both senses of each line.

    >>> from routecost.mesh.geometry.mesh import Mesh
    >>> tetrahedron = Mesh.of([[0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 1]],
    ...                       [[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]])
    >>> ups = candidate_ups(tetrahedron)
    >>> ups[0], ups[1], len(ups)
    ((0.0, 0.0, 1.0), (0.0, 0.0, -1.0), 14)
    """
    lines = np.array([[0.0, 0.0, 1.0], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0]])
    own, weight = feature_lines(mesh)
    for line, share in zip(own, weight, strict=True):
        apart = np.cos(np.deg2rad(_SAME_DEG if share >= _LARGE else _APART_DEG))
        if len(lines) < LINES and np.abs(lines @ line).max() < apart:
            lines = np.vstack([lines, line])
    return tuple(as_vector(sense * line) for line in lines for sense in (1.0, -1.0))


def feature_lines(mesh: Mesh) -> tuple[Floats, Floats]:
    """Lines that rotate with the part, (n, 3), and the share of the surface behind each, largest first.

    Three sources: facets of the convex hull (possible bases), large planes of the part, and axes of rotation:
    neighbouring faces of a cylinder, the base of a cone or a prism differ by a rotation about its axis.
    """
    sources = [_hull_facets(mesh), (mesh.normals, mesh.face_areas_mm2), _creases(mesh)]
    found = [_clusters(vectors, area) for vectors, area in sources]
    lines = np.vstack([line for line, _ in found])
    share = np.concatenate([part for _, part in found])
    order = np.lexsort((*lines.T.round(6), -share.round(6)))
    return lines[order], share[order]


def _hull_facets(mesh: Mesh) -> tuple[Floats, Floats]:
    hull = mesh.hull
    corners = mesh.vertices[hull.simplices]
    cross = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    return hull.equations[:, :3], np.linalg.norm(cross, axis=1) / 2


def _creases(mesh: Mesh) -> tuple[Floats, Floats]:
    """Axes of rotation between neighbouring faces, weighted by a third of the area of each."""
    one, two = (half_edge // 3 for half_edge in mesh.edges.twins)
    (ax, ay, az), (bx, by, bz) = (
        np.ascontiguousarray(mesh.normals.T).take(face, axis=1) for face in (one, two)
    )
    axis = np.stack([ay * bz - az * by, az * bx - ax * bz, ax * by - ay * bx], axis=1)
    sine = np.sqrt(np.einsum("ij,ij->i", axis, axis))
    bent = sine > np.sin(np.deg2rad(_CREASE_DEG))
    area = (mesh.face_areas_mm2[one] + mesh.face_areas_mm2[two]) / 3
    # shares refer to the whole surface, flat edges included, so that an edge of a box weighs little
    axis, weight = axis[bent] / sine[bent, None], area[bent]
    rest = float(area[~bent].sum())
    return np.vstack([axis, np.zeros(3)]), np.append(weight, rest)


def _clusters(vectors: Floats, area: Floats) -> tuple[Floats, Floats]:
    """Clusters of directions (up to sense) by area, with their shares of the total.

    Each is represented by its vector with the largest area, which has the least rounding error. Zero vectors
    represent area without a direction.
    """
    total = float(area.sum())
    known = np.einsum("ij,ij->i", vectors, vectors) > 0.25
    if not known.all():
        vectors, area = vectors[known], area[known]
    vectors = _one_sense(vectors)
    width = 2 * np.sin(np.deg2rad(_GATHER_DEG))
    # three integers up to 58 packed into one
    x, y, z = np.round(vectors / width).astype(np.int64).T
    packed = ((x + 64) << 14) + ((y + 64) << 7) + (z + 64)
    order = stable_order(packed)
    packed = packed[order]
    start = np.flatnonzero(np.diff(packed, prepend=-1))
    weight = np.add.reduceat(area[order], start) if len(start) else np.zeros(0)

    # a direction at the border of two cells has its area in both: large clusters absorb their neighbours
    heavy = np.argsort(-weight, kind="stable")[:_GROUPS]
    heavy = heavy[weight[heavy] > _SMALL / 8 * total]
    end = np.append(start[1:], len(order))
    groups = [order[start[k] : end[k]] for k in heavy.tolist()]
    best = np.array([group[area[group].argmax()] for group in groups], dtype=np.int64)
    near = np.abs(vectors[best] @ vectors[best].T) > np.cos(np.deg2rad(2 * _GATHER_DEG))
    free = np.ones(len(heavy), bool)
    lines, shares = [], []
    for k in range(len(heavy)):
        if free[k]:
            members = near[k] & free
            free &= ~near[k]
            lines.append(vectors[best[members][area[best[members]].argmax()]])
            shares.append(float(weight[heavy[members]].sum()) / total)
    share = np.array(shares)
    return np.array(lines).reshape(-1, 3)[share >= _SMALL], share[share >= _SMALL]


def _one_sense(vectors: Floats) -> Floats:
    """Each vector or its opposite, so that the last nonzero component is positive: one form for each line."""
    x, y, z = np.where(np.abs(vectors) > 1e-9, vectors, 0.0).T
    last = np.where(z != 0, z, np.where(y != 0, y, x))
    return vectors * np.where(last < 0, -1.0, 1.0)[:, None]


def canonical(up: Any) -> tuple[Floats, bool]:
    """The canonical unit vector of the line along `up`, and whether `up` is its opposite."""
    unit = np.asarray(up, dtype=np.float64)
    unit = unit / np.linalg.norm(unit)
    named = _one_sense(unit[None])[0]
    return named, bool(named @ unit < 0)
