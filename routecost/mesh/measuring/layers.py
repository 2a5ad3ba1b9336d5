"""Area, perimeter and islands of a part's layers, straight from where triangles cross planes; no polygons.

A vertex that lies on a plane counts as above it. With this one rule every triangle crosses a plane in two
points or none, neighbours agree, and a face that lies in a plane belongs to the layer beneath it, so
that the crossings always close into loops with the material on their left.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from routecost.core.arrays import Floats, Ints, Vector
from routecost.mesh.geometry.connected import connected_groups
from routecost.mesh.geometry.mesh import Mesh
from routecost.mesh.geometry.rays.lattice_scan import ranges
from routecost.mesh.measuring.measures import Layers

# Crossings held in memory at a time: about 200 MB of working arrays
BLOCK = 2_000_000

# As a share of a layer: far above the rounding of a rotated part, far below a relevant height
HAIR = 1e-7

# A loop encloses an island from this share of the part's shadow on; below it is rounding noise
LEAST_LOOP = 1e-12


def measure_layers(mesh: Mesh, up: Vector, count: int) -> Layers:
    """Sections square to `up` at the mid-heights of `count` equal layers, lowest first.

    `height_mm` is counted from the part's lowest point along `up`. Area (mm²) and perimeter (mm, the
    outlines of holes included) are exact for the mesh; islands are the separate pieces of a section, and
    holes are not islands. The sum of area × layer converges on the volume: as the square of the layer, but for
    flat faces, which fall on one layer or the next.

    >>> box = Mesh.of([[x, y, z] for x in (0, 2) for y in (0, 3) for z in (0, 4)],
    ...               [[0, 1, 3], [0, 3, 2], [4, 6, 7], [4, 7, 5], [0, 4, 5], [0, 5, 1],
    ...                [2, 3, 7], [2, 7, 6], [0, 2, 6], [0, 6, 4], [1, 5, 7], [1, 7, 3]])
    >>> layers = measure_layers(box, (0, 0, 1), 2)
    >>> layers.height_mm, layers.area_mm2, layers.perimeter_mm, layers.islands
    ((1.0, 3.0), (6.0, 6.0), (10.0, 10.0), (1, 1))
    """
    points = oriented_points(mesh, up)
    layer, heights = mid_heights(points, count)
    chosen, nodes = _sample_planes(points[:, 2], heights)
    area, perimeter, islands = _measure_planes(points, mesh.faces, heights[chosen])
    area, perimeter = _through_nodes(heights, heights[chosen], nodes, np.stack([area, perimeter]))
    islands = islands[nodes[:, 0]]
    return Layers(
        up=up,
        layer_mm=layer,
        height_mm=tuple(((np.arange(count) + 0.5) * layer).tolist()),
        area_mm2=tuple(area.tolist()),
        perimeter_mm=tuple(perimeter.tolist()),
        islands=tuple(islands.tolist()),
    )


def oriented_points(mesh: Mesh, up: Vector) -> Floats:
    """Vertices (n, 3) rotated so that `up` is +z, the lowest at z = 0, centred in x and y."""
    points = np.array(mesh.oriented(up).vertices)
    low, high = points.min(axis=0), points.max(axis=0)
    points -= (0.5 * (low[0] + high[0]), 0.5 * (low[1] + high[1]), low[2])
    return points


def mid_heights(points: Floats, count: int) -> tuple[float, Floats]:
    """Thickness of `count` equal layers, and the heights to cut them at: a hair below their middles.

    So a flat face at mid-height belongs to the layer beneath it whatever the rounding.
    """
    layer = float(points[:, 2].max()) / count
    return layer, np.asarray((np.arange(count) + 0.5 - HAIR) * layer, dtype=np.float64)


def crossings(points: Floats, faces: Ints, heights: Floats) -> Iterator[tuple[Ints, Ints, Ints, Floats]]:
    """Where triangles cross the planes z = `heights` (ascending), in blocks of whole planes.

    Each block is (plane, start, end, xy): segment i lies in plane `plane[i]` and runs from `xy[start[i]]` to
    `xy[end[i]]` with the material on its left. Neighbouring triangles share the very same crossing point.
    """
    # number of planes that a vertex is above: it is above plane k if and only if k < level
    level = np.searchsorted(heights, points[:, 2], side="right")
    edges, edge_of = _edges(faces, len(points))
    face_level = level[faces]
    low, high = face_level.min(axis=1), face_level.max(axis=1)
    per_plane = np.cumsum(
        np.bincount(low, minlength=len(heights) + 1) - np.bincount(high, minlength=len(heights) + 1)
    )
    for first, last in _blocks(per_plane[: len(heights)]):
        inside = np.flatnonzero((low < last) & (high > first))
        face, plane = ranges(np.clip(low[inside], first, last), np.clip(high[inside], first, last))
        face = inside[face]

        ends = np.clip(level[edges], first, last)
        edge_low, edge_high = ends.min(axis=1), ends.max(axis=1)
        node_edge, node_plane = ranges(edge_low, edge_high)
        first_node = np.cumsum(edge_high - edge_low) - (edge_high - edge_low)

        above = plane[:, None] < level[faces[face]]
        after = np.roll(above, -1, axis=1)
        node = first_node[edge_of[face]] + plane[:, None] - edge_low[edge_of[face]]
        start = np.where(above & ~after, node, 0).sum(axis=1)
        end = np.where(~above & after, node, 0).sum(axis=1)

        a, b = points[edges[node_edge, 0]], points[edges[node_edge, 1]]
        share = (heights[node_plane] - a[:, 2]) / (b[:, 2] - a[:, 2])
        yield plane, start, end, a[:, :2] + share[:, None] * (b[:, :2] - a[:, :2])


def _measure_planes(points: Floats, faces: Ints, heights: Floats) -> tuple[Floats, Floats, Ints]:
    """Area, perimeter and islands of the sections at `heights`."""
    count = len(heights)
    area, perimeter = np.zeros(count), np.zeros(count)
    islands = np.zeros(count, dtype=np.int64)
    least = LEAST_LOOP * float(np.prod(np.ptp(points[:, :2], axis=0)))
    for plane, start, end, xy in crossings(points, faces, heights):
        a, b = xy[start], xy[end]
        area_of = 0.5 * (a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0])
        area += np.bincount(plane, area_of, count)
        perimeter += np.bincount(plane, np.hypot(*(b - a).T), count)
        islands += _islands(plane, start, end, len(xy), area_of, least, count)
    return area, perimeter, islands


def _sample_planes(z: Floats, heights: Floats) -> tuple[Ints, Ints]:
    """Planes to cut at, and for every plane the three of them (n, 3) from which it is interpolated.

    Between heights without a vertex the section has the same corners: its area is quadratic in height, its
    perimeter linear, its islands constant. So three planes define such a range, which saves time on finely
    faceted upright walls, whose long triangles cross every plane.
    """
    count = len(heights)
    change = np.bincount(np.searchsorted(heights, z, side="right"), minlength=count + 1)[1:count] > 0
    first = np.flatnonzero(np.concatenate([[True], change]))
    last = np.append(first[1:], count) - 1
    three = np.stack([first, (first + last) // 2, last], axis=1)
    chosen = np.unique(three)
    return chosen, np.repeat(np.searchsorted(chosen, three), last - first + 1, axis=0)


def _through_nodes(heights: Floats, at: Floats, nodes: Ints, values: Floats) -> Floats:
    """Quadratics through three nodes each (two or one where nodes coincide); `values` (k, nodes)."""
    h0, h1, h2 = at[nodes].T
    v0, v1, v2 = (values[:, column] for column in nodes.T)

    def slope(va: Floats, vb: Floats, ha: Floats, hb: Floats) -> Floats:
        return np.divide(vb - va, hb - ha, out=np.zeros_like(va), where=np.broadcast_to(hb > ha, va.shape))

    first = slope(v0, v1, h0, h1)
    # two planes only: the middle one is the first
    rise = np.where(h1 > h0, first, slope(v0, v2, h0, h2))
    bend = np.where(h1 > h0, slope(first, slope(v1, v2, h1, h2), h0, h2), 0.0)
    return np.asarray(v0 + (heights - h0) * (rise + (heights - h1) * bend))


def _islands(
    plane: Ints, start: Ints, end: Ints, nodes: int, area_of: Floats, least: float, count: int
) -> Ints:
    """Loops around material, by plane: a loop around a hole runs the other way, its area is negative."""
    if len(start) == 0:
        return np.zeros(count, dtype=np.int64)
    loops, loop_of = connected_groups(nodes, start, end)
    loop_area = np.bincount(loop_of[start], area_of, loops)
    plane_of = np.zeros(loops, dtype=np.int64)
    plane_of[loop_of[start]] = plane
    return np.bincount(plane_of[loop_area > least], minlength=count)


def _edges(faces: Ints, points: int) -> tuple[Ints, Ints]:
    """Edges (e, 2) once each, and for every face its three: corner 0 to 1, 1 to 2, 2 to 0."""
    a, b = faces, np.roll(faces, -1, axis=1)
    key, edge_of = np.unique(np.minimum(a, b) * points + np.maximum(a, b), return_inverse=True)
    return np.stack([key // points, key % points], axis=1), edge_of.reshape(-1, 3)


def _blocks(per_plane: Ints) -> Iterator[tuple[int, int]]:
    """Ranges of planes with at most BLOCK crossings each, or one plane."""
    total = np.cumsum(per_plane)
    first = 0
    while first < len(per_plane):
        done = int(total[first - 1]) if first else 0
        last = max(first + 1, int(np.searchsorted(total, done + BLOCK, side="right")))
        yield first, last
        first = last
