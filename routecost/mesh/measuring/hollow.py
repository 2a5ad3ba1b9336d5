"""The cavity of a shell: all points of the material farther from the surface than the wall.

This is a true inward offset. The distance to the surface is exact, so flat and evenly curved walls come out
exact on any grid, and only the sharp edges of the room are cut off by a fraction of a step. Sums of balls over
faces (Minkowski differences) would be exact too, but take minutes at a thousand faces.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from routecost.core.arrays import Bools, Floats, Ints
from routecost.mesh.geometry.distance import Surface
from routecost.mesh.geometry.isosurface import NEIGHBOURS, corner_nodes, mixed_cells, zero_surface
from routecost.mesh.geometry.mesh import Mesh
from routecost.mesh.geometry.rays.lattice_scan import scan
from routecost.mesh.geometry.sampling import sample_surface

SURFACE_NODES = 25_000  # grid squares on the surface: volumes to about 0.1 %, in a second
THIN_NODES = 100_000  # the same where walls leave a thin gap only
MOST_NODES = 24_000_000  # of the whole grid: bounds memory to some 300 MB
LEAST_LAYERS = 16  # across the part, so that a plate is resolved too
SLIVER = 0.25
"""Rooms that hold no ball of this many steps across are noise of the grid."""
SIMPLER = 0.01
"""Share of a step by which the surface may be simplified to save triangles: 0.01 % of the volume."""
BENT = 0.98
"""Between nodes whose nearest surface lies in directions with a smaller cosine, distance is not a straight line."""


@dataclass(frozen=True, eq=False)
class Grid:
    """Nodes at `origin_mm` + i · `steps_mm`; the last axis is square to the largest walls of the part."""

    origin_mm: Floats
    steps_mm: Floats
    shape: tuple[int, int, int]

    @classmethod
    def over(cls, mesh: Mesh, wall_mm: float) -> Grid:
        """A grid that rotates with the part, with a margin of nodes outside."""
        axes = _axes(mesh)
        along = mesh.vertices @ axes.T
        low, high = along.min(axis=0), along.max(axis=0)
        size = high - low
        step = max(np.sqrt(mesh.area_mm2 / SURFACE_NODES), np.cbrt(size.prod() / MOST_NODES))
        gap = 2 * mesh.volume_mm3 / mesh.area_mm2 - 2 * wall_mm  # left in a wall of mean thickness
        if gap < 2 * step <= size.min() / LEAST_LAYERS * 2:
            step = max(gap / 2, np.sqrt(mesh.area_mm2 / THIN_NODES), np.cbrt(size.prod() / MOST_NODES))
        steps = np.minimum(step, size / LEAST_LAYERS)
        shape = np.ceil(size / steps).astype(np.int64) + 3
        first = (low + high) / 2 - (shape - 1) / 2 * steps
        nx, ny, nz = shape.tolist()
        return cls(first @ axes, axes * steps[:, None], (nx, ny, nz))

    @property
    def step_mm(self) -> Floats:
        return np.asarray(np.linalg.norm(self.steps_mm, axis=1))

    def points(self, nodes: Ints) -> Floats:
        """Places (k, 3) of flat node numbers (k,)."""
        return self.origin_mm + np.stack(np.unravel_index(nodes, self.shape), axis=1) @ self.steps_mm

    def inside(self, mesh: Mesh) -> Bools:
        """Which nodes lie in the material."""
        step = self.step_mm
        u, v, w = ((mesh.vertices - self.origin_mm) @ (self.steps_mm / step[:, None] ** 2).T).T
        ix, iy, height, rising, _ = scan(mesh.faces, u, v, w)
        change = np.zeros(self.shape, np.int16)
        np.add.at(change, (ix, iy, np.ceil(height).astype(np.int64)), np.where(rising, -1, 1))
        return np.asarray(np.cumsum(change, axis=2, dtype=np.int16) > 0)


@dataclass(frozen=True, eq=False)
class Hollow:
    """The room inside a shell, in the part's own frame."""

    mesh: Mesh | None
    """Its surface, as a body; none where no room is left."""
    spaces: int
    """Separate rooms."""
    step_mm: float
    """Largest step of the grid: smaller ripples of the surface mean nothing."""


@lru_cache(maxsize=2)
def hollow(mesh: Mesh, wall_mm: float) -> Hollow:
    """The room inside a shell with walls of `wall_mm` (above 0). Cached, because every pose needs it.

    Volumes come out to about 0.1 %. Gaps between walls are resolved down to the step of the grid, about 1/100 of
    the part's size, and in the thin direction of a plate down to a hundredth of its thickness.
    """
    grid = Grid.over(mesh, wall_mm)
    step = grid.step_mm
    surface = Surface.of(mesh)
    room = _room(surface, grid, grid.inside(mesh), wall_mm)
    spaces = _drop_specks(room.values, SLIVER * float(step.min()) / 2)
    body = _body(surface, grid, room, wall_mm) if spaces else None
    return Hollow(body, spaces, float(step.max()))


@dataclass(frozen=True, eq=False)
class _Room:
    """What is left beyond the wall, in mm, at the nodes (nx, ny, nz) of a grid: positive inside the room.

    Exact where a neighbour is on the other side; elsewhere it says no more than the side. Where it is exact the
    unit vector to the nearest surface is known too, by flat number of the node.
    """

    values: NDArray[np.float32]
    nodes: Ints
    toward: NDArray[np.float32]

    def directions(self, nodes: Ints) -> NDArray[np.float32]:
        return self.toward[np.searchsorted(self.nodes, nodes)]


