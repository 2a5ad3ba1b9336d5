"""Outlines along a direction, against closed forms; pockets against what was cut."""

from __future__ import annotations

from math import pi

import manifold3d
import numpy as np
import pytest

from routecost.mesh.geometry.mesh import Mesh
from routecost.mesh.measuring.silhouette import measure_silhouette
from tests.mesh import shapes

UP = (0.0, 0.0, 1.0)


@pytest.mark.parametrize("up", [UP, (1.0, 0.0, 0.0), (0.3, -0.5, 0.8)])
def test_a_ball_is_a_disc_from_everywhere(up: tuple[float, float, float]) -> None:
    seen = measure_silhouette(shapes.sphere(20.0), up)
    assert seen.area_mm2 == pytest.approx(pi * 20**2, rel=1e-3)
    assert seen.outline_mm == pytest.approx(2 * pi * 20, rel=1e-3)
    assert seen.pocket_mm2 == 0.0
    # cut 0.4 mm under the top, a circle of radius sqrt(20² - 19.6²)
    assert seen.face_outline_mm == pytest.approx(2 * pi * (20**2 - 19.6**2) ** 0.5, rel=0.01)


def test_a_hole_right_through_has_an_outline_and_is_no_pocket() -> None:
    seen = measure_silhouette(shapes.tube(20.0, 10.0, 30.0), UP)
    assert seen.area_mm2 == pytest.approx(pi * (20**2 - 10**2), rel=1e-3)
    assert seen.outline_mm == pytest.approx(2 * pi * (20 + 10), rel=1e-3)
    assert seen.face_outline_mm == pytest.approx(2 * pi * (20 + 10), rel=1e-3)
    assert seen.pocket_mm2 == 0.0


@pytest.mark.parametrize("depth", [2.0, 9.0])
def test_a_blind_hole_is_a_pocket_from_above_and_nothing_from_below(depth: float) -> None:
    block = manifold3d.Manifold.cube((40.0, 30.0, 10.0))
    hole = manifold3d.Manifold.cube((8.0, 5.0, depth + 1.0)).translate((10.0, 10.0, 10.0 - depth))
    mesh = Mesh.from_manifold(block - hole)
    above, below = measure_silhouette(mesh, UP), measure_silhouette(mesh, (0.0, 0.0, -1.0))
    assert above.pocket_mm2 == pytest.approx(8 * 5)
    assert above.face_outline_mm == pytest.approx(2 * (40 + 30) + 2 * (8 + 5))
    assert below.pocket_mm2 == 0.0
    assert below.face_outline_mm == pytest.approx(2 * (40 + 30))
    assert above.area_mm2 == pytest.approx(40 * 30)
    assert above.outline_mm == below.outline_mm == pytest.approx(2 * (40 + 30))


def test_a_stepped_hole_is_a_pocket_by_its_ledge() -> None:
    """16 x 16 mm wide above, 8 x 8 mm right through: the ledge of 192 mm² is what silicone does not reach."""
    block = manifold3d.Manifold.cube((40.0, 40.0, 10.0))
    wide = manifold3d.Manifold.cube((16.0, 16.0, 6.0)).translate((12.0, 12.0, 5.0))
    through = manifold3d.Manifold.cube((8.0, 8.0, 12.0)).translate((16.0, 16.0, -1.0))
    seen = measure_silhouette(Mesh.from_manifold(block - wide - through), UP)
    assert seen.pocket_mm2 == pytest.approx(16**2 - 8**2)
    assert seen.outline_mm == pytest.approx(4 * 40 + 4 * 8)


def test_turning_the_part_with_its_direction_changes_nothing() -> None:
    mesh = Mesh.from_manifold(
        manifold3d.Manifold.cube((40.0, 30.0, 10.0))
        - manifold3d.Manifold.cube((8.0, 5.0, 5.0)).translate((10.0, 10.0, 6.0))
    )
    plain = measure_silhouette(mesh, UP)
    a = 0.7
    turn = np.array([[1, 0, 0], [0, np.cos(a), -np.sin(a)], [0, np.sin(a), np.cos(a)]])
    turned = measure_silhouette(mesh.turned(turn), tuple(turn @ UP))
    assert turned.area_mm2 == pytest.approx(plain.area_mm2)
    assert turned.outline_mm == pytest.approx(plain.outline_mm)
    assert turned.face_outline_mm == pytest.approx(plain.face_outline_mm)
    assert turned.pocket_mm2 == pytest.approx(plain.pocket_mm2)


def test_lengths_scale_with_the_part() -> None:
    mesh = shapes.tube(20.0, 10.0, 30.0)
    large = Mesh.of(mesh.vertices * 3.0, mesh.faces)
    one, three = measure_silhouette(mesh, UP), measure_silhouette(large, UP)
    assert three.outline_mm == pytest.approx(3 * one.outline_mm)
    assert three.area_mm2 == pytest.approx(9 * one.area_mm2)
