"""Convex hulls of plane points, the smallest rectangle around them, and the length and area of rings."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from routecost.core.arrays import Floats


def smallest_rectangle(points: Floats) -> tuple[tuple[float, float], float]:
    """Sides (ascending) of the smallest rectangle around (n, 2) points and the angle of its long side, rad.

    One side of it lies along an edge of the hull (Freeman & Shapira, 1975), so only those angles are tried.

    >>> sides, angle = smallest_rectangle(np.array([[0.0, 0.0], [2.0, 2.0], [1.0, 3.0], [-1.0, 1.0]]))
    >>> np.round(sides, 6).tolist(), round(angle / np.pi, 6)
    ([1.414214, 2.828427], 0.25)
    """
    ring = convex_ring(points)
    edges = np.roll(ring, -1, axis=0) - ring
    angles = np.mod(np.arctan2(edges[:, 1], edges[:, 0]), np.pi / 2)
    angles = angles[np.unique(angles.round(9), return_index=True)[1]]
    c, s = np.cos(angles), np.sin(angles)
    along, across = (
        np.outer(c, ring[:, 0]) + np.outer(s, ring[:, 1]),
        np.outer(c, ring[:, 1]) - np.outer(s, ring[:, 0]),
    )
    a, b = np.ptp(along, axis=1), np.ptp(across, axis=1)
    # the first among equals, so that rounding does not decide
    area = a * b
    best = int(np.flatnonzero(area <= area.min() * (1 + 1e-9))[0])
    short, long = sorted((float(a[best]), float(b[best])))
    turn = 0.0 if a[best] >= b[best] else np.pi / 2
    return (short, long), float(angles[best] + turn)


def ring_length(ring: Floats) -> float:
    """Perimeter of a closed line through (n, 2) or (n, 3) points."""
    return float(np.linalg.norm(ring - np.roll(ring, 1, axis=0), axis=1).sum())


def ring_area(ring: Floats) -> float:
    """Area in a closed line through (n, 2) points, negative where it runs clockwise (shoelace formula).

    >>> ring_area(np.array([[0.0, 0.0], [2.0, 0.0], [0.0, 3.0]]))
    3.0
    """
    x, y = ring[:, 0], ring[:, 1]
    return float(0.5 * np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))


def convex_ring(points: Floats) -> Floats:
    """Corners of the convex hull of (n, 2) points, counterclockwise."""
    from scipy.spatial import ConvexHull

    outer = points[_outside_polygon(points)] if len(points) > 1000 else points
    return np.asarray(outer[ConvexHull(outer).vertices])


def _outside_polygon(points: Floats, directions: int = 16) -> NDArray[np.bool_]:
    """Mask of the points that are not well inside the polygon of the points farthest in 16 directions.

    This discards most points of a dense mesh (Akl & Toussaint, 1978).
    """
    turns = np.arange(directions) * (2 * np.pi / directions) + 0.1
    corners = points[[int((points @ [np.cos(t), np.sin(t)]).argmax()) for t in turns]]
    outside = np.zeros(len(points), bool)
    for p, q in zip(corners, np.roll(corners, -1, axis=0), strict=True):
        # on the line counts as outside: corners must stay
        normal = np.array([q[1] - p[1], p[0] - q[0]])
        outside |= points @ normal >= normal @ p - 1e-9 * np.abs(normal).sum() * np.abs(q - p).sum()
    return outside
