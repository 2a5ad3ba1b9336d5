"""Columns against exact volumes, shadows and walls, and the cases where rays usually leak."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from routecost.mesh.geometry.mesh import Mesh
from routecost.mesh.geometry.rays.lattice_scan import scan
from routecost.mesh.geometry.rays.ray_columns import HITS, Columns
from tests.mesh import shapes

SEEDS = st.integers(0, 10_000)
BODIES = {
    "box": shapes.box(30, 20, 10),
    "plate": shapes.plate(),
    "needle": shapes.box(300, 0.2, 0.2),
    "sphere": shapes.sphere(20, 64),
    "hollow sphere": shapes.hollow_sphere(20, 15, 64),
    "torus": shapes.torus(20, 5, 64),
    "cup": shapes.cup(20, 18, 40, 3, 64),
    "tee": shapes.tee(4, 30, 40, 3, 10),
    "dumbbell": shapes.dumbbell(10, 30, 2, 64),
    "posts": shapes.posts([20, 5, 14], pointed=True),
}


def hit_count(columns: Columns) -> np.ndarray:
    return np.unique(columns.cell, return_counts=True)[1]


@pytest.mark.parametrize("name", BODIES)
@given(seed=SEEDS)
@settings(max_examples=6, deadline=None)
def test_volume_is_that_of_the_divergence_theorem(name: str, seed: int) -> None:
    columns = Columns.of(BODIES[name], shapes.rotation(seed)[2])
    assert columns.volume_mm3 == pytest.approx(BODIES[name].volume_mm3, rel=1e-3)


@pytest.mark.parametrize("name", BODIES)
@pytest.mark.parametrize("up", [(0, 0, 1), (1, 0, 0), (0, -1, 0), (1, 1, 0), (1, 1, 1)])
def test_volume_along_axes_and_diagonals_of_the_body(name: str, up: tuple[int, int, int]) -> None:
    """Where faces stand upright and edges lie along the lattice of a careless choice."""
    columns = Columns.of(BODIES[name], up)
    assert columns.volume_mm3 == pytest.approx(BODIES[name].volume_mm3, rel=1e-3)


@given(seed=SEEDS)
@settings(max_examples=10, deadline=None)
def test_shadow_of_a_convex_body_is_half_its_projected_surface(seed: int) -> None:
    body, up = BODIES["box"], shapes.rotation(seed)[2]
    exact = 0.5 * float(body.face_areas_mm2 @ np.abs(body.normals @ up))
    assert Columns.of(body, up).shadow_mm2 == pytest.approx(exact, rel=1e-3)


def test_column_volume_under_a_sphere_on_a_plane() -> None:
    """∫ (r − √(r² − ρ²)) 2πρ dρ over the shadow = πr³ − 2πr³/3 = πr³/3; as much above it to its top."""
    columns = Columns.of(shapes.sphere(20), (0, 0, 1))
    below = columns.air_below_mm(0.0).sum() * columns.cell_area_mm2
    above = columns.air_above_mm(40.0).sum() * columns.cell_area_mm2
    assert below == pytest.approx(np.pi * 20**3 / 3, rel=1e-3)
    assert above == pytest.approx(np.pi * 20**3 / 3, rel=1e-3)


@pytest.mark.parametrize("tilt_deg", [0, 10, 40])
def test_wall_along_the_ray_through_a_plate(tilt_deg: float) -> None:
    """Thickness t is crossed over t / cos(tilt)."""
    tilt = np.deg2rad(tilt_deg)
    columns = Columns.of(shapes.plate(100, 2), (np.sin(tilt), 0, np.cos(tilt)))
    assert np.median(columns.wall_mm) == pytest.approx(2 / np.cos(tilt), rel=1e-9)


@given(seed=SEEDS)
@settings(max_examples=10, deadline=None)
def test_a_closed_void_is_the_gap_between_spans(seed: int) -> None:
    columns = Columns.of(BODIES["hollow sphere"], shapes.rotation(seed)[2])
    void = columns.air_above_mm(0.0)[columns.below_part].sum() * columns.cell_area_mm2
    exact = shapes.sphere(15, 64).volume_mm3
    assert void == pytest.approx(exact, rel=2e-3)


@pytest.mark.parametrize("pieces", [1, 4])
def test_rays_through_edges_and_vertices_hit_once(pieces: int) -> None:
    """A 4 mm cube whose corners, edges and face diagonals all pass through lattice points."""
    cube = shapes.subdivided(shapes.box(4, 4, 4), pieces) if pieces > 1 else shapes.box(4, 4, 4)
    u, v, z = cube.vertices.T
    ix, iy, height, rising, _ = scan(cube.faces, u.copy(), v.copy(), z.copy())
    # half-open: 0, 1, 2, 3 but not 4
    assert sorted(zip(ix[rising], iy[rising], strict=True)) == [(i, j) for i in range(4) for j in range(4)]
    assert sorted(zip(ix[~rising], iy[~rising], strict=True)) == [(i, j) for i in range(4) for j in range(4)]
    assert set(height[rising]) == {4.0}
    assert set(height[~rising]) == {0.0}


@given(seed=SEEDS, near=st.sampled_from([0.0, 1e-16, 1e-12, 1e-9, 1e-6]))
@settings(max_examples=20, deadline=None)
def test_no_ray_leaks_however_close_a_face_is_to_upright(seed: int, near: float) -> None:
    body = BODIES["tee"]
    up = np.array([near, 0.0, 1.0]) @ shapes.rotation(seed).T
    columns = Columns.of(body.turned(shapes.rotation(seed)), up)
    assert (hit_count(columns) % 2 == 0).all()
    assert columns.rising[1::2].all()
    assert not columns.rising[::2].any()
    assert columns.volume_mm3 == pytest.approx(body.volume_mm3, rel=1e-3)


@given(seed=SEEDS, grain=st.sampled_from([1.0, 1e-2]))
@settings(max_examples=15, deadline=None)
def test_vertices_snapped_to_a_grid_leak_nothing(seed: int, grain: float) -> None:
    """Rounded coordinates make slivers, folds and upright faces, in a mesh that stays closed."""
    body = BODIES["torus"].turned(shapes.rotation(seed))
    snapped = Mesh.of(np.round(body.vertices / grain) * grain, body.faces)
    columns = Columns.of(snapped, (0, 0, 1))
    signs = np.where(columns.rising, 1, -1)
    sums = np.add.reduceat(signs, np.flatnonzero(np.diff(columns.cell, prepend=-1)))
    assert not sums.any()
    everything = scan(snapped.faces, *_lattice(snapped, columns))
    assert len(everything[0]) == len(columns.cell)  # so no column had to be left out
    assert columns.volume_mm3 == pytest.approx(snapped.volume_mm3, rel=3e-3)


def _lattice(mesh: Mesh, columns: Columns) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    flat = (mesh.vertices - columns.origin_mm) @ columns.axes.T / columns.pitch_mm
    return flat[:, 0], flat[:, 1], mesh.vertices @ columns.up


@given(seed=SEEDS)
@settings(max_examples=10, deadline=None)
def test_hits_lie_on_their_faces(seed: int) -> None:
    body = BODIES["cup"].turned(shapes.rotation(seed))
    columns = Columns.of(body, shapes.rotation(seed + 1)[0], hits=5000)
    points = columns.points_mm(np.arange(len(columns.cell)))
    corners = body.triangles[columns.face]
    off = np.einsum("ij,ij->i", points - corners[:, 0], body.normals[columns.face])
    assert np.abs(off).max() < 1e-6
    low, high = corners.min(axis=1) - 1e-9, corners.max(axis=1) + 1e-9
    assert ((points >= low) & (points <= high)).all()
    facing = body.normals[columns.face] @ columns.up
    assert (columns.rising == (facing > 0)).all()


@given(seed=SEEDS)
@settings(max_examples=10, deadline=None)
def test_flipping_keeps_every_hit_and_turns_the_order(seed: int) -> None:
    columns = Columns.of(BODIES["dumbbell"], shapes.rotation(seed)[1], hits=4000)
    turned = columns.flipped()
    assert (np.diff(turned.cell) >= 0).all()
    both = [c.points_mm(np.arange(len(c.cell))) for c in (columns, turned)]
    assert np.allclose(both[0], both[1][::-1], atol=1e-9)
    assert turned.wall_mm == pytest.approx(columns.wall_mm[::-1])
    assert turned.air_below_mm(-100.0) == pytest.approx(columns.air_above_mm(100.0)[::-1])


def test_overlapping_bodies_count_once() -> None:
    """Two 10 mm cubes that share a slab of 4 mm: the union is 16 high."""
    both = shapes.beside(shapes.box(10, 10, 10), shapes.moved(shapes.box(10, 10, 10), (0, 0, 6)))
    columns = Columns.of(both, (0, 0, 1))
    assert columns.wall_mm == pytest.approx(np.full(len(columns.bottom), 16.0))
    assert columns.volume_mm3 == pytest.approx(1600, rel=1e-3)


@pytest.mark.parametrize("slit_mm", [0.0, 1e-9, 1e-5])
def test_touching_bodies_are_one_span(slit_mm: float) -> None:
    both = shapes.beside(shapes.box(10, 10, 10), shapes.moved(shapes.box(10, 10, 10), (0, 0, 10 + slit_mm)))
    columns = Columns.of(both, (0, 0, 1))
    assert not columns.above_part.any()
    assert columns.wall_mm == pytest.approx(np.full(len(columns.bottom), 20.0), rel=1e-5)


def test_bodies_a_layer_apart_are_two_spans() -> None:
    both = shapes.beside(shapes.box(10, 10, 10), shapes.moved(shapes.box(10, 10, 10), (0, 0, 10.1)))
    columns = Columns.of(both, (0, 0, 1))
    assert columns.air_below_mm(0.0)[columns.above_part] == pytest.approx(
        np.full(len(columns.bottom) // 2, 0.1)
    )


def test_columns_through_a_missing_face_are_left_out() -> None:
    """Half of the top of a cube is missing: the columns under it have no end and claim no material."""
    cube = shapes.box(10, 10, 10)
    top = int(np.flatnonzero(cube.normals[:, 2] > 0.5)[0])
    columns = Columns.of(Mesh.of(cube.vertices, np.delete(cube.faces, top, axis=0)), (0, 0, 1))
    assert columns.volume_mm3 == pytest.approx(500, rel=0.01)


@pytest.mark.parametrize("name", BODIES)
def test_the_work_does_not_hang_on_the_form(name: str) -> None:
    """Thin, long or bulky: about as many hits as asked for, so a fixed time and memory."""
    for up in ((0, 0, 1), (1, 0, 0), (1, 1, 0), (3, 2, 1)):
        assert 0.9 * HITS < len(Columns.of(BODIES[name], up).cell) < 1.1 * HITS


def test_many_small_upright_faces_do_not_blow_up_the_work() -> None:
    fine = shapes.subdivided(shapes.plate(200, 1), 60)
    columns = Columns.of(fine, (1, 0, 0))
    assert 1000 < len(columns.cell) <= HITS
    assert columns.volume_mm3 == pytest.approx(fine.volume_mm3, rel=1e-3)


@given(seed=SEEDS)
@settings(max_examples=8, deadline=None)
def test_order_of_faces_and_place_change_nothing(seed: int) -> None:
    body, up = BODIES["posts"], shapes.rotation(seed)[2]
    one = Columns.of(body, up, hits=20_000)
    other = Columns.of(shapes.moved(shapes.shuffled(body, seed), (500, -300, 200)), up, hits=20_000)
    assert len(one.cell) == len(other.cell)
    assert np.sort(one.wall_mm) == pytest.approx(np.sort(other.wall_mm), abs=1e-6)


def test_a_part_as_good_as_flat_has_columns_too() -> None:
    """No hull in space can be made of it; its shadow is 100 x 100 all the same."""
    foil = shapes.box(100, 100, 1e-13)
    assert Columns.of(foil, (0, 0, 1)).footprint_mm == pytest.approx((100, 100))
