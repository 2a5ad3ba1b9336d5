"""Walls against closed forms: what a ray along the normal meets, and the largest inscribed ball."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from routecost.mesh.geometry.distance import Surface, closest_on
from routecost.mesh.geometry.mesh import Mesh
from routecost.mesh.geometry.rays.ray_grid import RayGrid
from routecost.mesh.geometry.sampling import Tiles, sample_surface
from routecost.mesh.measuring.walls import measure_walls
from tests.mesh import shapes

SEEDS = st.integers(0, 10_000)
SIDES = st.floats(2.0, 60.0)
LUMPY = shapes.dumbbell(10, 26, 4, 40)  # sharp necks, slivers and small faces together


@given(sides=st.tuples(SIDES, SIDES, SIDES), seed=SEEDS)
@settings(max_examples=5, deadline=None)
def test_box_has_the_walls_of_its_sides(sides: tuple[float, float, float], seed: int) -> None:
    """Rays from a pair of faces meet the third side, so each side has the share of that pair in the area."""
    a, b, c = sorted(sides)
    walls = measure_walls(shapes.box(*sides).turned(shapes.rotation(seed)))
    shares = np.array([b * c, a * c, a * b]) / (a * b + b * c + a * c)
    assert walls.thinnest_mm == pytest.approx(a, rel=1e-9)
    median = (a, b, c)[int(np.searchsorted(np.cumsum(shares), 0.5))]
    if abs(np.cumsum(shares) - 0.5).min() > 0.01:
        assert walls.typical_mm == pytest.approx(median, rel=1e-9)
    assert walls.thickest_mm == pytest.approx(a, rel=0.01)


@pytest.mark.parametrize("seed", [1, 2])
def test_plate_has_its_thickness_everywhere(seed: int) -> None:
    walls = measure_walls(shapes.plate(100, 3).turned(shapes.rotation(seed)))
    assert (walls.thinnest_mm, walls.typical_mm) == pytest.approx((3, 3), rel=1e-9)
    assert walls.thickest_mm == pytest.approx(3, rel=0.01)


@pytest.mark.parametrize("n", [48, 200])
def test_sphere_has_its_diameter(n: int) -> None:
    walls = measure_walls(shapes.sphere(20, n).turned(shapes.rotation(n)))
    across = 40 * np.cos(np.pi / n) ** 2  # between opposite facets, which lie inside the sphere
    assert walls.thinnest_mm == pytest.approx(across, rel=0.005)
    assert walls.typical_mm == pytest.approx(across, rel=0.005)
    assert walls.thickest_mm == pytest.approx(across, rel=0.005)


@pytest.mark.parametrize("n", [64, 500])
def test_tube_has_its_wall(n: int) -> None:
    walls = measure_walls(shapes.tube(10, 8, 100, n).turned(shapes.rotation(n)))
    wall = 2 * np.cos(np.pi / n)
    assert (walls.thinnest_mm, walls.typical_mm) == pytest.approx((wall, wall), rel=1e-3)
    assert walls.thickest_mm == pytest.approx(wall, rel=0.01)


def test_hollow_sphere_has_its_wall() -> None:
    walls = measure_walls(shapes.hollow_sphere(20, 17, 128))
    assert (walls.thinnest_mm, walls.typical_mm, walls.thickest_mm) == pytest.approx((3, 3, 3), rel=0.01)


@pytest.mark.parametrize("seed", [3, 4])
def test_thickest_section_of_an_angle_sits_in_its_corner(seed: int) -> None:
    """The ball touches both outer faces at distance r and the inner edge: (t − r) √2 = r."""
    walls = measure_walls(shapes.ell(40, 5, 60).turned(shapes.rotation(seed)))
    assert (walls.thinnest_mm, walls.typical_mm) == pytest.approx((5, 5), rel=1e-6)
    assert walls.thickest_mm == pytest.approx(2 * 5 * np.sqrt(2) / (1 + np.sqrt(2)), rel=0.01)


def test_wedge_thins_out_to_its_edge() -> None:
    """Right triangle w × h, drawn out: distribution of the thickness along normals in closed form.

    Across a corner, rays from either side meet the other after tan(angle) × the way from the corner, at the
    tip (tan = h/w) as at the top (tan = w/h); the two ends see each other.
    """
    w, h, depth = 60.0, 10.0, 40.0
    slope = np.hypot(w, h)
    mesh = shapes.prism([(0, 0), (w, 0), (w, h)], depth)
    area = mesh.area_mm2
    walls = measure_walls(mesh)
    # the area where the thickness is below t grows evenly with t on both sides of both corners
    per_mm = 2 * depth * (w / h + h / w) / area
    assert walls.thinnest_mm == pytest.approx(0.01 / per_mm, rel=0.03)
    assert walls.typical_mm == pytest.approx(0.5 / per_mm, rel=0.01)
    assert walls.thickest_mm == pytest.approx(w + h - slope, rel=0.01)  # incircle of a right triangle


@given(seed=SEEDS, factor=st.sampled_from([0.01, 0.5, 25.4, 1000.0]))
@settings(max_examples=4, deadline=None)
def test_walls_turn_move_and_scale_with_the_part(seed: int, factor: float) -> None:
    here = measure_walls(LUMPY)
    turned = shapes.moved(LUMPY.turned(shapes.rotation(seed)), (1e3, -2e3, 5e2))
    there = measure_walls(shapes.scaled(turned, factor))
    assert there.thinnest_mm == pytest.approx(here.thinnest_mm * factor, rel=0.01)
    assert there.typical_mm == pytest.approx(here.typical_mm * factor, rel=0.01)
    assert there.thickest_mm == pytest.approx(here.thickest_mm * factor, rel=0.01)


def test_walls_do_not_depend_on_the_triangles() -> None:
    coarse = shapes.ell(40, 5, 60)
    half = coarse.manifold()
    fine = Mesh.from_manifold(
        half.trim_by_plane((0, 0, 1), 20.0).refine(12) + half.trim_by_plane((0, 0, -1), -20.0)
    )
    assert len(fine.faces) > 10 * len(coarse.faces)
    one, two = measure_walls(coarse), measure_walls(shapes.shuffled(fine, 5))
    assert two.thinnest_mm == pytest.approx(one.thinnest_mm, rel=0.01)
    assert two.typical_mm == pytest.approx(one.typical_mm, rel=0.01)
    assert two.thickest_mm == pytest.approx(one.thickest_mm, rel=0.01)


def test_thin_spot_is_where_the_wall_is_thin() -> None:
    """A block with a web 1 mm thin between two pockets, at z from 9.5 to 10.5."""
    block = shapes.box(60, 40, 20).manifold()
    for low in (-10.5, 10.5):
        block -= shapes.box(30, 20, 20).manifold().translate((15, 10, low))
    walls = measure_walls(Mesh.from_manifold(block))
    x, y, z = walls.thinnest_at_mm
    assert walls.thinnest_mm == pytest.approx(1.0, rel=1e-6)
    assert 15 <= x <= 45
    assert 10 <= y <= 30
    assert min(abs(z - 9.5), abs(z - 10.5)) < 1e-6


def test_same_mesh_gives_the_same_walls() -> None:
    assert measure_walls(LUMPY) == measure_walls(Mesh.of(LUMPY.vertices.copy(), LUMPY.faces.copy()))


@given(seed=SEEDS)
@settings(max_examples=5, deadline=None)
def test_rays_leave_where_a_search_over_all_faces_says(seed: int) -> None:
    """From inside points in any direction, against trimesh's plane equations face by face."""
    from trimesh.triangles import barycentric_to_points, points_to_barycentric

    mesh = shapes.hollow_sphere(20, 12, 24).turned(shapes.rotation(seed))
    rng = np.random.default_rng(seed)
    start, faces = sample_surface(mesh, 40)
    start = start - rng.uniform(0.5, 6, (40, 1)) * mesh.normals[faces]
    ways = rng.normal(size=start.shape)
    ways /= np.linalg.norm(ways, axis=1, keepdims=True)
    expected = np.full(len(start), np.inf)
    for k, (point, way) in enumerate(zip(start, ways, strict=True)):
        slope = mesh.normals @ way
        with np.errstate(divide="ignore", invalid="ignore"):
            reach = np.einsum("ij,ij->i", mesh.triangles[:, 0] - point, mesh.normals) / slope
        facing = np.flatnonzero((slope > 0) & (reach >= 0))
        at = point + reach[facing, None] * way
        weights = points_to_barycentric(mesh.triangles[facing], at)
        inside = (weights >= 0).all(axis=1)
        assert np.allclose(barycentric_to_points(mesh.triangles[facing], weights), at)
        expected[k] = reach[facing][inside].min(initial=np.inf)
    assert RayGrid.of(mesh).exits(start, ways) == pytest.approx(expected, rel=1e-6, abs=1e-9)


