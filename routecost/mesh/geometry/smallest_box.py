"""The box of least volume around a part in any orientation."""

from __future__ import annotations

import numpy as np

from routecost.core.arrays import Floats, Ints, Vector
from routecost.mesh.geometry.hull import smallest_rectangle
from routecost.mesh.geometry.vectors import rotation_to_z

FINE, COARSE = 1000, 250
"""Directions whose farthest points represent the whole: 6° apart, so that a ball comes out 0.15 % small, and 13°
to rank the first guesses. Only the axes come from them; the sides are measured on all points."""

FACETS, EDGES, FLUSH = 60, 40, 200
"""Facets and edges used for initial frames, the largest first; and pairs of edges refined."""

STARTS = 20
"""Best initial frames to refine. With 20 as with 40, 150 random hulls of 4 to 400 points gave the same in four
positions each, to 0.08 %; hulls of more than ten points to 0.02 %."""

SMALLEST_STEP_DEG = 0.01  # 0.02 mm in 100
SHRINK = 1.6  # of the step when none of 26 directions gains; the next 26 are other ones
ENOUGH = 0.01  # gain, as a share of the volume, over the square of the step in rad
_AT_ONCE = 30_000  # coordinates: they stay in the processor's cache
HOPELESS = 1.2  # times the least volume so far: no frame improves by more


def smallest_box(points: Floats) -> Vector:
    """Sides (ascending, in the points' unit) of the box of least volume around (n, 3) points that span a volume.

    Boxes flush with a facet are not enough: the smallest one around a regular tetrahedron touches it with edges
    alone, and every smallest box has two neighbouring sides flush with edges (O'Rourke, "Finding minimal
    enclosing boxes", 1985). So initial frames come from facets with edges, from pairs of edges, and from evenly
    spread axes; the best are refined by small rotations, and the final one by rotating calipers about each axis.

    >>> corners = np.array([[0.0, 0, 0], [1, 1, 0], [1, 0, 1], [0, 1, 1]])
    >>> np.round(smallest_box(corners), 6).tolist()
    [1.0, 1.0, 1.0]
    """
    points = points - points.mean(axis=0)
    some = _farthest(points, sphere_directions(FINE))
    frames = _initial_frames(some)
    frame = _best(some, _improved(some, _best_apart(_farthest(some, sphere_directions(COARSE)), frames)))
    if len(some) < len(points):
        some = np.concatenate([some, _farthest(points, _around(frame))])
    frame = _settled(some, _improved(some, frame[None])[0])
    x, y, z = sorted(float(side) for side in np.ptp(points @ frame.T, axis=0))
    return (x, y, z)


def sphere_directions(count: int) -> Floats:
    """Unit vectors spread evenly over the sphere (Fibonacci lattice), (count, 3)."""
    k = np.arange(count) + 0.5
    z = 1 - 2 * k / count
    turn = np.pi * (1 + 5**0.5) * k
    flat = np.sqrt(1 - z * z)
    return np.stack([flat * np.cos(turn), flat * np.sin(turn), z], axis=1)


def _around(frame: Floats) -> Floats:
    """Directions within about 6° of the three axes, both senses: they decide the sides of nearby boxes."""
    tilted = np.concatenate([np.zeros((1, 3)), 0.1 * sphere_directions(50), 0.03 * sphere_directions(20)])
    near = np.concatenate([axis + tilted for axis in (*frame, *-frame)])
    return np.asarray(near / np.linalg.norm(near, axis=1, keepdims=True))


