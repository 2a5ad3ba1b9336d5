"""Vertex welding: files such as STL repeat each corner for every face."""

from __future__ import annotations

import numpy as np

from routecost.core.arrays import Floats, Ints
from routecost.mesh.geometry.connected import connected_groups

# odd 64-bit multipliers that mix the bits (Knuth, The Art of Computer Programming 3, section 6.4)
_SPREAD = (0x9E3779B97F4A7C15, 0xC2B2AE3D27D4EB4F, 0x165667B19E3779F9)


def weld(points: Floats) -> tuple[Floats, Ints]:
    """The distinct points (k, 3), by first appearance, and which of them each point is (n,).

    >>> weld(np.array([[1.0, 0, 0], [2, 0, 0], [1, -0.0, 0]]))[1].tolist()
    [0, 1, 0]
    """
    points = points + 0.0  # −0 becomes 0
    key = np.zeros(len(points), np.uint64)
    for axis, spread in enumerate(_SPREAD):
        bits = np.ascontiguousarray(points[:, axis]).view(np.uint64) * np.uint64(spread)
        key ^= bits ^ (bits >> np.uint64(29 + axis))
    order = np.argsort(key)
    key = key[order]
    first, index = _numbered(order, np.concatenate([[True], key[1:] != key[:-1]]))
    if (points[first][index] == points).all():
        return points[first], index
    # two points share a key: sort by the coordinates themselves
    order = np.lexsort(points.T)
    new = (points[order][1:] != points[order][:-1]).any(axis=1)
    first, index = _numbered(order, np.concatenate([[True], new]))
    return points[first], index


def _numbered(order: Ints, new: Ints) -> tuple[Ints, Ints]:
    """Where each group of equals first appears (k,), ascending, and the group of each (n,).

    `order` has equals side by side, `new` is true where a group begins.
    """
    first = np.minimum.reduceat(order, np.flatnonzero(new))
    by_appearance = np.argsort(first)
    rank = np.empty(len(first), np.int64)
    rank[by_appearance] = np.arange(len(first))
    index = np.empty(len(order), np.int64)
    index[order] = np.repeat(rank, np.diff(np.append(np.flatnonzero(new), len(order))))
    return first[by_appearance], index


def weld_near(vertices: Floats, which: Ints, distance: float) -> Ints:
    """New vertex numbers (n,) after joining those of `which` (k,) within `distance` of each other."""
    from scipy.spatial import cKDTree

    number = np.arange(len(vertices))
    pairs = cKDTree(vertices[which]).query_pairs(distance, output_type="ndarray")
    if len(pairs):
        groups, group = connected_groups(len(which), pairs[:, 0], pairs[:, 1])
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
