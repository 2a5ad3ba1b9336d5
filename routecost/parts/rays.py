"""Where many rays inside the material, each with its own direction, leave it.

A uniform grid of cubic cells holds the faces; all rays walk it at once, cell by cell, in plain numpy. Columns
(rays along one direction) would answer only one normal at a time, and the ray caster of manifold3d prepares
the whole body anew for every ray (1 ms each at 100 000 faces).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from routecost.parts.mesh import Floats, Ints, Mesh
from routecost.parts.sampling import Tiles

CELLS_A_SIDE = 80  # finer costs more steps than it saves tests, coarser the other way, up to a million faces
MOST_TILES = 400_000  # bounds time and memory when a mesh is all long slivers


@dataclass(frozen=True, eq=False)
class RayGrid:
    """Faces sorted into cells: those of cell c are `faces[start[c] : start[c + 1]]`."""

    low: Floats
    cell_mm: float
    shape: Ints
    start: Ints
    faces: Ints
    normals: Floats
    frames: Floats
    """(m, 3, 4) affine maps of a point: height over the face's plane, and its barycentric u and v."""

    @classmethod
    def of(cls, mesh: Mesh) -> RayGrid:
        low, high = mesh.bounds_mm
        cell = float((high - low).max()) / CELLS_A_SIDE
        low = low - 0.5 * cell
        shape = np.ceil((high - low) / cell + 0.5).astype(np.int64)
        tiles = Tiles.of(mesh.triangles, cell, MOST_TILES)
        tile, at = _boxes(tiles, low, cell)
        face = tiles.owner[tile]
        normal = mesh.normals[face]
        off = np.einsum("ij,ij->i", normal, low + (at + 0.5) * cell - mesh.triangles[face, 0])
        near = np.abs(off) <= 0.5 * cell * np.abs(normal).sum(axis=1) * (1 + 1e-6)
        # one sort orders by cell and drops the twins that neighbouring tiles of a face leave
        key = np.sort(_flat(at[near], shape) * len(mesh.faces) + face[near])
        key = key[np.diff(key, prepend=-1) > 0]
        cells, faces = np.divmod(key, len(mesh.faces))
        start = np.searchsorted(cells, np.arange(int(shape.prod()) + 1)).astype(np.int64)
        return cls(low, cell, shape, start, faces, mesh.normals, _frames(mesh))

    def exits(self, origins: Floats, directions: Floats) -> Floats:
        """Distance (n,) from `origins` (n, 3) along unit `directions` (n, 3) to the first face that looks the
        ray's way; inf for none. Origins lie in the mesh's box."""
        best = np.full(len(origins), np.inf)
        ray = np.arange(len(origins))
        at = np.floor((origins - self.low) / self.cell_mm).astype(np.int64)
        at = np.clip(at, 0, self.shape - 1)
        step = np.where(directions < 0, -1, 1)
        wall = self.low + (at + (step > 0)) * self.cell_mm
        with np.errstate(divide="ignore", invalid="ignore"):
            leave = np.where(directions == 0, np.inf, (wall - origins) / directions)
            stride = self.cell_mm / np.abs(directions)
        while len(ray):
            which, hit = self._hits(ray, _flat(at, self.shape), origins, directions)
            np.minimum.at(best, which, hit)
            axis = leave.argmin(axis=1)
            rows = np.arange(len(ray))
            out = leave[rows, axis]
            at[rows, axis] += step[rows, axis]
            leave[rows, axis] += stride[rows, axis]
            # a hit beyond this cell may hide a nearer one in the next
            on = (best[ray] > out) & ((at >= 0) & (at < self.shape)).all(axis=1)
            if not on.all():
                ray, at, step, leave, stride = ray[on], at[on], step[on], leave[on], stride[on]
        return best

    def _hits(self, ray: Ints, cell: Ints, origins: Floats, directions: Floats) -> tuple[Ints, Floats]:
        """Rays and the distances at which they leave through faces of their cell."""
        count = self.start[cell + 1] - self.start[cell]
        first = np.cumsum(count) - count
        face = self.faces[np.repeat(self.start[cell] - first, count) + np.arange(int(count.sum()))]
        ray = np.repeat(ray, count)
        slope = np.einsum("ij,ij->i", self.normals[face], directions[ray])
        facing = slope > 0
        face, ray, slope = face[facing], ray[facing], slope[facing]
        frame = self.frames[face]
        distance = -_apply(frame[:, 0], origins[ray]) / slope
        point = origins[ray] + distance[:, None] * directions[ray]
        u, v = _apply(frame[:, 1], point), _apply(frame[:, 2], point)
        slack = 1e-9  # a ray through a common edge must hit one of the two faces
        hit = (u >= -slack) & (v >= -slack) & (u + v <= 1 + slack) & (distance >= 0)
        return ray[hit], distance[hit]


def _frames(mesh: Mesh) -> Floats:
    """Precomputed intersection after Baldwin & Weber, Fast Ray-Triangle Intersections by Coordinate
    Transformation, JCGT 5(3), 2016."""
    a, b, c = mesh.triangles[:, 0], mesh.triangles[:, 1], mesh.triangles[:, 2]
    normal = mesh.normals
    twice = np.maximum(2 * mesh.face_areas_mm2, 1e-300)[:, None]
    rows = np.stack([normal, np.cross(c - a, normal) / twice, np.cross(normal, b - a) / twice], axis=1)
    return np.concatenate([rows, -np.einsum("ijk,ik->ij", rows, a)[:, :, None]], axis=2)


def _apply(maps: Floats, points: Floats) -> Floats:
    return np.asarray(np.einsum("ij,ij->i", maps[:, :3], points) + maps[:, 3])


def _boxes(tiles: Tiles, low: Floats, cell: float) -> tuple[Ints, Ints]:
    """The cells (k, 3) that the tiles' bounding boxes touch, and the tile (k,) each belongs to."""
    first = np.floor((tiles.middle - tiles.half_span - low) / cell - 1e-9).astype(np.int64)
    span = np.floor((tiles.middle + tiles.half_span - low) / cell + 1e-9).astype(np.int64) - first + 1
    count = span.prod(axis=1)
    tile = np.repeat(np.arange(len(count)), count)
    k = np.arange(len(tile)) - (np.cumsum(count) - count)[tile]
    k, z = np.divmod(k, span[tile, 2])
    x, y = np.divmod(k, span[tile, 1])
    return tile, first[tile] + np.stack([x, y, z], axis=1)


def _flat(at: Ints, shape: Ints) -> Ints:
    return np.asarray((at[:, 0] * shape[1] + at[:, 1]) * shape[2] + at[:, 2])