def _farthest(points: Floats, directions: Floats) -> Floats:
    """The points farthest along the directions; all of them if they are few."""
    if len(points) <= len(directions):
        return points
    columns = np.ascontiguousarray(points.T)
    step = max(1, 4_000_000 // len(points))
    found = [(directions[k : k + step] @ columns).argmax(axis=1) for k in range(0, len(directions), step)]
    return np.asarray(points[np.unique(np.concatenate(found))])


def _initial_frames(points: Floats) -> Floats:
    """Frames (k, 3, 3), rows are axes."""
    from scipy.spatial import ConvexHull

    hull = ConvexHull(points, qhull_options="QJ")  # joggled: coplanar corners, which parts have, never fail
    triangles = points[hull.simplices]
    normals, edges = _facets_and_edges(triangles, hull.equations[:, :3], hull.neighbors.astype(np.int64))
    frames = [np.eye(3)[None], _frames(normals[:, None], np.cross(normals[:, None], edges[None]))]
    frames.append(_flush_with_edges(_farthest(points, sphere_directions(COARSE)), edges))
    axes = sphere_directions(300)[150:]  # half the sphere: the other half gives the same boxes
    base = np.stack([rotation_to_z(axis) for axis in axes])
    for turn in np.deg2rad(np.arange(0.0, 90.0, 9.0)):
        frames.append(_frames(axes, np.cos(turn) * base[:, 0] + np.sin(turn) * base[:, 1]))
    return np.concatenate(frames)


def _flush_with_edges(points: Floats, edges: Floats) -> Floats:
    """The best frames with the first side flush with one edge and the second with another, for each pair of edges.

    One angle is free: the rotation of the first side about its edge. It is searched on a grid, then by ever smaller
    steps from the best local minima.
    """
    # swapped, two edges give the same boxes
    a, b = np.triu_indices(len(edges), 1)
    helper = np.stack([rotation_to_z(edge)[:2] for edge in edges])

    def frames(a: Ints, b: Ints, turn: Floats) -> Floats:
        first = np.cos(turn)[:, None] * helper[a, 0] + np.sin(turn)[:, None] * helper[a, 1]
        return _frames(first, np.cross(first, edges[b]))

    step = np.deg2rad(5.0)
    grid = np.arange(0.0, np.pi - step / 2, step)
    found = np.stack([_volumes(points, frames(a, b, np.full(len(a), turn))) for turn in grid], axis=1)
    lowest = (found <= np.roll(found, 1, axis=1)) & (found <= np.roll(found, -1, axis=1))
    pair, at = np.nonzero(lowest)
    chosen = np.argsort(found[pair, at], kind="stable")[:FLUSH]
    pair, at = pair[chosen], at[chosen]
    a, b, turn, best = a[pair], b[pair], grid[at], found[pair, at]
    while step > np.deg2rad(SMALLEST_STEP_DEG):
        step /= 2
        for way in (-step, step):
            volume = _volumes(points, frames(a, b, turn + way))
            better = volume < best
            best[better], turn[better] = volume[better], turn[better] + way
    return frames(a, b, turn)


def _facets_and_edges(triangles: Floats, normals: Floats, neighbors: Ints) -> tuple[Floats, Floats]:
    """Unit normals of the largest facets and unit directions of the longest edges, each direction once."""
    size = np.linalg.norm(
        np.cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0]), axis=1
    )
    edges = np.concatenate([triangles[:, (k + 1) % 3] - triangles[:, (k + 2) % 3] for k in range(3)])
    # neighbor k lies across the edge opposite corner k; if both lie in one plane it is a diagonal, not an edge
    bend = np.concatenate([np.einsum("ij,ij->i", normals, normals[neighbors[:, k]]) for k in range(3)])
    edges = edges[bend < np.cos(np.deg2rad(1.0))]
    length = np.linalg.norm(edges, axis=1)
    edges = edges[np.argsort(-length, kind="stable")] / np.sort(length)[::-1, None]
    return _distinct(normals[np.argsort(-size, kind="stable")], FACETS), _distinct(edges, EDGES)


def _distinct(directions: Floats, most: int) -> Floats:
    """The first of each group of directions within 1° of each other, opposites counted as one."""
    chosen: list[Floats] = []
    for direction in directions[: 50 * most]:
        if not chosen or np.abs(np.array(chosen) @ direction).max() < np.cos(np.deg2rad(1.0)):
            chosen.append(direction)
            if len(chosen) == most:
                break
    return np.array(chosen).reshape(-1, 3)


