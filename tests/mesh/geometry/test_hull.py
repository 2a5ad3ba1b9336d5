"""Rectangles and rings against reference libraries."""

from __future__ import annotations

import numpy as np
import pytest
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial import ConvexHull

from routecost.mesh.geometry.hull import convex_ring, smallest_rectangle

SEEDS = st.integers(0, 10_000)


@given(seed=SEEDS, count=st.sampled_from([4, 10, 300, 3000]), stretch=st.floats(0.01, 100))
@settings(max_examples=40, deadline=None)
def test_smallest_rectangle_is_that_of_trimesh(seed: int, count: int, stretch: float) -> None:
    points = np.random.default_rng(seed).normal(size=(count, 2)) * [1.0, stretch]
    _, extents = trimesh.bounds.oriented_bounds_2D(points)
    (short, long), _ = smallest_rectangle(points)
    assert short <= long
    assert short * long == pytest.approx(float(np.prod(extents)), rel=1e-9)


@given(turn=st.floats(-10, 10), a=st.floats(0.1, 10), b=st.floats(0.1, 10))
@settings(max_examples=40, deadline=None)
def test_a_rectangle_is_its_own_and_its_long_side_gives_the_angle(turn: float, a: float, b: float) -> None:
    c, s = np.cos(turn), np.sin(turn)
    corners = np.array([[0, 0], [a, 0], [a, b], [0, b]]) @ np.array([[c, s], [-s, c]])
    sides, angle = smallest_rectangle(corners)
    assert sides == pytest.approx(tuple(sorted((a, b))), rel=1e-6)
    along = corners @ [np.cos(angle), np.sin(angle)]
    assert np.ptp(along) == pytest.approx(max(a, b), rel=1e-6)


@given(seed=SEEDS, form=st.sampled_from(["disc", "square", "circle", "grid", "cross"]))
@settings(max_examples=40, deadline=None)
def test_thinning_out_the_middle_loses_no_corner(seed: int, form: str) -> None:
    rng = np.random.default_rng(seed)
    turn = rng.uniform(0, 2 * np.pi, 2000)
    points = {
        "disc": np.sqrt(rng.uniform(size=2000))[:, None] * np.stack([np.cos(turn), np.sin(turn)], axis=1),
        "square": rng.uniform(size=(2000, 2)),
        "circle": np.stack([np.cos(turn), np.sin(turn)], axis=1),
        "grid": np.stack(np.meshgrid(np.arange(50.0), np.arange(40.0)), axis=-1).reshape(-1, 2),
        "cross": np.concatenate(
            [rng.uniform(size=(1000, 2)) * [1, 0.01], rng.uniform(size=(1000, 2)) * [0.01, 1]]
        ),
    }[form] + rng.normal(size=2) * 100
    reference = ConvexHull(points)
    ring = convex_ring(points)
    assert sorted(map(tuple, ring)) == sorted(map(tuple, points[reference.vertices]))
    following = np.roll(ring, -1, axis=0)
    area = 0.5 * float((ring[:, 0] * following[:, 1] - ring[:, 1] * following[:, 0]).sum())
    assert area == pytest.approx(reference.volume, rel=1e-6)  # positive: counterclockwise
