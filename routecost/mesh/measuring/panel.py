"""The flat wall panel that bulges most under the pressure of a liquid."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from routecost.core.arrays import Floats, Ints
from routecost.mesh.geometry.connected import connected_groups
from routecost.mesh.geometry.mesh import Mesh
from routecost.mesh.geometry.vectors import dots, rotation_to_z

if TYPE_CHECKING:
    import manifold3d

FLAT_DEG = 0.1
"""Faces that meet flatter than this are one plane: above the rounding of a mesh file, below any facet."""
WARP = 2e-3
"""Share of its size by which a group of such faces may deviate from a plane; a finely meshed curve deviates more."""
GROUPS = 8  # largest by area: the panel that bulges most is one of them on any part worth filling
HALVINGS = 24


def largest_panel_mm(mesh: Mesh, wall_mm: float) -> tuple[float, float]:
    """Short and long side of the flat panel of the shell that bulges most, (0, 0) if none is flat.

    A panel is a flat piece of the outside, less the wall all around, where the walls beside it hold it. The
    short side is the diameter of the largest circle in it and the long side its area over the short side, so a
    rectangle has its sides, a ring its breadth and length; a disc counts as the square around it. The bulge of a
    clamped plate goes with 1/(short⁻⁴ + long⁻⁴), which ranks panels (exact for a square and a strip up to
    one factor, Roark's Formulas for Stress and Strain, table of clamped rectangular plates, within 5 %).
    """
    sizes = [
        _sides(piece)
        for faces in _flat_groups(mesh)
        for piece in _outline(mesh, faces).offset(-wall_mm, _miter(), 2.0).decompose()
    ]
    return max((s for s in sizes if s[0] > 0), key=_bulge, default=(0.0, 0.0))


def _bulge(sides: tuple[float, float]) -> float:
    return float(1 / (sides[0] ** -4 + sides[1] ** -4))


def _flat_groups(mesh: Mesh) -> list[Ints]:
    """The largest groups of neighbouring faces that lie in one plane."""
    one, two = (half_edge // 3 for half_edge in mesh.edges.twins)
    level = dots(mesh.normals[one], mesh.normals[two]) > np.cos(np.deg2rad(FLAT_DEG))
    number, group = connected_groups(len(mesh.faces), one[level], two[level])
    area = np.bincount(group, mesh.face_areas_mm2, number)
    groups = (np.flatnonzero(group == k) for k in np.argsort(-area, kind="stable")[:GROUPS])
    return [faces for faces in groups if _is_flat(mesh, faces)]


def _is_flat(mesh: Mesh, faces: Ints) -> bool:
    points = mesh.triangles[faces].reshape(-1, 3)
    heights = points @ _normal(mesh, faces)
    return bool(np.ptp(heights) <= WARP * np.linalg.norm(np.ptp(points, axis=0)))


def _normal(mesh: Mesh, faces: Ints) -> Floats:
    total = mesh.face_areas_mm2[faces] @ mesh.normals[faces]
    return np.asarray(total / max(float(np.linalg.norm(total)), 1e-300))


def _outline(mesh: Mesh, faces: Ints) -> manifold3d.CrossSection:
    """Projection of the faces onto their plane."""
    from manifold3d import CrossSection, FillRule

    plane = rotation_to_z(_normal(mesh, faces))[:2]
    corners = (mesh.triangles[faces] - mesh.triangles[faces[0], 0]) @ plane.T
    # offsets of outlines with thousands of corners are slow
    fine = WARP * float(np.ptp(corners, axis=(0, 1)).min())
    return CrossSection(list(corners), FillRule.NonZero).simplify(fine)


def _miter() -> manifold3d.JoinType:
    from manifold3d import JoinType

    return JoinType.Miter


def _sides(figure: manifold3d.CrossSection) -> tuple[float, float]:
    low, high = 0.0, float(np.sqrt(figure.area() / np.pi))  # no larger circle has room
    for _ in range(HALVINGS):
        radius = (low + high) / 2
        low, high = (low, radius) if figure.offset(-radius, _miter(), 2.0).is_empty() else (radius, high)
    short = 2 * low
    return short, max(short, figure.area() / short) if short > 0 else 0.0