def _frames(first: Floats, second: Floats) -> Floats:
    """Frames from two axes (…, 3) each, the second made perpendicular to the first (any, if parallel)."""
    first, second = (a.reshape(-1, 3) for a in np.broadcast_arrays(first, second))
    second = second - np.einsum("ij,ij->i", first, second)[:, None] * first
    size = np.linalg.norm(second, axis=1)
    for k in np.flatnonzero(size < 1e-6).tolist():
        second[k], size[k] = rotation_to_z(first[k])[0], 1.0
    second /= size[:, None]
    return np.stack([first, second, np.cross(first, second)], axis=1)


def _volumes(points: Floats, frames: Floats) -> Floats:
    """Volume of the box along each frame, (k,)."""
    columns = np.ascontiguousarray(points.T)
    step = max(1, _AT_ONCE // len(points))
    volumes = []
    for k in range(0, len(frames), step):
        along = frames[k : k + step] @ columns
        volumes.append((along.max(axis=2) - along.min(axis=2)).prod(axis=1))
    return np.concatenate(volumes)


def _best(points: Floats, frames: Floats) -> Floats:
    return np.asarray(frames[int(_volumes(points, frames).argmin())])


def _best_apart(points: Floats, frames: Floats) -> Floats:
    """The best frames that are not near each other."""
    order = np.argsort(_volumes(points, frames), kind="stable")
    chosen = [frames[order[0]]]
    for k in order[1:2000].tolist():
        # axes agree when each row of one frame lies along a row of the other
        agree = np.abs(np.array(chosen) @ frames[k].T).max(axis=2).min(axis=1)
        if agree.max() < np.cos(np.deg2rad(5.0)):
            chosen.append(frames[k])
            if len(chosen) == STARTS:
                break
    return np.stack(chosen)


def _improved(points: Floats, frames: Floats) -> Floats:
    """Each frame rotated by ever smaller steps about evenly spread axes as long as its box shrinks."""
    ways = sphere_directions(26)
    best = _volumes(points, frames)
    step = np.full(len(frames), np.deg2rad(4.0))
    round_ = 0
    while (active := (step > np.deg2rad(SMALLEST_STEP_DEG)) & (best < best.min() * HOPELESS)).any():
        which = np.flatnonzero(active)
        turned_ways = ways @ rotation_to_z(sphere_directions(97)[round_ % 97])  # other directions each time
        round_ += 1
        turns = _turns(step[which, None, None] * turned_ways)
        tried = turns @ frames[which, None]
        volumes = _volumes(points, tried.reshape(-1, 3, 3)).reshape(len(which), -1)
        way = volumes.argmin(axis=1)
        least = volumes[np.arange(len(which)), way]
        # require a gain in proportion to the step, or a valley would take very many small steps
        better = least < best[which] * (1 - ENOUGH * step[which] ** 2)
        frames[which[better]] = tried[np.flatnonzero(better), way[better]]
        best[which[better]] = least[better]
        step[which[~better]] /= SHRINK
    return frames


def _turns(vectors: Floats) -> Floats:
    """Rotation matrices (…, 3, 3) of rotation vectors (…, 3), by Rodrigues' formula."""
    angle = np.linalg.norm(vectors, axis=-1)[..., None, None]
    x, y, z = np.moveaxis(vectors / angle[..., 0], -1, 0)
    zero = np.zeros_like(x)
    skew = np.stack([zero, -z, y, z, zero, -x, -y, x, zero], axis=-1).reshape(*x.shape, 3, 3)
    return np.asarray(np.eye(3) + np.sin(angle) * skew + (1 - np.cos(angle)) * (skew @ skew))


def _settled(points: Floats, frame: Floats) -> Floats:
    """Rotated about each axis to the smallest rectangle, as long as the volume falls."""
    best = float(_volumes(points, frame[None])[0])
    waiting = 3
    while waiting:
        frame = np.roll(frame, 1, axis=0)
        waiting -= 1
        _, angle = smallest_rectangle(points @ frame[:2].T)
        c, s = np.cos(angle), np.sin(angle)
        tried = np.array([[c, s, 0.0], [-s, c, 0.0], [0.0, 0.0, 1.0]]) @ frame
        volume = float(_volumes(points, tried[None])[0])
        if volume < best * (1 - 1e-6):  # less is a zigzag along a valley
            frame, best, waiting = tried, volume, 2
    return frame
