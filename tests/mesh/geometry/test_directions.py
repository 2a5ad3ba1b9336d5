"""Directions that bodies with known planes and axes must offer."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from routecost.mesh.geometry.directions import candidate_ups, canonical, feature_lines
from routecost.mesh.geometry.mesh import Mesh
from routecost.mesh.measuring.poses import measure_pose, measure_poses
from tests.mesh import shapes

SEEDS = st.integers(0, 10_000)


def hexagon() -> Mesh:
    t = np.arange(6) * np.pi / 3
    return shapes.prism([(10 * np.cos(a), 10 * np.sin(a)) for a in t], 30)


def tetrahedron() -> Mesh:
    corners = np.array([[1, 1, 1], [1, -1, -1], [-1, 1, -1], [-1, -1, 1]], dtype=float) * 10
    return Mesh.of(corners, [[0, 1, 2], [0, 3, 1], [0, 2, 3], [1, 3, 2]])


S3 = np.sqrt(1 / 3)
S75 = np.sqrt(0.75)
KNOWN: dict[str, tuple[Callable[[], Mesh], list[tuple[float, float, float]]]] = {
    "box: its faces": (lambda: shapes.box(30, 20, 10), [(0, 0, 1), (0, 1, 0), (1, 0, 0)]),
    "hexagonal bar: axis and flats": (hexagon, [(0, 1, 0), (0, 0, 1), (S75, 0, 0.5), (S75, 0, -0.5)]),
    "tetrahedron: its faces": (tetrahedron, [(S3, S3, S3), (S3, -S3, -S3), (-S3, S3, -S3), (-S3, -S3, S3)]),
    "cylinder: its axis": (lambda: shapes.cylinder(10, 30), [(0, 0, 1)]),
    "rod: its axis, small ends": (lambda: shapes.cylinder(1, 300, 64), [(0, 0, 1)]),
    "cylinder in small facets": (lambda: shapes.subdivided(shapes.cylinder(10, 30, 64), 8), [(0, 0, 1)]),
    "frustum: its base": (lambda: shapes.cone(20, 10, 15), [(0, 0, 1)]),
    "cup: its axis": (lambda: shapes.cup(20, 15, 40, 3), [(0, 0, 1)]),
    "ell: its legs and the slope across them": (
        lambda: shapes.ell(100, 10, 10),
        [(0, 0, 1), (1, 0, 0), (0, 1, 0), (np.sqrt(0.5), 0, np.sqrt(0.5))],
    ),
    "wedge: its leaning side": (
        lambda: shapes.wedge(60, 12, 20, 10),
        [(0, 0, 1), (np.sin(np.pi / 3), 0, -np.cos(np.pi / 3))],
    ),
}


def off_deg(lines: np.ndarray, line: np.ndarray) -> float:
    """Smallest angle between the line and one of the lines, without losing digits near zero."""
    across = np.linalg.norm(np.cross(lines, line), axis=1)
    return float(np.rad2deg(np.arcsin(np.clip(across, 0, 1)).min()))


@pytest.mark.parametrize("name", KNOWN)
@given(seed=SEEDS)
@settings(max_examples=5, deadline=None)
def test_known_planes_and_axes_are_found_however_the_part_is_turned(name: str, seed: int) -> None:
    make, lines = KNOWN[name]
    r = shapes.rotation(seed)
    mesh = shapes.shuffled(make(), seed).turned(r)
    ups = np.array(candidate_ups(mesh))
    for line in lines:
        assert off_deg(ups, r @ line) < 1e-6


@pytest.mark.parametrize("name", KNOWN)
@given(seed=SEEDS)
@settings(max_examples=5, deadline=None)
def test_single_precision_far_from_the_origin_costs_no_flatness(name: str, seed: int) -> None:
    """Vertices rounded as a binary STL rounds them: found to 0.1° still."""
    make, lines = KNOWN[name]
    r = shapes.rotation(seed)
    mesh = shapes.moved(make().turned(r), (300, 200, 100))
    rounded = Mesh.of(mesh.vertices.astype(np.float32), mesh.faces)
    ups = np.array(candidate_ups(rounded))
    for line in lines:
        assert off_deg(ups, r @ line) < 0.1


@pytest.mark.parametrize("name", KNOWN)
def test_six_axes_first_both_senses_and_no_two_alike(name: str) -> None:
    ups = np.array(candidate_ups(KNOWN[name][0]()))
    assert len(ups) <= 26
    axes = [[0, 0, 1], [0, 0, -1], [1, 0, 0], [-1, 0, 0], [0, 1, 0], [0, -1, 0]]
    assert ups[:6].tolist() == axes
    assert np.linalg.norm(ups, axis=1) == pytest.approx(np.ones(len(ups)))
    assert (ups[::2] == -ups[1::2]).all()
    for k in range(0, len(ups), 2):
        assert len(ups) == 2 or off_deg(np.delete(ups, [k, k + 1], axis=0), ups[k]) > 0.05


@given(seed=SEEDS)
@settings(max_examples=8, deadline=None)
def test_own_lines_turn_with_the_part(seed: int) -> None:
    mesh = shapes.cut(shapes.ell(60, 12, 30), shapes.moved(shapes.wedge(50, 8, 20, 40), (2, -5, 30)))
    r = shapes.rotation(seed)
    lines, shares = feature_lines(mesh)
    again, shares_again = feature_lines(mesh.turned(r))
    assert shares_again == pytest.approx(shares, abs=1e-6)
    for line in lines:
        assert off_deg(again, r @ line) < 1e-6


def test_a_ball_has_no_direction_of_its_own() -> None:
    lines, _ = feature_lines(shapes.subdivided(tetrahedron(), 40))
    assert len(lines) > 0  # the subdivided tetrahedron keeps its four
    fine = shapes.subdivided(tetrahedron(), 40)
    ball = Mesh.of(fine.vertices / np.linalg.norm(fine.vertices, axis=1, keepdims=True) * 20, fine.faces)
    assert len(feature_lines(ball)[0]) == 0
    assert len(candidate_ups(ball)) == 6


def test_a_part_that_lies_a_little_crooked_in_its_file_can_still_stand_flat() -> None:
    tilt = np.deg2rad(0.3)
    c, s = np.cos(tilt), np.sin(tilt)
    crooked = shapes.box(60, 40, 20).turned(np.array([[c, 0, s], [0, 1, 0], [-s, 0, c]]))
    assert measure_pose(crooked, (0.0, 0.0, 1.0)).bed_area_mm2 == 0
    assert max(pose.bed_area_mm2 for pose in measure_poses(crooked)) == pytest.approx(2400)


@given(seed=SEEDS)
@settings(max_examples=30, deadline=None)
def test_both_senses_of_a_line_have_one_name(seed: int) -> None:
    up = shapes.rotation(seed)[0] * (1 + seed)
    line, opposite = canonical(up)
    other, other_opposite = canonical(-up)
    assert line == pytest.approx(other, abs=0)
    assert opposite != other_opposite
    assert line * (-1 if opposite else 1) == pytest.approx(up / np.linalg.norm(up))
