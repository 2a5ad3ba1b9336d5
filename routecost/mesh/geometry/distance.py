"""Distance from points in space to the surface, and the largest ball inside the material.

A k-d tree over points on the surface finds candidate faces; the distance is then measured to those triangles, so
it does not depend on the spacing of the points. Compared with a search over all faces it is off by at most a few
thousandths of the spacing, and only near edges.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from routecost.core.arrays import Floats, Ints
from routecost.mesh.geometry.mesh import Mesh
from routecost.mesh.geometry.sampling import Tiles, sample_surface
from routecost.mesh.geometry.vectors import dots

if TYPE_CHECKING:
    from scipy.spatial import cKDTree

SPREAD_POINTS = 100_000  # a tree of this size is built in 50 ms and answers in 1–2 µs near the surface
MOST_TILES = 300_000
CANDIDATES = 3  # faces tested per point: one is inexact near edges, more than three gain nothing

BALL_STARTS = 12
BALL_WAYS = 12
BALL_SHRINKS = 10
BALL_STEPS = 40
BALL_STEP = 0.002  # of the radius: shorter ones gain nothing relevant
ENOUGH = 0.2  # of a step's length gained: less means sliding along a wall
SHORTER = 0.6  # a step after one that gained less
LAST_STEPS = 1 / (1 - SHORTER)  # total of all further steps, in lengths of this one
BALL_FINENESS = 6.0  # points on a ball's radius: keeps the approximate distance within 1 %


@dataclass(frozen=True, eq=False)
class Surface:
    """Search structure for distances: points on a mesh, the face of each, and their k-d tree."""

    triangles: Floats
    faces: Ints
    tree: cKDTree

    @classmethod
    def of(cls, mesh: Mesh) -> Surface:
        tiles = Tiles.of(mesh.triangles, float(np.sqrt(mesh.area_mm2 / SPREAD_POINTS)), MOST_TILES)
        # long slivers enlarge the tiles; points spread by area keep the gaps small
        points, faces = sample_surface(mesh, SPREAD_POINTS)
        return cls._over(mesh, np.concatenate([tiles.points, points]), np.concatenate([tiles.owner, faces]))

    @classmethod
    def rough(cls, mesh: Mesh, spacing_mm: float) -> Surface:
        """A coarser structure, for points at least several `spacing_mm` away from the surface."""
        count = int(np.clip(mesh.area_mm2 / spacing_mm**2, 4_000, SPREAD_POINTS))
        return cls._over(mesh, *sample_surface(mesh, count))

    @classmethod
    def _over(cls, mesh: Mesh, points: Floats, faces: Ints) -> Surface:
        from scipy.spatial import cKDTree

        # on points of a surface this tree is several times faster than scipy's default
        return cls(mesh.triangles, faces, cKDTree(points, balanced_tree=False, compact_nodes=False))

    def vectors_from(self, points: Floats, within_mm: float = np.inf) -> Floats:
        """Vectors (n, 3) from points (n, 3) to the nearest of the surface; inf where that is farther than
        `within_mm`, which is much faster to determine."""
        near = np.asarray(self.tree.query(points, k=CANDIDATES, distance_upper_bound=within_mm)[1])
        ways = np.full(points.shape, np.inf)
        close = near[:, 0] < self.tree.n
        near, points = near[close], points[close]
        near = np.where(near < self.tree.n, near, near[:, :1])
        best = np.full(len(points), np.inf)
        way = np.empty_like(points)
        for k in range(CANDIDATES):
            there = closest_on(self.triangles[self.faces[near[:, k]]], points) - points
            square = dots(there, there)
            closer = square < best
            best[closer], way[closer] = square[closer], there[closer]
        ways[close] = way
        return ways

    def distance(self, points: Floats) -> Floats:
        """Distance (n,) of (n, 3) points to the surface, on either side of it."""
        return np.asarray(np.linalg.norm(self.vectors_from(points), axis=1))


def largest_ball_mm(mesh: Mesh, points: Floats, inward: Floats, thickness: Floats) -> float:
    """Diameter of the largest ball in the material, found from surface `points` (n, 3), the unit normals `inward`
    (n, 3) there and the `thickness` (n,) along them.

    The search starts from the largest balls that touch the points from inside. Each centre tries steps in all
    directions except toward the nearest surface, no longer than half the radius so that it stays in the material,
    and shortens them when none gives a larger distance. The directions change from step to step, because in a
    corner only few of them gain. The result is measured against all faces.
    """
    surface = Surface.rough(mesh, float(np.sqrt(mesh.area_mm2 / 10_000)))
    radius = _touching_balls(surface, points, inward, thickness / 2)
    centres = points + radius[:, None] * inward
    picked = _apart(centres, radius)
    centres = centres[picked]
    surface = Surface.rough(mesh, float(radius.max()) / BALL_FINENESS)
    room, wall = _room(surface, centres)
    step = 0.5 * room
    rng = np.random.default_rng(0)
    for _ in range(BALL_STEPS):
        # a step gains no more than its length, and steps that fail grow shorter
        k = np.flatnonzero((step > BALL_STEP * room) & (room + LAST_STEPS * step > room.max()))
        if not len(k):
            break
        ways = rng.normal(size=(BALL_WAYS, 3))
        ways /= np.linalg.norm(ways, axis=1, keepdims=True)
        # directions toward the nearest surface gain nothing: mirrored
        toward = np.maximum(wall[k] @ ways.T, 0.0)[:, :, None]
        tried = centres[k, None] + step[k, None, None] * (ways - 2.0 * toward * wall[k, None])
        found, walls = (each.reshape(len(k), BALL_WAYS, -1) for each in _room(surface, tried.reshape(-1, 3)))
        pick = found[:, :, 0].argmax(axis=1)
        each = np.arange(len(k))
        most = found[each, pick, 0]
        better, clearly = most > room[k], most > room[k] + ENOUGH * step[k]
        centres[k[better]] = tried[each, pick][better]
        wall[k[better]] = walls[each, pick][better]
        room[k] = np.where(better, most, room[k])
        step[k] = np.where(clearly, np.minimum(step[k], 0.5 * room[k]), SHORTER * step[k])
    best = 0.0
    size = _sizes(mesh)
    for k in np.argsort(-room, kind="stable"):
        if room[k] > best * (1 + BALL_STEP):  # the distance to fewer faces is never smaller
            best = max(best, _exact(mesh, size, centres[k], room[k]))
    return 2 * best


def _room(surface: Surface, points: Floats) -> tuple[Floats, Floats]:
    """Distance (n,) to the surface, and unit vectors (n, 3) toward it."""
    ways = surface.vectors_from(points)
    room = np.sqrt(dots(ways, ways))
    return room, ways / np.maximum(room, 1e-300)[:, None]


def _sizes(mesh: Mesh) -> Floats:
    """Largest distance of the corners of each face from its centroid, (m,)."""
    away = (mesh.vertices.take(corner, axis=0) - mesh.centroids for corner in mesh.faces.T)
    a, b, c = (dots(side, side) for side in away)
    return np.asarray(np.sqrt(np.maximum(np.maximum(a, b), c)))


def _exact(mesh: Mesh, size: Floats, point: Floats, bound: float) -> float:
    """Exact distance of one point from a surface within `bound`; `size` (m,) as from `_sizes`."""
    away = mesh.centroids - point
    near = mesh.triangles[dots(away, away) <= (bound * (1 + 1e-9) + size) ** 2]
    return float(
        np.linalg.norm(closest_on(near, np.broadcast_to(point, (len(near), 3))) - point, axis=1).min()
    )


def _touching_balls(surface: Surface, points: Floats, inward: Floats, radius: Floats) -> Floats:
    """Radii (n,), to the resolution of `surface`, of the largest balls inside that touch it at the points.

    A ball shrinks until it holds no other point of the surface (Ma, Bae & Choi, 3D medial axis point
    approximation using nearest neighbors and the normal field, The Visual Computer 28, 2012).
    """
    radius = radius.copy()
    open_ = np.arange(len(points))
    for _ in range(BALL_SHRINKS):
        p, n, r = points[open_], inward[open_], radius[open_]
        away, k = surface.tree.query(p + r[:, None] * n)
        chord = surface.tree.data[k] - p
        rise = np.maximum(dots(chord, n), 1e-300)
        smaller = dots(chord, chord) / (2 * rise)
        cut = (away < 0.98 * r) & (smaller < r)
        radius[open_[cut]] = smaller[cut]
        settled = np.delete(radius, open_[cut]).max(initial=0.0)
        open_ = open_[cut]
        # only those that can still be larger than the ones found
        open_ = open_[radius[open_] * (1 + 0.5 * LAST_STEPS) > settled]
    return radius


def _apart(points: Floats, room: Floats) -> Ints:
    """Points with the largest balls, none within half the radius of a larger one."""
    picked: list[int] = []
    free = np.ones(len(points), bool)
    for k in np.argsort(-room, kind="stable"):
        if free[k]:
            picked.append(int(k))
            free &= np.linalg.norm(points - points[k], axis=1) > 0.5 * room[k]
            if len(picked) == BALL_STARTS:
                break
    return np.array(picked, dtype=np.int64)


def closest_on(triangles: Floats, points: Floats) -> Floats:
    """The point of each of (n, 3, 3) triangles that is nearest to each of (n, 3) points.

    >>> closest_on(np.array([[[0.0, 0, 0], [1, 0, 0], [0, 1, 0]]]), np.array([[0.2, -3.0, 4.0]]))
    array([[0.2, 0. , 0. ]])
    """
    a = triangles[:, 0]
    ab, ac = triangles[:, 1] - a, triangles[:, 2] - a
    ap = points - a
    aa, bb, cross = dots(ab, ab), dots(ac, ac), dots(ab, ac)
    pb, pc = dots(ap, ab), dots(ap, ac)
    area = aa * bb - cross * cross
    with np.errstate(divide="ignore", invalid="ignore"):
        v = (bb * pb - cross * pc) / area
        w = (aa * pc - cross * pb) / area
    inside = (v >= 0) & (w >= 0) & (v + w <= 1)
    rim = np.flatnonzero(~inside)  # also triangles without area
    if len(rim):
        aa, bb, cross, pb, pc = aa[rim], bb[rim], cross[rim], pb[rim], pc[rim]
        tiny = 1e-300
        on_ab = np.clip(pb / np.maximum(aa, tiny), 0, 1)
        on_ac = np.clip(pc / np.maximum(bb, tiny), 0, 1)
        side = aa - 2 * cross + bb
        on_bc = np.clip((pc - pb + aa - cross) / np.maximum(side, tiny), 0, 1)
        zero = np.zeros_like(on_ab)
        vs = np.stack([on_ab, zero, 1 - on_bc])
        ws = np.stack([zero, on_ac, on_bc])
        # squared distance minus that to corner a
        square = vs * (vs * aa - 2 * pb) + ws * (ws * bb - 2 * pc) + 2 * vs * ws * cross
        pick = square.argmin(axis=0)
        each = np.arange(len(rim))
        v[rim], w[rim] = vs[pick, each], ws[pick, each]
    return np.asarray(a + v[:, None] * ab + w[:, None] * ac)
