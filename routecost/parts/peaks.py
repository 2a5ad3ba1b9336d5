"""Local tops of the material: where air is caught while the part's own volume fills upward.

A top of the *surface* is found by letting every vertex point to its highest neighbour; what flows together is
one hill. Hills that stand above the pass to a higher one by less than a tolerance are noise of the
tessellation and join it, so a plateau or a ridge counts once (topographic prominence, the persistence of
Edelsbrunner, Letscher & Zomorodian, 2002). A top of the surface is a top of the *material* only where the
material is below it: the roof of a void is none. The section just below tells: its outline encloses material
where its signed area is positive. And where bodies overlap or touch, it is none where another body goes on
above: that the columns tell.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from routecost.parts.columns import Bools, Columns
from routecost.parts.mesh import Floats, Ints, Mesh

PROMINENCE = 1e-3
"""Share of the part's diagonal that a top must stand out: 0.1 mm on 100 mm, above the facets of a usual mesh
and below a bubble that matters."""


@dataclass(frozen=True, eq=False)
class Neighbours:
    """The edges of a mesh for walking: vertex `owner[k]` has the neighbour `other[k]`, sorted by owner."""

    vertices: Ints
    """The vertices in use, (n,); the other arrays count within them."""
    faces: Ints
    owner: Ints
    other: Ints
    starts: Ints

    @classmethod
    def of(cls, mesh: Mesh) -> Neighbours:
        vertices, flat = np.unique(mesh.faces, return_inverse=True)
        faces = flat.reshape(-1, 3)
        # a closed mesh has every edge once in each direction, so half-edges alone give all neighbours
        owner, other = faces.ravel(), np.roll(faces, -1, axis=1).ravel()
        order = np.argsort(owner, kind="stable")
        starts = np.searchsorted(owner[order], np.arange(len(vertices)))
        return cls(vertices, faces, owner[order], other[order], starts)


def count_peaks(mesh: Mesh, columns: Columns, neighbours: Neighbours) -> int:
    """Tops of the material along the `up` of its columns, those on the topmost level left out."""
    height = (mesh.vertices @ columns.up)[neighbours.vertices]
    tolerance = PROMINENCE * columns.diagonal_mm
    hill, tops = _hills(height, neighbours, tolerance)
    lower = tops[height[tops] < height.max() - tolerance]
    if not len(lower):
        return 0
    if len(columns.cell) > 2 * len(columns.bottom):
        lower = lower[~_covered(columns, neighbours, height, hill, tolerance)[lower]]
    section = np.full(len(height), np.inf)
    section[lower] = height[lower] - tolerance / 2
    area = _section_areas(mesh, columns.up, neighbours, height, hill, section)
    return int(np.count_nonzero(area[lower] > 0))


def _hills(height: Floats, near: Neighbours, tolerance: float) -> tuple[Ints, Ints]:
    """The top that each vertex belongs to, and the tops that stand out by more than the tolerance."""
    order = np.argsort(height, kind="stable")
    rank = np.empty(len(height), np.int64)
    rank[order] = np.arange(len(height))
    highest = np.maximum.reduceat(rank[near.other], near.starts)
    hill = order[np.maximum(rank, highest)]
    while not np.array_equal(step := hill[hill], hill):
        hill = step

    one, two, saddle = _passes(height, hill, near)
    joined = {int(top): int(top) for top in np.unique(hill)}
    stands_out = set(joined)

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
            stands_out.discard(low)
            absorbed[low] = high
    for low in sorted(absorbed, key=lambda top: -int(rank[top])):
        absorbed[low] = absorbed.get(absorbed[low], absorbed[low])
    final = np.arange(len(height))
    if absorbed:
        final[list(absorbed)] = list(absorbed.values())
    return final[hill], np.array(sorted(stands_out), dtype=np.int64)


def _passes(height: Floats, hill: Ints, near: Neighbours) -> tuple[Ints, Ints, Floats]:
    """Pairs of hills that touch, with the height of the highest pass between them, highest first."""
    one, two = hill[near.owner], hill[near.other]
    rim = np.flatnonzero(one < two)
    one, two = one[rim], two[rim]
    saddle = np.minimum(height[near.owner[rim]], height[near.other[rim]])
    order = np.lexsort((two, one, -saddle))
    pair = one[order] * len(height) + two[order]
    first = order[np.sort(np.unique(pair, return_index=True)[1])]
    return one[first], two[first], saddle[first]


def _covered(columns: Columns, near: Neighbours, height: Floats, hill: Ints, tolerance: float) -> Bools:
    """By hill: whether another body covers some of its highest part, as far as rays met it."""
    hits = np.flatnonzero(columns.rising)
    corners = near.faces[columns.face[hits]]
    highest = corners[np.arange(len(hits)), height[corners].argmax(axis=1)]
    top, met = hill[highest], columns.height_mm[hits]
    summit = np.full(len(height), -np.inf)
    np.maximum.at(summit, top, met)
    covered = np.zeros(len(height), bool)
    covered[top[columns.inside[hits] & (met >= summit[top] - tolerance / 2)]] = True
    return covered


def _section_areas(
    mesh: Mesh, up: Floats, near: Neighbours, height: Floats, hill: Ints, section: Floats
) -> Floats:
    """Signed area, by hill, of the outline in which each hill is cut at the height `section` of its top."""
    level = section[hill]
    above = height > level
    a, b, c = above[near.faces.T]
    cut = np.flatnonzero((a | b | c) & ~(a & b & c))
    faces = near.faces[cut]
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
