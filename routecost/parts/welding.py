"""Making one vertex of points that are the same: files such as STL list each corner anew."""

from __future__ import annotations

import numpy as np

from routecost.parts.linked import linked
from routecost.parts.mesh import Floats, Ints


def weld(points: Floats) -> tuple[Floats, Ints]:
    """The distinct points (k, 3), by first appearance, and which of them each point is (n,).

    >>> weld(np.array([[1.0, 0, 0], [2, 0, 0], [1, -0.0, 0]]))[1].tolist()
    [0, 1, 0]
    """
    points = np.ascontiguousarray(points) + 0.0  # −0 becomes 0
    bits = points.view(np.uint64)
    # odd multipliers spread the bits (Knuth, The Art of Computer Programming 3, section 6.4)
    mixed = bits * np.array([0x9E3779B97F4A7C15, 0xC2B2AE3D27D4EB4F, 0x165667B19E3779F9], np.uint64)
    mixed ^= mixed >> np.uint64(29)
    key = mixed[:, 0] ^ (mixed[:, 1] << np.uint64(1)) ^ (mixed[:, 2] << np.uint64(2))
    order = np.argsort(key, kind="stable")
    new_key = key[order][1:] != key[order][:-1]
    new_point = (points[order][1:] != points[order][:-1]).any(axis=1)
    if (new_point & ~new_key).any():  # two points share a key: sort by the coordinates themselves
        order = np.lexsort(points.T)
        new_point = (points[order][1:] != points[order][:-1]).any(axis=1)
    return _numbered(points, order, np.concatenate([[True], new_point]))


def _numbered(points: Floats, order: Ints, new: Ints) -> tuple[Floats, Ints]:
    first = order[new]
    by_appearance = np.argsort(first, kind="stable")
    rank = np.empty(len(first), np.int64)
    rank[by_appearance] = np.arange(len(first))
    index = np.empty(len(points), np.int64)
    index[order] = rank[np.cumsum(new) - 1]
    return points[first[by_appearance]], index


def weld_near(vertices: Floats, which: Ints, distance: float) -> Ints:
    """New vertex numbers (n,) after joining those of `which` (k,) within `distance` of each other."""
    from scipy.spatial import cKDTree

    number = np.arange(len(vertices))
    pairs = cKDTree(vertices[which]).query_pairs(distance, output_type="ndarray")
    if len(pairs):
        groups, group = linked(len(which), pairs[:, 0], pairs[:, 1])
        first = np.full(groups, len(vertices))
        np.minimum.at(first, group, which)
        number[which] = first[group]
    return number


def compact(vertices: Floats, faces: Ints) -> tuple[Floats, Ints]:
    """The same faces over the vertices they use, in their order."""
    used = np.zeros(len(vertices), bool)
    used[faces.reshape(-1)] = True
    if used.all():
        return vertices, faces
    return vertices[used], (np.cumsum(used) - 1)[faces]
