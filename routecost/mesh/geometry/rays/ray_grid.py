"""Exit distances of many rays inside the material, each with its own direction.

The faces are sorted into a uniform grid of cubic cells; all rays traverse it together in numpy, skipping empty
cells. Ray columns would serve only one direction at a time, and the ray caster of manifold3d prepares the whole
body again for every ray (1 ms each at 100 000 faces).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from routecost.core.arrays import Bools, Floats, Ints
from routecost.mesh.geometry.mesh import Mesh
from routecost.mesh.geometry.rays.lattice_scan import ranges
from routecost.mesh.geometry.sampling import Tiles
from routecost.mesh.geometry.vectors import dots

LEAST_CELLS, MOST_CELLS = (
    48,
    80,
)  # per side: finer grids cost more steps than they save tests, coarser ones the reverse
CELLS_BY_FACES = 1.2  # cells per side over the cube root of the number of faces: 56 at 100 000
MOST_TILES = 400_000  # bounds time and memory for meshes of long slivers
FARTHEST_LEAP = 8  # cells: a larger search costs as much as it saves


@dataclass(frozen=True, eq=False)
class RayGrid:
    """Faces sorted into cells: those of cell c are `faces[start[c] : start[c + 1]]`."""

    mesh: Mesh
    low: Floats
    cell_mm: float
    shape: tuple[int, int, int]
    start: Ints
    faces: Ints
    least: Floats
    greatest: Floats
    """Bounds of the face normals in each cell, (3, cells)."""
    clear: NDArray[np.int8]
    """Distance in cells (Chebyshev) from each cell to the nearest one with a face; −1 in the outermost layer."""

    @classmethod
    def of(cls, mesh: Mesh) -> RayGrid:
        low, high = mesh.bounds_mm
        cells = np.clip(CELLS_BY_FACES * np.cbrt(len(mesh.faces)), LEAST_CELLS, MOST_CELLS)
        cell = float((high - low).max() / cells)
        low = low - 1.5 * cell
        nx, ny, nz = shape = tuple(np.ceil((high - low) / cell + 1.5).astype(np.int64).tolist())
        face, cells = _boxes(mesh, low, cell, shape)
        # sorted by cell; duplicates from neighbouring tiles of a face are dropped
        key = np.sort(cells * len(mesh.faces) + face)
        key = key[np.diff(key, prepend=-1) > 0]
        cells, faces = np.divmod(key, len(mesh.faces))
        count = np.bincount(cells, minlength=nx * ny * nz)
        full = np.flatnonzero(count)
        start = np.append(0, np.cumsum(count))
        least, greatest = np.zeros((2, 3, nx * ny * nz))
        for axis, along in enumerate(mesh.normals.T):
            least[axis, full] = np.minimum.reduceat(along.take(faces), start[full])
            greatest[axis, full] = np.maximum.reduceat(along.take(faces), start[full])
        clear = _clear(count.reshape(shape) > 0).ravel()
        return cls(mesh, low, cell, shape, start, faces, least, greatest, clear)

    def exits(self, origins: Floats, directions: Floats) -> Floats:
        """Distance (n,) from `origins` (n, 3) along unit `directions` (n, 3) to the first face whose normal
        points along the ray; inf for none. Origins lie in the bounding box of the mesh."""
        best = np.full(len(origins), np.inf)
        ray = np.arange(len(origins))
        # one coordinate after the other, in cells from the corner of the grid: numpy is slow with rows of three
        start = np.ascontiguousarray((origins - self.low).T) / self.cell_mm
        way = np.ascontiguousarray(np.where(directions == 0, 1e-300, directions).T)
        fastest = np.abs(way).max(axis=0)
        at = np.floor(start)
        while len(ray):
            flat = ((at[0] * self.shape[1] + at[1]) * self.shape[2] + at[2]).astype(np.int64)
            clear = self.clear.take(flat)
            full = np.flatnonzero(clear == 0)
            full = full[self._may_leave(flat[full], way[:, full])]
            np.minimum.at(best, *self._hits(ray[full], flat[full], origins, directions))
            leave = (at + (way > 0) - start) / way
            out = np.minimum(np.minimum(leave[0], leave[1]), leave[2])
            at = at + (leave == out) * np.where(way > 0, 1.0, -1.0)
            # next to a cell with faces one step, otherwise as far as the surrounding cells are empty
            leap = np.flatnonzero(clear > 1)
            far = out[leap] + (clear[leap] - 1) / fastest[leap]
            beyond = np.array(self.shape)[:, None] - 1.0
            at[:, leap] = np.minimum(np.maximum(np.floor(start[:, leap] + far * way[:, leap]), 0.0), beyond)
            # a hit beyond this cell may hide a nearer one in the next
            on = np.flatnonzero((best.take(ray) > out * self.cell_mm) & (clear >= 0))
            if len(on) < len(ray):
                ray, fastest = ray[on], fastest[on]
                at, start, way = at[:, on], start[:, on], way[:, on]
        return best

    def _may_leave(self, cell: Ints, way: Floats) -> Bools:
        """Whether a face of the cell may face along the ray, (n,); where a ray begins none does."""
        bounds = np.where(way > 0, self.greatest.take(cell, axis=1), self.least.take(cell, axis=1))
        return np.asarray((bounds * way).sum(axis=0) > 0)

    def _hits(self, ray: Ints, cell: Ints, origins: Floats, directions: Floats) -> tuple[Ints, Floats]:
        """Rays that leave through faces of their cell, and the distances.

        Möller & Trumbore, Fast, Minimum Storage Ray/Triangle Intersection, 1997.
        """
        mesh = self.mesh
        owner, place = ranges(self.start[cell], self.start[cell + 1])
        face, ray = self.faces[place], ray[owner]
        slope = dots(mesh.crosses.take(face, axis=0), directions.take(ray, axis=0))
        facing = np.flatnonzero(slope > 0)
        face, ray, slope = face[facing], ray[facing], slope[facing]
        a, b, c = (mesh.vertices.take(corner, axis=0) for corner in mesh.faces.take(face, axis=0).T)
        away = origins.take(ray, axis=0) - a
        distance = -dots(mesh.crosses.take(face, axis=0), away) / slope
        turn = np.cross(directions.take(ray, axis=0), away)
        u, v = dots(turn, c - a) / slope, -dots(turn, b - a) / slope
        slack = 1e-9  # a ray through a common edge must hit one of the two faces
        hit = (u >= -slack) & (v >= -slack) & (u + v <= 1 + slack) & (distance >= 0)
        return ray[hit], distance[hit]


def _boxes(mesh: Mesh, low: Floats, cell: float, shape: tuple[int, int, int]) -> tuple[Ints, Ints]:
    """Faces (k,) and the cells (k,) that the bounding boxes of their tiles touch."""
    tiles = Tiles.of(mesh.triangles, cell, MOST_TILES)
    middle, half = (tiles.middle - low) / cell, tiles.half_span / cell
    first = np.floor(middle - half - 1e-9).astype(np.int64).T
    span = np.floor(middle + half + 1e-9).astype(np.int64).T - first + 1
    corner = (first[0] * shape[1] + first[1]) * shape[2] + first[2]
    # each box is expanded along one axis after the other
    tile = np.arange(len(corner))
    for axis, stride in enumerate((shape[1] * shape[2], shape[2], 1)):
        count = span[axis].take(tile)
        before = np.cumsum(count) - count
        again = np.repeat(np.arange(len(tile)), count)
        corner = corner.take(again) + (np.arange(len(again)) - before.take(again)) * stride
        tile = tile.take(again)
    return tiles.owner.take(tile), corner


def _clear(full: NDArray[np.bool_]) -> NDArray[np.int8]:
    """Chebyshev distance to the nearest full cell, up to the farthest leap."""
    clear = np.zeros(full.shape, np.int8)
    for _ in range(FARTHEST_LEAP):
        clear += ~full
        for axis in range(3):
            wider = full.copy()
            to, have = np.moveaxis(wider, axis, 0), np.moveaxis(full, axis, 0)
            to[1:] |= have[:-1]
            to[:-1] |= have[1:]
            full = wider
    for axis in range(3):
        np.moveaxis(clear, axis, 0)[[0, -1]] = -1  # the outermost layer of cells is where rays end
    return clear
