"""Local tops of the material: where air is caught while the part's own volume fills upward.

A top of the *surface* is found by letting every vertex point to its highest neighbour; all vertices that lead to one
top are its hill. A hill with less prominence (height above the pass to a higher one) than a tolerance is noise of the
tessellation and joins that one, so a plateau or a ridge counts once (topographic prominence, the persistence of
Edelsbrunner, Letscher & Zomorodian, 2002). A top of the surface is a top of the *material* only where the material is
below it, unlike the roof of a void: the signed area of the section just below is then positive. Where bodies overlap or
touch, ray columns show whether another one continues above.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from routecost.core.arrays import Bools, Floats, Ints
from routecost.mesh.geometry.mesh import Mesh
from routecost.mesh.geometry.rays.ray_columns import Columns
from routecost.mesh.geometry.stable_order import stable_order

PROMINENCE = 1e-3
"""Least prominence of a top as a share of the part's diagonal: 0.1 mm on 100 mm, above the facets of a usual mesh and
below a relevant bubble."""


@dataclass(frozen=True, eq=False)
class Neighbours:
    """The edges of a mesh for walking; all count within the vertices in use."""

    vertices: Ints
    """The vertices in use, (n,)."""
    corners: Ints
    """Of the faces, (3, m)."""
    edges: Ints
    """Both ends of each edge, (2, e)."""
    other: Ints
    """Vertex k has the neighbours `other[starts[k] : starts[k + 1]]`."""
    starts: Ints

    @classmethod
    def of(cls, mesh: Mesh) -> Neighbours:
        used = np.zeros(len(mesh.vertices), bool)
        used[mesh.faces.reshape(-1)] = True
        corners = (np.cumsum(used) - 1).take(mesh.faces.T)
        # a closed mesh has every edge once in each direction, so half-edges alone give all neighbours
        owner, other = corners.reshape(-1), np.roll(corners, -1, axis=0).reshape(-1)
        once = np.flatnonzero(owner < other)
        edges = np.stack([owner[once], other[once]])
        starts = np.concatenate([[0], np.cumsum(np.bincount(owner))[:-1]])
        return cls(np.flatnonzero(used), corners, edges, other[stable_order(owner)], starts)


def count_peaks(mesh: Mesh, columns: Columns, neighbours: Neighbours) -> int:
    """Tops of the material along the `up` of its columns, those on the topmost level left out."""
    height = (mesh.vertices @ columns.up)[neighbours.vertices]
    tolerance = PROMINENCE * columns.diagonal_mm
    hill, tops = hills(height, neighbours, tolerance)
    lower = tops[height[tops] < height.max() - tolerance]
    if not len(lower):
        return 0
    if len(columns.cell) > 2 * len(columns.bottom):
        lower = lower[~_covered(columns, neighbours, height, hill, tolerance)[lower]]
    return int(np.count_nonzero(over_material(mesh, columns.up, neighbours, height, hill, lower, tolerance)))


def over_material(
    mesh: Mesh, up: Floats, near: Neighbours, height: Floats, hill: Ints, tops: Ints, tolerance: float
) -> Bools:
    """Which of the `tops` of hills have material beneath them, (k,): the others are roofs of voids."""
    section = np.full(len(height), np.inf)
    section[tops] = height[tops] - tolerance / 2
    return np.asarray(_section_areas(mesh, up, near, height, hill, section)[tops] > 0)


def hills(height: Floats, near: Neighbours, tolerance: float) -> tuple[Ints, Ints]:
    """The top that each vertex belongs to, and the tops with more prominence than the tolerance."""
    order = _upward(height)
    rank = np.empty(len(height), np.int64)
    rank[order] = np.arange(len(height))
    highest = np.maximum.reduceat(rank.take(near.other), near.starts)
    hill = order.take(np.maximum(rank, highest))
    tops = np.flatnonzero(highest < rank)
    while not np.array_equal(step := hill.take(hill), hill):
        hill = step

    one, two, saddle = _passes(height, hill, near, tolerance)
    joined = {top: top for top in tops.tolist()}
    prominent = set(joined)

    def summit(top: int) -> int:
        while joined[top] != top:
            joined[top] = joined[joined[top]]
            top = joined[top]
        return top

    absorbed: dict[int, int] = {}
    for first, second, pass_height in zip(one.tolist(), two.tolist(), saddle.tolist(), strict=True):
        a, b = summit(first), summit(second)
        if a == b:
            continue
        low, high = (a, b) if rank[a] < rank[b] else (b, a)
        joined[low] = high
        if height[low] - pass_height <= tolerance:
            prominent.discard(low)
            absorbed[low] = high
    for low in sorted(absorbed, key=lambda top: -int(rank[top])):
        absorbed[low] = absorbed.get(absorbed[low], absorbed[low])
    final = np.arange(len(height))
    if absorbed:
        final[list(absorbed)] = list(absorbed.values())
    return final[hill], np.array(sorted(prominent), dtype=np.int64)


def _upward(height: Floats) -> Ints:
    """Indices that sort the heights; those equal to rounding stay in their order."""
    low, high = float(height.min()), float(height.max())
    steps = 2.0 ** (62 - len(height).bit_length())
    return stable_order(((height - low) * (steps / max(high - low, 1e-300))).astype(np.int64))


def _passes(height: Floats, hill: Ints, near: Neighbours, tolerance: float) -> tuple[Ints, Ints, Floats]:
    """Pairs of hills that touch, with the height of the highest pass between them, highest first.

    Passes by which neither hill could join the other are left out.
    """
    one, two = hill.take(near.edges)
    rim = np.flatnonzero(one != two)
    one, two = one[rim], two[rim]
    saddle = height.take(near.edges[:, rim]).min(axis=0)
    near_top = saddle >= np.minimum(height[one], height[two]) - tolerance
    one, two, saddle = one[near_top], two[near_top], saddle[near_top]
    one, two = np.minimum(one, two), np.maximum(one, two)
    order = np.lexsort((two, one, -saddle))
    pair = one[order] * len(height) + two[order]
    first = order[np.sort(np.unique(pair, return_index=True)[1])]
    return one[first], two[first], saddle[first]


def _covered(columns: Columns, near: Neighbours, height: Floats, hill: Ints, tolerance: float) -> Bools:
    """By hill: whether another hill continues above some of its highest part, as sampled by rays."""

    def hill_of(hits: Ints) -> Ints:
        corners = near.corners[:, columns.face[hits]]
        return np.asarray(hill[corners[height[corners].argmax(axis=0), np.arange(len(hits))]])

    summit = np.full(len(height), -np.inf)
    hits = np.flatnonzero(columns.rising)
    np.maximum.at(summit, hill_of(hits), columns.height_mm[hits])
    hits = hits[columns.inside[hits]]
    own, end = hill_of(hits), columns.top[np.searchsorted(columns.top, hits)]
    # a slit in a rough upright face has the same hill on both sides and is no cover
    high = columns.height_mm[hits] >= summit[own] - tolerance / 2
    covered = np.zeros(len(height), bool)
    covered[own[high & (hill_of(end) != own)]] = True
    return covered


def _section_areas(
    mesh: Mesh, up: Floats, near: Neighbours, height: Floats, hill: Ints, section: Floats
) -> Floats:
    """Signed area, by hill, of the outline in which each hill is cut at the height `section` of its top."""
    above = height > section.take(hill)
    a, b, c = above.take(near.corners)
    cut = np.flatnonzero((a | b | c) & ~(a & b & c))
    faces = near.corners[:, cut].T
    corner_above = above[faces]
    # every cut face has one edge that leaves the hill downward and one that comes back up
    each = np.arange(len(cut))
    following = np.roll(corner_above, -1, axis=1)
    leaves, returns = (corner_above & ~following).argmax(axis=1), (~corner_above & following).argmax(axis=1)
    upper, lower = faces[each, leaves], faces[each, (leaves + 1) % 3]
    back, again = faces[each, returns], faces[each, (returns + 1) % 3]
    top = hill[upper]
    points = mesh.vertices[near.vertices]

    def crossing(high: Ints, low: Ints) -> Floats:
        share = (height[high] - section[top]) / (height[high] - height[low])
        return np.asarray(points[high] + share[:, None] * (points[low] - points[high]) - points[top])

    twice = np.cross(crossing(upper, lower), crossing(again, back)) @ up
    return np.bincount(top, weights=twice, minlength=len(height)) / 2