@given(seed=SEEDS)
@settings(max_examples=10, deadline=None)
def test_closest_points_are_those_of_trimesh(seed: int) -> None:
    from trimesh.triangles import closest_point

    rng = np.random.default_rng(seed)
    triangles = rng.normal(size=(200, 3, 3)) * rng.choice(
        [0.02, 1.0], size=(200, 1, 3)
    )  # some flat to a line
    points = rng.normal(size=(200, 3)) * 2
    ours = np.linalg.norm(closest_on(triangles, points) - points, axis=1)
    theirs = np.linalg.norm(closest_point(triangles, points) - points, axis=1)
    assert ours == pytest.approx(theirs, abs=1e-9)


@pytest.mark.parametrize("mesh", [LUMPY, shapes.tube(10, 7, 60, 300), shapes.ell(40, 5, 60)])
def test_distance_is_that_to_the_nearest_of_all_faces(mesh: Mesh) -> None:
    rng = np.random.default_rng(3)
    points, faces = sample_surface(mesh, 300)
    points = points - rng.uniform(0, 3, (300, 1)) * mesh.normals[faces]
    exact = np.array(
        [
            np.linalg.norm(closest_on(mesh.triangles, np.tile(p, (len(mesh.faces), 1))) - p, axis=1).min()
            for p in points
        ]
    )
    found = Surface.of(mesh).distance(points)
    assert (found >= exact - 1e-9).all()
    assert np.abs(found - exact).mean() < 0.001
    assert np.abs(found - exact).max() < 0.05


