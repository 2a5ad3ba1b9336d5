"""Local tops of the material, counted by hand on bodies made for it."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from routecost.mesh.geometry.mesh import Mesh
from routecost.mesh.geometry.rays.ray_columns import Columns
from routecost.mesh.measuring.peaks import Neighbours, count_peaks
from tests.mesh import shapes

SEEDS = st.integers(0, 10_000)
UP, DOWN, X = (0.0, 0.0, 1.0), (0.0, 0.0, -1.0), (1.0, 0.0, 0.0)


def peaks(mesh: Mesh, up: tuple[float, float, float] = UP) -> int:
    return count_peaks(mesh, Columns.of(mesh, up, hits=20_000), Neighbours.of(mesh))


def saw_ridge() -> Mesh:
    """A roof along y with a level ridge, and beside it a taller mast."""
    roof = shapes.prism([(0, 0), (20, 0), (20, 5), (10, 12), (0, 5)], 30)
    return shapes.beside(roof, shapes.moved(shapes.box(3, 3, 40), (30, 0, 0)))


def dented(depth: float) -> Mesh:
    """A block with a bowl cut into its top."""
    bowl = shapes.moved(shapes.sphere(8, 48), (0, 0, 20 - depth))
    return shapes.cut(shapes.moved(shapes.box(30, 30, 20), (-15, -15, 0)), bowl)


BY_HAND: dict[str, tuple[Callable[[], Mesh], tuple[float, float, float], int]] = {
    "box": (lambda: shapes.box(3, 4, 5), UP, 0),
    "box on a corner": (lambda: shapes.box(3, 4, 5), (1.0, 1.0, 1.0), 0),
    "posts of three heights": (lambda: shapes.posts([5, 9, 7]), UP, 2),
    "posts of one height": (lambda: shapes.posts([5, 5, 5]), UP, 0),
    "posts of one height and a taller one": (lambda: shapes.posts([5, 5, 6, 5]), UP, 3),
    "posts hanging": (lambda: shapes.posts([5, 9, 7]), DOWN, 0),
    "posts lying rise to the base plate": (lambda: shapes.posts([5, 9, 7]), X, 0),
    "spikes of three heights": (lambda: shapes.posts([5, 9, 7], pointed=True), UP, 2),
    "ell": (lambda: shapes.ell(30, 5, 8), UP, 0),
    "arch": (lambda: shapes.arch(20, 5, 20, 4, 10), UP, 0),
    "the roof of a cup is no top": (lambda: shapes.cup(20, 15, 40, 3), DOWN, 0),
    "the roof of a void is no top": (lambda: shapes.hollow_sphere(20, 15, 48), UP, 0),
    "the rim of a cup is one level": (lambda: shapes.cup(20, 15, 40, 3), UP, 0),
    "a torus standing": (lambda: shapes.torus(20, 5, 48), X, 0),
    "dumbbell lying askew": (lambda: shapes.dumbbell(10, 30, 3, 64), (1.0, 0.0, 0.3), 1),
    "a level ridge counts once": (saw_ridge, UP, 1),
    "a bowl in the top": (lambda: dented(6), UP, 0),
    "leaning spike, its tip over air": (
        lambda: shapes.beside(shapes.cone(2, 0, 30, 24).turned(_tilt(60)), shapes.box(1, 1, 40)),
        UP,
        1,
    ),
    "a block that a tower rises out of": (
        lambda: shapes.beside(shapes.box(10, 10, 10), shapes.moved(shapes.box(4, 4, 30), (3, 3, 5))),
        UP,
        0,
    ),
    "a block buried in another": (
        lambda: shapes.beside(shapes.box(10, 10, 10), shapes.moved(shapes.box(4, 4, 4), (3, 3, 3))),
        UP,
        0,
    ),
    "legs that carry a top": (
        lambda: shapes.beside(
            shapes.box(3, 3, 10),
            shapes.moved(shapes.box(3, 3, 10), (9, 0, 0)),
            shapes.moved(shapes.box(12, 3, 2), (0, 0, 10)),
        ),
        UP,
        0,
    ),
    "a spike into a slab": (
        lambda: shapes.beside(shapes.cone(5, 0, 20, 32), shapes.moved(shapes.box(9, 9, 9), (-4, -4, 15))),
        UP,
        0,
    ),
}


def _tilt(deg: float) -> np.ndarray:
    c, s = np.cos(np.deg2rad(deg)), np.sin(np.deg2rad(deg))
    return np.array([[c, 0, s], [0, 1, 0], [-s, 0, c]])


@pytest.mark.parametrize("name", BY_HAND)
def test_by_hand(name: str) -> None:
    make, up, count = BY_HAND[name]
    assert peaks(make(), up) == count


@pytest.mark.parametrize("name", BY_HAND)
@given(seed=SEEDS)
@settings(max_examples=4, deadline=None)
def test_turned_moved_scaled_shuffled_and_mirrored(name: str, seed: int) -> None:
    make, up, count = BY_HAND[name]
    r, factor = shapes.rotation(seed), 10.0 ** (seed % 5 - 2)
    mesh = shapes.shuffled(shapes.mirrored(make()), seed).turned(r)
    mesh = shapes.moved(shapes.scaled(mesh, factor), (3.0 * factor, 0, 0))
    assert peaks(mesh, tuple(r @ (np.array(up) * [-1, 1, 1]))) == count


@pytest.mark.parametrize("name", ["posts of three heights", "spikes of three heights", "cup", "ridge"])
@given(seed=SEEDS)
@example(seed=209)  # folds an upright face, so that a ray leaves and enters again within a level
@settings(max_examples=5, deadline=None)
def test_roughness_of_a_scan_adds_no_top(name: str, seed: int) -> None:
    """Fine facets, every vertex off by up to a fifth of the tolerance."""
    rough_bodies: dict[str, tuple[Callable[[], Mesh], int]] = {
        "posts of three heights": (lambda: shapes.posts([5, 9, 7]), 2),
        "spikes of three heights": (lambda: shapes.posts([5, 9, 7], pointed=True), 2),
        "cup": (lambda: shapes.cup(20, 15, 40, 3, 32), 0),
        "ridge": (saw_ridge, 1),
    }
    make, count = rough_bodies[name]
    fine = shapes.subdivided(make(), 6)
    noise = 2e-4 * np.linalg.norm(fine.extents_mm)
    rough = fine.vertices + np.random.default_rng(seed).uniform(-noise, noise, fine.vertices.shape)
    assert peaks(Mesh.of(rough, fine.faces)) == count


@given(heights=st.lists(st.integers(3, 40), min_size=1, max_size=12), pointed=st.booleans())
@settings(max_examples=25, deadline=None)
def test_every_post_below_the_highest_level_counts(heights: list[int], pointed: bool) -> None:
    expected = sum(h < max(heights) for h in heights)
    assert peaks(shapes.posts(heights, pointed=pointed)) == expected


def ended_islands(mesh: Mesh, levels: int = 300) -> int:
    """Islands of the section that none of the next section overlaps, by manifold3d's slices."""
    body = shapes.solid(mesh)
    low, high = mesh.bounds_mm[:, 2]
    sections = [body.slice(low + (k + 0.5) * (high - low) / levels) for k in range(levels)]
    return sum(
        (island ^ after).is_empty() for here, after in pairwise(sections) for island in here.decompose()
    )


@pytest.mark.parametrize("make", [shapes.knot, shapes.drilled, lambda: shapes.torus(20, 5, 48)])
@pytest.mark.parametrize("seed", range(4))
def test_counts_the_islands_that_end_in_slices(make: Callable[[], Mesh], seed: int) -> None:
    mesh = make().turned(shapes.rotation(seed))
    assert peaks(mesh) == ended_islands(mesh)
