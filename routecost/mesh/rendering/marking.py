"""Which faces to mark in a picture: overhangs, thin walls, unreachable surface."""

from __future__ import annotations

import numpy as np

from routecost.core.arrays import Bools
from routecost.mesh.geometry.mesh import Mesh
from routecost.mesh.geometry.rays.ray_grid import RayGrid
from routecost.mesh.measuring.reach import reached

THIN_MM = 1.0
"""Walls below this are marked: two lines of a common nozzle, and what most services ask for at the least."""
FLATTER_THAN = float(np.cos(np.deg2rad(45.0)))


def marked(mesh: Mesh, name: str) -> dict[str, Bools]:
    """Marks for `picture`: faces by the name of what is asked for, `overhang`, `thin` or `unreachable`.

    Overhang in the part's own frame (+z up), faces on the bed excepted.
    """
    return {name: {"overhang": _overhang, "thin": _thin, "unreachable": _unreachable}[name](mesh)}


def _overhang(mesh: Mesh) -> Bools:
    heights = mesh.triangles[:, :, 2]
    low, high = mesh.vertices[:, 2].min(), mesh.vertices[:, 2].max()
    on_bed = heights.max(axis=1) < low + 1e-4 * (high - low)
    return np.asarray((mesh.normals[:, 2] < -FLATTER_THAN) & ~on_bed)


def _thin(mesh: Mesh) -> Bools:
    middles = mesh.triangles.mean(axis=1)
    return np.asarray(RayGrid.of(mesh).exits(middles, -mesh.normals) < THIN_MM)


def _unreachable(mesh: Mesh) -> Bools:
    return ~reached(mesh, mesh.triangles.mean(axis=1), mesh.normals)