def _body(surface: Surface, grid: Grid, room: _Room, wall: float) -> Mesh:
    a, b, faces = zero_surface(room.values)
    va, vb = (room.values.ravel()[nodes].astype(np.float64) for nodes in (a, b))
    share = va / (va - vb)
    near, far = grid.points(a), grid.points(b)
    # across a ridge between two walls one more distance locates the zero
    bent = np.flatnonzero(np.einsum("ij,ij->i", room.directions(a), room.directions(b)) < BENT)
    found = surface.distance(near[bent] + share[bent, None] * (far - near)[bent]) - wall
    s, va, vb = share[bent], va[bent], vb[bent]
    beyond = (found > 0) == (va > 0)
    va, vb = np.where(beyond, found, va), np.where(beyond, vb, found)
    start, stop = np.where(beyond, s, 0.0), np.where(beyond, 1.0, s)
    share[bent] = start + (stop - start) * va / (va - vb)
    body = Mesh.of(near + share[:, None] * (far - near), faces)
    # flat walls need few triangles, and every pose uses this mesh
    return Mesh.from_manifold(body.manifold().simplify(SIMPLER * float(grid.step_mm.min())))


def _axes(mesh: Mesh) -> Floats:
    """Rows: the last is square to the largest walls, the others at 22.5° to what is largest across it.

    Walls along a grid would all fall between the same nodes.
    """
    _, faces = sample_surface(mesh, 1000)
    normals = mesh.normals[faces]

    def commonest(vectors: Floats) -> Floats:
        # a high power counts what lies within some 10°
        return np.asarray(vectors[int((np.abs(vectors @ normals.T) ** 64).sum(axis=1).round(6).argmax())])

    z = commonest(normals)
    across = normals - (normals @ z)[:, None] * z
    length = np.linalg.norm(across, axis=1)
    upright = across[length > 0.5] / length[length > 0.5, None]
    other = np.eye(3)[np.abs(z).argmin()]
    x = commonest(upright) if len(upright) else other - (other @ z) * z
    x = x / np.linalg.norm(x)
    y = np.cross(z, x)
    c, s = np.cos(np.pi / 8), np.sin(np.pi / 8)
    return np.stack([c * x + s * y, c * y - s * x, z])


def _room(surface: Surface, grid: Grid, inside: Bools, wall: float) -> _Room:
    """Distance to the surface less the wall.

    Distance changes no faster than the place, so one distance settles a whole block of nodes away from the
    boundary: blocks of 4³ first, then 2³, then single nodes.
    """
    shape = np.array(inside.shape)
    diagonal = float(np.linalg.norm(grid.step_mm))
    values = np.full(inside.size, -np.inf, np.float32)
    known = np.zeros(inside.size, bool)
    material = inside.ravel()
    asked: list[Ints] = []
    toward: list[NDArray[np.float32]] = []

    def ask(nodes: Ints, margin: float) -> Floats:
        # points of the surface may be a little farther than the surface
        ways = surface.vectors_from(grid.points(nodes), within_mm=wall + margin + diagonal)
        away = np.linalg.norm(ways, axis=1)
        found: Floats = np.where(material[nodes], away, -away) - wall
        values[nodes] = found
        near = np.isfinite(away)
        known[nodes[near]] = True
        asked.append(nodes[near])
        toward.append((ways[near] / np.maximum(away[near], 1e-12)[:, None]).astype(np.float32))
        return found

    def flat(at: Ints) -> Ints:
        return np.asarray(np.ravel_multi_index(tuple(at.T), inside.shape), dtype=np.int64)

    blocks = _with_material(inside, 4)
    for side in (4, 2):
        found = ask(flat(np.minimum(blocks + side // 2, shape - 1)), side / 2 * diagonal)
        settled = np.abs(found) > side / 2 * diagonal
        for offset in np.ndindex(side, side, side):
            at = blocks[settled] + offset
            there = (at < shape).all(axis=1)
            nodes = flat(at[there])
            free = ~known[nodes]
            values[nodes[free]] = np.where(found[settled][there][free] > 0, np.inf, -np.inf)
        corners = np.array(list(np.ndindex(2, 2, 2))) * (side // 2)
        blocks = (blocks[~settled][:, None] + corners).reshape(-1, 3)
        blocks = blocks[(blocks < shape).all(axis=1)]
    single = flat(blocks)
    ask(single[material[single] & ~known[single]], diagonal)
    cells, _ = mixed_cells(values.reshape(inside.shape) > 0)
    nodes = np.unique(corner_nodes(cells, inside.shape))
    ask(nodes[~known[nodes]], np.inf)
    every = np.concatenate(asked)
    order = np.argsort(every, kind="stable")
    return _Room(values.reshape(inside.shape), every[order], np.concatenate(toward)[order])


def _with_material(inside: Bools, side: int) -> Ints:
    """Lowest nodes (k, 3) of the blocks of `side`³ nodes that have any in the material."""
    padded = np.pad(inside, [(0, -n % side) for n in inside.shape])
    blocks = padded.reshape([k for n in padded.shape for k in (n // side, side)]).any(axis=(1, 3, 5))
    return np.argwhere(blocks) * side


def _drop_specks(values: NDArray[np.float32], least: float) -> int:
    """Number of connected rooms; those that hold no ball of radius `least` are made wall, in place."""
    from scipy import ndimage

    labels, count = ndimage.label(values > 0, structure=NEIGHBOURS)
    nodes = np.flatnonzero(labels)
    label = labels.ravel()[nodes]
    room = np.zeros(count + 1)
    np.maximum.at(room, label, values.ravel()[nodes])
    values.ravel()[nodes[room[label] <= least]] = -1e-6
    return int((room > least).sum())
