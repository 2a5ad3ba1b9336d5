"""The cavity of a hollow shell, and the shell as a mesh."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from routecost.core.arrays import Vector
from routecost.mesh.geometry.mesh import Mesh
from routecost.mesh.measuring.hollow import hollow
from routecost.mesh.measuring.layers import measure_layers
from routecost.mesh.measuring.measures import Cavity
from routecost.mesh.measuring.panel import largest_panel_mm
from routecost.mesh.measuring.peaks import Neighbours, hills, over_material
from routecost.mesh.measuring.walls import measure_walls

FLAT = 0.1  # of the height is no top, even where the grid is coarser sideways than a lying plate is thick
SLICES = 100  # a pour is rarely thinner than a few hundredths of the height


def measure_cavity(mesh: Mesh, wall_mm: float, up: Vector) -> Cavity:
    """The room inside a shell with walls of `wall_mm` (above 0): a true inward offset of the outer surface.

    Closed voids of the part stay closed and get a wall too. Slices count from the lowest point of the room
    along `up`, each with its mean area, so that they add up to the volume. A part too thin to have any room
    gives zeros.

    >>> corners = [[x, y, z] for x in (0, 20) for y in (0, 30) for z in (0, 40)]
    >>> box = Mesh.of(corners, [[0, 1, 3], [0, 3, 2], [4, 6, 7], [4, 7, 5], [0, 4, 5], [0, 5, 1],
    ...                         [2, 3, 7], [2, 7, 6], [0, 2, 6], [0, 6, 4], [1, 5, 7], [1, 7, 3]])
    >>> cavity = measure_cavity(box, 1.0, (0.0, 0.0, 1.0))
    >>> round(cavity.volume_mm3 / (18 * 28 * 38), 2), cavity.spaces, cavity.peaks, round(cavity.height_mm, 2)
    (1.0, 1, 1, 38.0)
    """
    room = hollow(mesh, wall_mm)
    if room.mesh is None:
        return Cavity(wall_mm, 0.0, 0, 0.0, up, 0.0, (), 0, (0.0, 0.0), 0.0)
    volume = room.mesh.volume_mm3
    panel, thickest = _pose_independent(mesh, wall_mm)
    layers = measure_layers(room.mesh, up, SLICES)
    # sections at mid-height miss the mean of their slices by little: what is poured must add up
    scale = volume / (sum(layers.area_mm2) * layers.layer_mm)
    return Cavity(
        wall_mm=wall_mm,
        volume_mm3=volume,
        spaces=room.spaces,
        height_mm=layers.layer_mm * SLICES,
        up=up,
        slice_mm=layers.layer_mm,
        area_by_height_mm2=tuple(area * scale for area in layers.area_mm2),
        peaks=_peaks(room.mesh, up, room.step_mm),
        largest_panel_mm=panel,
        thickest_mm=thickest,
    )


@lru_cache(maxsize=2)
def _pose_independent(mesh: Mesh, wall_mm: float) -> tuple[tuple[float, float], float]:
    """Largest panel and thickest section, cached because they are the same in every pose."""
    # a ball in the room with the wall around it is a ball in the part
    return largest_panel_mm(mesh, wall_mm), max(0.0, measure_walls(mesh).thickest_mm - 2 * wall_mm)


def shell_mesh(mesh: Mesh, wall_mm: float) -> Mesh:
    """The hollow shell: the part with the room inside as closed voids."""
    room = hollow(mesh, wall_mm).mesh
    if room is None:
        return mesh
    # the two surfaces lie a wall apart everywhere, so side by side they bound the shell
    faces = np.vstack([mesh.faces, room.faces[:, ::-1] + len(mesh.vertices)])
    return Mesh.of(np.vstack([mesh.vertices, room.vertices]), faces)


def _peaks(room: Mesh, up: Vector, ripple_mm: float) -> int:
    """Local tops of the cavity with more prominence than the ripple of the grid."""
    unit = np.asarray(up, dtype=np.float64) / np.linalg.norm(up)
    near = Neighbours.of(room)
    height = (room.vertices @ unit)[near.vertices]
    ripple = min(ripple_mm, FLAT * float(np.ptp(height)))
    hill, tops = hills(height, near, ripple)
    # tops of solid islands inside the room do not count: their section is wound the other way
    return int(np.count_nonzero(over_material(room, unit, near, height, hill, tops, ripple)))