def test_points_spread_by_area_whatever_the_triangles() -> None:
    """Half the area in two faces, the other half in thousands."""
    mesh = Mesh.from_manifold(
        shapes.box(20, 20, 1).manifold().translate((0, 0, -1))
        + shapes.box(20, 20, 1).manifold().refine(40).translate((30, 0, 0))
    )
    points, _ = sample_surface(mesh, 8000)
    assert (points[:, 0] > 25).mean() == pytest.approx(0.5, abs=0.001)
    left = points[(points[:, 0] < 25) & (points[:, 2] == 0)]
    counts = np.histogram2d(left[:, 0], left[:, 1], bins=8, range=[[0, 20], [0, 20]])[0]
    assert counts.min() > 0.7 * counts.mean()  # plain random points leave cells at half the mean


@given(seed=SEEDS)
@settings(max_examples=10, deadline=None)
def test_tiles_leave_no_gap(seed: int) -> None:
    rng = np.random.default_rng(seed)
    triangles = rng.normal(size=(20, 3, 3)) * rng.choice([0.05, 1.0, 5.0], size=(20, 1, 3))
    side = 0.7
    tiles = Tiles.of(triangles, side, 100_000)
    weights = rng.dirichlet((1, 1, 1), size=(20, 50))
    points = np.einsum("ijk,ikl->ijl", weights, triangles)
    for k in range(20):
        boxes = np.flatnonzero(tiles.owner == k)
        off = np.abs(points[k][:, None] - tiles.middle[boxes]) - tiles.half_span[boxes]
        assert (off.max(axis=2).min(axis=1) < 1e-9).all()
        away = np.linalg.norm(points[k][:, None] - tiles.points[boxes], axis=2).min(axis=1)
        assert away.max() <= side * 1.5
