"""Layers against closed forms, against polygons cut by manifold3d, and against themselves turned and shuffled."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from manifold3d import CrossSection, Manifold

from routecost.mesh.geometry.mesh import Mesh
from routecost.mesh.measuring import layers as layers_module
from routecost.mesh.measuring.layers import measure_layers
from tests.mesh import shapes

UP = (0.0, 0.0, 1.0)
DOWN = (0.0, 0.0, -1.0)

BODIES = {
    "box": shapes.box(80, 40, 30),
    "cone": shapes.cone(10, 6, 12, 48),
    "sphere": shapes.sphere(10, 48),
    "hollow sphere": shapes.hollow_sphere(10, 7, 32),
    "torus": shapes.torus(15, 5, 32),
    "tube": shapes.tube(20, 12, 10, 48),
    "arch": shapes.arch(20, 5, 30, 6, 10),
    "posts": shapes.posts([15, 12, 9], pointed=True),
    "ell": shapes.ell(40, 6, 20),
}


def ngon_area(r: float, n: int) -> float:
    return n / 2 * r * r * np.sin(2 * np.pi / n)


def ngon_perimeter(r: float, n: int) -> float:
    return 2 * n * r * np.sin(np.pi / n)


def test_box_and_cylinder_are_exact():
    box = measure_layers(shapes.box(80, 40, 30), UP, 7)
    assert box.area_mm2 == pytest.approx([3200] * 7)
    assert box.perimeter_mm == pytest.approx([240] * 7)
    assert box.height_mm == pytest.approx([(k + 0.5) * 30 / 7 for k in range(7)])
    lying = measure_layers(shapes.box(80, 40, 30), (1.0, 0.0, 0.0), 5)
    assert lying.area_mm2 == pytest.approx([1200] * 5)
    assert lying.layer_mm == pytest.approx(16)
    # regular polygon: n/2 r² sin(2π/n), 2 n r sin(π/n)
    cylinder = measure_layers(shapes.cylinder(20, 50, 96), UP, 500)
    assert cylinder.area_mm2 == pytest.approx([ngon_area(20, 96)] * 500)
    assert cylinder.perimeter_mm == pytest.approx([ngon_perimeter(20, 96)] * 500)


@pytest.mark.parametrize("count", [1, 2, 3, 9, 200])
def test_cone_by_layer(count):
    # frustum: the section at height z is the base scaled by 1 - 0.4 z/12
    cone = measure_layers(shapes.cone(10, 6, 12, 64), UP, count)
    r = 10 - 4 * (np.arange(count) + 0.5) / count
    assert cone.area_mm2 == pytest.approx([ngon_area(x, 64) for x in r])
    assert cone.perimeter_mm == pytest.approx([ngon_perimeter(x, 64) for x in r])


def test_sphere_perimeters_add_up_to_their_integral():
    # ∫ 2π √(r² - z²) dz over the diameter = π² r²; the mesh is inscribed with (2π/n)²/6 = 1e-4 less
    sphere = measure_layers(shapes.sphere(10, 256), UP, 400)
    assert sum(sphere.perimeter_mm) * sphere.layer_mm == pytest.approx(np.pi**2 * 100, rel=1e-3)


def test_layers_add_up_to_the_volume_as_their_square():
    # midpoint rule on A(z) = A0 (1 - z/h)²: (h/n)²/24 · (A'(h) - A'(0)) = A0 h / (12 n²), exact for a quadratic
    cone = shapes.cone(10, 0, 12, 64)
    for count in (4, 8, 16):
        layers = measure_layers(cone, UP, count)
        missing = cone.volume_mm3 - sum(layers.area_mm2) * layers.layer_mm
        assert missing == pytest.approx(ngon_area(10, 64) * 12 / (12 * count**2), rel=1e-4)


@pytest.mark.parametrize("name", BODIES)
def test_volume_is_conserved(name):
    mesh = BODIES[name].turned(shapes.rotation(3))
    layers = measure_layers(mesh, UP, 400)
    assert sum(layers.area_mm2) * layers.layer_mm == pytest.approx(mesh.volume_mm3, rel=1e-3)


def test_islands_and_holes():
    assert set(measure_layers(shapes.tube(20, 12, 10), UP, 9).islands) == {1}
    arch = measure_layers(shapes.arch(20, 5, 30, 6, 10), UP, 10)
    assert arch.islands == (2,) * 8 + (1,) * 2
    assert measure_layers(shapes.posts([15, 15, 5]), UP, 17).islands == (1,) * 2 + (3,) * 5 + (2,) * 10
    # a closed void is a hole in its section, a body in that void is an island of its own
    hollow = shapes.hollow_sphere(10, 7, 48)
    assert set(measure_layers(hollow, UP, 40).islands) == {1}
    nested = shapes.beside(hollow, shapes.moved(shapes.sphere(3, 48), (0, 0, 7)))
    islands = measure_layers(nested, UP, 40).islands
    assert islands[19] == 2
    assert islands[4] == 1


def test_a_plane_through_faces_and_corners():
    # a step exactly at the one plane, at half height: the section is that of the part beneath
    step = Mesh.from_manifold(Manifold.cube((10, 10, 5)) + Manifold.cube((4, 10, 10)))
    assert measure_layers(step, UP, 1).area_mm2 == pytest.approx((100,))
    assert measure_layers(step, DOWN, 1).area_mm2 == pytest.approx((40,))
    # octahedron cut through its four middle corners
    corners = [[3, 0, 0], [-3, 0, 0], [0, 3, 0], [0, -3, 0], [0, 0, 3], [0, 0, -3]]
    octahedron = Mesh.from_manifold(Manifold.hull_points(corners))
    cut = measure_layers(octahedron, UP, 1)
    assert cut.area_mm2 == pytest.approx((18,))
    assert cut.perimeter_mm == pytest.approx((12 * np.sqrt(2),))
    assert cut.islands == (1,)


@pytest.mark.parametrize("seed", range(12))
def test_a_floor_at_mid_height_stays_with_the_layer_beneath_it(seed):
    # rounding in a rotation must not decide it
    tray = Mesh.from_manifold(
        Manifold.cube((40, 30, 10)) - Manifold.cube((30, 20, 10)).translate((5, 5, 2.5))
    )
    rotation = shapes.rotation(seed)
    layers = measure_layers(tray.turned(rotation), tuple(rotation[:, 2]), 10)
    assert layers.area_mm2 == pytest.approx([1200] * 3 + [600] * 7)


def test_two_bodies_that_touch_in_a_plane():
    low, high = shapes.box(10, 10, 5), shapes.moved(shapes.box(6, 6, 5), (0, 0, 5))
    for count in (1, 2, 3, 5):
        layers = measure_layers(shapes.beside(low, high), UP, count)
        assert layers.area_mm2 == pytest.approx([100 if z <= 5 else 36 for z in layers.height_mm])


@settings(max_examples=40, deadline=None, derandomize=True)
@given(name=st.sampled_from(sorted(BODIES)), seed=st.integers(0, 1000), count=st.integers(1, 60))
def test_polygons_of_a_geometry_kernel_agree(name, seed, count):
    # manifold3d cuts the same planes into polygons
    mesh = BODIES[name].turned(shapes.rotation(seed))
    layers = measure_layers(mesh, UP, count)
    solid = Mesh(np.array(mesh.vertices), mesh.faces).manifold()
    low = mesh.bounds_mm[0, 2]
    cuts = [solid.slice(low + z) for z in layers.height_mm]
    assert layers.area_mm2 == pytest.approx([cut.area() for cut in cuts], rel=1e-6, abs=1e-6)
    assert layers.perimeter_mm == pytest.approx([perimeter(cut) for cut in cuts], rel=1e-6, abs=1e-4)
    whole = [k for k, cut in enumerate(cuts) if all(abs(piece.area()) > 1e-6 for piece in cut.decompose())]
    assert [layers.islands[k] for k in whole] == [len(cuts[k].decompose()) for k in whole]


def perimeter(figure: CrossSection) -> float:
    rings = [np.asarray(ring) for ring in figure.to_polygons()]
    return float(sum(np.hypot(*(np.roll(ring, -1, axis=0) - ring).T).sum() for ring in rings))


@settings(max_examples=25, deadline=None, derandomize=True)
@given(name=st.sampled_from(sorted(BODIES)), seed=st.integers(0, 1000), factor=st.floats(0.01, 100))
def test_what_must_not_matter(name, seed, factor):
    mesh = BODIES[name]
    plain = measure_layers(mesh, UP, 23)

    def same(other: Mesh, up=UP, scale=1.0, reverse=False) -> None:
        layers = measure_layers(other, up, 23)
        step = -1 if reverse else 1
        assert layers.area_mm2[::step] == pytest.approx([a * scale**2 for a in plain.area_mm2], rel=1e-6)
        assert layers.perimeter_mm[::step] == pytest.approx([p * scale for p in plain.perimeter_mm], rel=1e-6)
        assert layers.islands[::step] == plain.islands
        assert layers.layer_mm == pytest.approx(plain.layer_mm * scale)

    same(shapes.shuffled(mesh, seed))
    same(shapes.moved(mesh, (300.0, -1000.0, 77.0)))
    same(shapes.scaled(mesh, factor), scale=factor)
    turn = np.deg2rad(seed)
    about_z = np.array([[np.cos(turn), -np.sin(turn), 0], [np.sin(turn), np.cos(turn), 0], [0, 0, 1]])
    same(mesh.turned(about_z))
    rotation = shapes.rotation(seed)
    same(mesh.turned(rotation), up=tuple(rotation[:, 2]))


def test_upside_down_is_the_reverse():
    cone = shapes.cone(10, 6, 12, 48)
    assert measure_layers(cone, DOWN, 9).area_mm2[::-1] == pytest.approx(measure_layers(cone, UP, 9).area_mm2)


def test_blocks_of_planes_give_the_same(monkeypatch):
    mesh = BODIES["torus"].turned(shapes.rotation(5))
    whole = measure_layers(mesh, UP, 90)
    monkeypatch.setattr(layers_module, "BLOCK", 500)
    assert measure_layers(mesh, UP, 90) == whole
