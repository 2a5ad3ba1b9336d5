"""Fitting against a fine scan over all angles, and lengths that fit by hand."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from routecost.mesh.geometry.fitting import can_turn_into, fitting_lines, smallest_box_frame
from routecost.mesh.geometry.hull import convex_ring
from tests.mesh import shapes

sides = st.floats(5.0, 60.0)


def overhang_by_scan(points: np.ndarray, width: float, depth: float) -> float:
    """The least by which the points stick out of the rectangle, over 3600 angles; accurate to span × 0.0005."""
    t = np.linspace(0, np.pi, 3600, endpoint=False)
    along = np.ptp(points @ np.stack([np.cos(t), np.sin(t)]), axis=0)
    across = np.ptp(points @ np.stack([-np.sin(t), np.cos(t)]), axis=0)
    return float(np.maximum(along - width, across - depth).min())


@settings(deadline=None, max_examples=200)
@given(st.integers(0, 10_000), st.integers(3, 12), sides, sides)
def test_turning_agrees_with_a_scan_over_angles(seed: int, corners: int, width: float, depth: float) -> None:
    points = np.random.default_rng(seed).normal(size=(corners, 2)) * [25, 8]
    over = overhang_by_scan(points, width, depth)
    error = 0.0005 * float(np.linalg.norm(np.ptp(points, axis=0)))
    fits = can_turn_into(convex_ring(points), width, depth)
    if over <= 0:  # found by the scan, so it is there
        assert fits
    elif over > error:
        assert not fits


@settings(deadline=None)
@given(st.integers(0, 10_000), st.floats(0, 6.2), sides, sides)
def test_turning_does_not_depend_on_how_the_outline_lies(
    seed: int, turn: float, width: float, depth: float
) -> None:
    points = np.random.default_rng(seed).normal(size=(7, 2)) * [25, 8]
    c, s = np.cos(turn), np.sin(turn)
    turned = points @ np.array([[c, s], [-s, c]])
    # a little room, so that rounding cannot decide
    if can_turn_into(convex_ring(points), width, depth):
        assert can_turn_into(convex_ring(turned), width + 1e-6, depth + 1e-6)
    assert can_turn_into(convex_ring(points), width, depth) == can_turn_into(
        convex_ring(points), depth, width
    )


@pytest.mark.parametrize(("width", "depth"), [(220.0, 220.0), (300.0, 200.0), (250.0, 210.0)])
@pytest.mark.parametrize("breadth", [1.0, 20.0, 60.0])
def test_longest_bar_across_a_bed(width: float, depth: float, breadth: float) -> None:
    """A bar l × b at angle t takes l cos t + b sin t by l sin t + b cos t: the longest l over t, by scan."""
    t = np.linspace(0.0, np.pi / 2, 200_001)[1:-1]
    length = np.minimum(
        (width - breadth * np.sin(t)) / np.cos(t), (depth - breadth * np.cos(t)) / np.sin(t)
    ).max()
    length = max(length, width if breadth <= depth else 0.0, depth if breadth <= width else 0.0)

    def ring(l: float) -> np.ndarray:  # noqa: E741
        return np.array([[0, 0], [l, 0], [l, breadth], [0, breadth]], float)

    # the scan's step is 8 µrad, on 310 mm
    assert can_turn_into(ring(length - 5e-3), width, depth)
    assert not can_turn_into(ring(length + 5e-3), width, depth)


def test_a_disc_fits_if_its_diameter_does() -> None:
    t = np.linspace(0, 2 * np.pi, 720, endpoint=False)
    disc = 110 * np.stack([np.cos(t), np.sin(t)], axis=1)
    assert can_turn_into(disc, 220.0, 220.0)
    assert not can_turn_into(disc * 1.0001, 220.0, 220.0)


@settings(deadline=None, max_examples=40)
@given(st.integers(0, 10_000), sides, sides, sides)
def test_a_box_of_the_volumes_own_size_fits_however_it_lies(seed: int, x: float, y: float, z: float) -> None:
    axes = shapes.rotation(seed)
    corners = shapes.box(x, y, z).vertices @ axes.T
    assert len(fitting_lines(corners, axes.T, (x + 1e-6, y + 1e-6, z + 1e-6)))
    # 0.1 mm less height is too little for the smallest side, whichever way it stands
    assert not len(fitting_lines(corners, axes.T, (200.0, 200.0, min(x, y, z) - 0.1)))


@settings(deadline=None, max_examples=20)
@given(st.integers(0, 10_000))
def test_the_smallest_box_of_a_turned_block_is_the_block(seed: int) -> None:
    turned = shapes.ell(40, 10, 25).turned(shapes.rotation(seed))
    frame = smallest_box_frame(turned.vertices, shapes.rotation(seed).T)
    # around the ell, 40 × 40 along its legs is less than 40 √2 × 50/√2 along its hypotenuse
    assert sorted(np.ptp(turned.vertices @ frame.T, axis=0)) == pytest.approx([25, 40, 40])
    assert frame @ frame.T == pytest.approx(np.eye(3), abs=1e-9)
