"""The room in a shell against closed forms of inward offsets, and against a Minkowski difference."""

from __future__ import annotations

from pathlib import Path
from unittest.mock import patch

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from manifold3d import Manifold
from numpy.typing import NDArray

from routecost.core.arrays import Floats, Vector
from routecost.mesh.geometry.connected import connected_groups
from routecost.mesh.geometry.isosurface import NEIGHBOURS, zero_surface
from routecost.mesh.geometry.mesh import Mesh
from routecost.mesh.measuring import hollow
from routecost.mesh.measuring.cavity import measure_cavity, shell_mesh
from routecost.mesh.measuring.measures import Cavity
from routecost.mesh.measuring.panel import largest_panel_mm
from routecost.mesh.reading.mesh_reader import read_mesh
from tests.mesh import shapes

SEEDS = st.integers(0, 10_000)
WALL = 1.2
UP: Vector = (0.0, 0.0, 1.0)
POSTS = shapes.posts([20, 5, 14], base=6)
ROOT2 = float(np.sqrt(2))


def angle_volume(leg: float, thick: float, depth: float, t: float) -> float:
    """Two legs inset, and the corner between them rounded: the room keeps t from the inner edge, not the
    corner of the inset outline, which leaves t² − π t²/4 more."""
    a, b = leg - 2 * t, thick - 2 * t
    return float((2 * a * b - b * b + t * t * (1 - np.pi / 4)) * (depth - 2 * t))


CLOSED_FORMS = {
    "box": (shapes.box(20, 30, 40), 17.6 * 27.6 * 37.6),
    "cube": (shapes.box(100, 100, 100), 97.6**3),
    "flat box": (shapes.box(90, 60, 4), 87.6 * 57.6 * 1.6),
    "cylinder": (shapes.cylinder(20, 60, 240), np.pi * 18.8**2 * 57.6),
    "sphere": (shapes.sphere(25, 120), 4 / 3 * np.pi * 23.8**3),
    "angle": (shapes.ell(60, 10, 40), angle_volume(60, 10, 40, WALL)),
    "tube": (shapes.tube(15, 9, 60, 300), np.pi * (13.8**2 - 10.2**2) * 57.6),
    "closed void": (shapes.hollow_sphere(25, 15, 120), 4 / 3 * np.pi * (23.8**3 - 16.2**3)),
    "torus": (shapes.torus(25, 6, 120), 2 * np.pi**2 * 25 * 4.8**2),
}


def cavity(mesh: Mesh, wall: float = WALL, up: Vector = UP) -> Cavity:
    return measure_cavity(mesh, wall, up)


def quick(mesh: Mesh, wall: float = WALL, up: Vector = UP) -> Cavity:
    """On a coarser grid, for what does not hang on the last tenth of a percent."""
    with patch.object(hollow, "SURFACE_NODES", 5_000), patch.object(hollow, "THIN_NODES", 10_000):
        return measure_cavity(mesh, wall, up)


@pytest.mark.parametrize("name", CLOSED_FORMS)
def test_volume_meets_the_closed_form(name: str) -> None:
    mesh, volume = CLOSED_FORMS[name]
    measured = cavity(mesh.turned(shapes.rotation(7)))
    assert measured.volume_mm3 == pytest.approx(volume, rel=0.005)
    assert measured.spaces == 1


@pytest.mark.parametrize("name", ["box", "angle", "closed void"])
def test_shell_and_cavity_make_the_part(name: str) -> None:
    mesh, volume = CLOSED_FORMS[name]
    shell = shell_mesh(mesh, WALL)
    body = shell.manifold()
    assert body.status().name == "NoError"
    assert body.volume() == pytest.approx(shell.volume_mm3, rel=1e-9)
    assert shell.volume_mm3 + cavity(mesh).volume_mm3 == pytest.approx(mesh.volume_mm3, rel=1e-6)
    assert shell.volume_mm3 == pytest.approx(mesh.volume_mm3 - volume, rel=0.02)


def test_shell_is_as_thick_as_asked() -> None:
    """The room keeps the wall from what is outside: least gap between the two bodies, by manifold3d.

    Around the inner edge the room's facets come nearer than their corners, by about step²/8 over the wall.
    """
    mesh = CLOSED_FORMS["angle"][0]
    outer, shell = mesh.manifold(), shell_mesh(mesh, WALL).manifold()
    room = outer - shell
    around = Manifold.cube((100, 100, 100), True).translate((30, 20, 30)) - outer
    assert 0.9 * WALL < room.min_gap(around, 5.0) < 1.001 * WALL


@pytest.mark.parametrize("wall", [1.2, 2.0])
def test_volume_is_that_of_a_minkowski_difference(wall: float) -> None:
    """A block with a boss and a cross hole. The ball is a polyhedron inside the true one and takes too little:
    the error goes with the square of its fineness, so two finenesses give the limit (Richardson)."""
    lump = Manifold.cube((30, 20, 12)) + Manifold.cylinder(30, 8, 5, 12).translate((10, 10, 0))
    lump -= Manifold.cylinder(40, 3, 3, 10).rotate((90, 0, 0)).translate((22, 30, 6))
    coarse, fine = (lump.minkowski_difference(Manifold.sphere(wall, n)).volume() for n in (12, 24))
    limit = fine + (fine - coarse) / 3
    assert cavity(Mesh.from_manifold(lump), wall).volume_mm3 == pytest.approx(limit, rel=0.005)


@pytest.mark.parametrize("name", ["anchor", "part"])
def test_room_of_a_real_part_holds_the_points_farther_than_the_wall(name: str) -> None:
    """Point by point against trimesh: in the part by its winding number, and farther from all its faces."""
    from trimesh.triangles import closest_point

    part = read_mesh(Path(__file__).parents[1] / "real_meshes" / f"{name}.off").mesh
    part = shapes.scaled(part, 80 / float(part.extents_mm.max()))
    shell = shell_mesh(part, WALL)
    low, high = part.bounds_mm
    points = low + np.random.default_rng(1).random((300, 3)) * (high - low)
    points = points[winding(part, points) > 0.5]
    away = np.array(
        [
            np.linalg.norm(closest_point(part.triangles, np.tile(p, (len(part.faces), 1))) - p, axis=1).min()
            for p in points
        ]
    )
    clear = np.abs(away - WALL) > 0.02  # the room's facets cut its edges
    assert clear.sum() > 50
    assert ((winding(shell, points) < 0.5) == (away > WALL))[clear].all()


def winding(mesh: Mesh, points: Floats) -> Floats:
    """How often the surface goes around each point (n,): the sum of its faces' solid angles over 4 π
    (Van Oosterom & Strackee, The Solid Angle of a Plane Triangle, 1983)."""
    turns = []
    for point in points:
        a, b, c = (mesh.triangles - point).transpose(1, 0, 2)
        la, lb, lc = (np.linalg.norm(side, axis=1) for side in (a, b, c))
        dot = np.einsum("ij,ij->i", a, b) * lc + np.einsum("ij,ij->i", b, c) * la
        dot = dot + np.einsum("ij,ij->i", c, a) * lb + la * lb * lc
        turns.append(2 * np.arctan2(np.einsum("ij,ij->i", a, np.cross(b, c)), dot).sum() / (4 * np.pi))
    return np.array(turns)


def test_walls_of_a_housing() -> None:
    """Gaps of 1.6 mm in the walls of an open box; the inner edges round off as in the angle."""
    outer, wall, t = np.array([80.0, 60.0, 40.0]), 4.0, WALL
    mesh = Mesh.from_manifold(
        Manifold.cube(tuple(outer)) - Manifold.cube((72, 52, 40)).translate((wall, wall, wall))
    )
    room = outer - 2 * t
    taken = Manifold.cube((72, 52, 80)).translate((wall, wall, wall)).minkowski_sum(Manifold.sphere(t, 64))
    exact = (Manifold.cube(tuple(room)).translate((t, t, t)) - taken).volume()
    measured = cavity(mesh.turned(shapes.rotation(2)))
    assert measured.volume_mm3 == pytest.approx(exact, rel=0.01)
    assert measured.spaces == 1


@pytest.mark.parametrize("mesh", [shapes.box(60, 40, 2.3), shapes.tube(10, 8, 30), shapes.sphere(1.1, 40)])
def test_no_room_in_a_part_thinner_than_two_walls(mesh: Mesh) -> None:
    measured = quick(mesh)
    assert (measured.volume_mm3, measured.spaces, measured.peaks, measured.height_mm) == (0, 0, 0, 0)
    assert measured.area_by_height_mm2 == ()
    assert measured.thickest_mm == 0
    assert shell_mesh(mesh, WALL).volume_mm3 == mesh.volume_mm3


def test_each_body_and_each_bulb_is_a_space() -> None:
    apart = shapes.beside(shapes.box(10, 10, 10), shapes.moved(shapes.sphere(8, 60), (40, 0, 0)))
    assert quick(apart).spaces == 2
    assert quick(shapes.dumbbell(12, 40, 1.0, 60)).spaces == 2  # the rod is thinner than two walls
    assert quick(shapes.dumbbell(12, 40, 4.0, 60)).spaces == 1


@given(seed=SEEDS)
@settings(max_examples=2, deadline=None)
def test_tops_to_be_vented(seed: int) -> None:
    """Posts joined below: three tops. Upside down: none but the plate's. A box in any pose: one."""
    turn = np.deg2rad(seed % 360)
    about_z = np.array([[np.cos(turn), -np.sin(turn), 0], [np.sin(turn), np.cos(turn), 0], [0, 0, 1.0]])
    posts = POSTS.turned(about_z)
    assert quick(posts).peaks == 3
    assert quick(posts, up=(0.0, 0.0, -1.0)).peaks == 1
    x, y, z = shapes.rotation(seed)[2].tolist()
    assert quick(shapes.box(20, 30, 12), up=(x, y, z)).peaks == 1
    assert quick(shapes.hollow_sphere(20, 8, 60), up=(x, y, z)).peaks == 1  # the void's wall is no vent


def test_tops_of_a_lying_and_a_standing_dumbbell() -> None:
    bar = shapes.dumbbell(12, 40, 4.0, 60)
    assert quick(bar, up=(1.0, 0.0, 0.0)).peaks == 2
    assert quick(bar, up=(0.0, 0.0, 1.0)).peaks == 1


@pytest.mark.parametrize("up", [(0.0, 0.0, 1.0), (0.6, 0.0, 0.8), (-1.0, 0.0, 0.0)])
def test_areas_by_height(up: Vector) -> None:
    measured = cavity(CLOSED_FORMS["sphere"][0], up=up)
    areas = np.array(measured.area_by_height_mm2)
    z = (np.arange(len(areas)) + 0.5) * measured.slice_mm - 23.8
    assert measured.height_mm == pytest.approx(47.6, rel=0.005)
    assert measured.slice_mm * len(areas) == pytest.approx(measured.height_mm)
    assert areas == pytest.approx(np.pi * np.maximum(23.8**2 - z**2, 0), abs=0.01 * np.pi * 23.8**2)
    assert areas.sum() * measured.slice_mm == pytest.approx(measured.volume_mm3, rel=1e-9)


@given(seed=SEEDS, factor=st.sampled_from([0.1, 2.0, 25.4]))
@settings(max_examples=3, deadline=None)
def test_cavity_turns_moves_and_scales_with_the_part(seed: int, factor: float) -> None:
    turn = shapes.rotation(seed)
    moved = shapes.scaled(shapes.moved(POSTS.turned(turn), (500, -300, 1e3)), factor)
    x, y, z = (turn @ UP).tolist()
    here, there = quick(POSTS), quick(moved, WALL * factor, (x, y, z))
    assert there.volume_mm3 == pytest.approx(here.volume_mm3 * factor**3, rel=0.01)
    assert there.height_mm == pytest.approx(here.height_mm * factor, rel=0.005)
    assert there.thickest_mm == pytest.approx(here.thickest_mm * factor, rel=0.01)
    assert there.largest_panel_mm == pytest.approx([s * factor for s in here.largest_panel_mm], rel=0.01)
    assert (there.spaces, there.peaks) == (here.spaces, here.peaks)


@given(walls=st.lists(st.floats(0.3, 5.0), min_size=2, max_size=2))
@settings(max_examples=3, deadline=None)
def test_a_thicker_wall_leaves_less_room(walls: list[float]) -> None:
    thin, thick = sorted(walls)
    one, two = quick(POSTS, thin), quick(POSTS, thick)
    assert two.volume_mm3 <= one.volume_mm3 * (1 + 1e-3)
    assert two.thickest_mm <= one.thickest_mm + 1e-9
    assert two.height_mm <= one.height_mm + 1e-3


def test_room_of_a_very_thin_shell_is_nearly_the_part() -> None:
    """To first order the volume taken is area × wall."""
    mesh = CLOSED_FORMS["sphere"][0]
    taken = mesh.volume_mm3 - cavity(mesh, 0.1).volume_mm3
    assert taken == pytest.approx(mesh.area_mm2 * 0.1 * (1 - 0.1 / 25), rel=0.1)


def test_thickest_section_of_the_room() -> None:
    assert quick(CLOSED_FORMS["box"][0]).thickest_mm == pytest.approx(17.6, rel=0.01)
    corner = 2 * 10 * ROOT2 / (1 + ROOT2)  # ball in the corner of an angle, less the wall on both sides
    assert quick(CLOSED_FORMS["angle"][0]).thickest_mm == pytest.approx(corner - 2 * WALL, rel=0.01)


def test_the_same_mesh_gives_the_same_cavity() -> None:
    mesh = CLOSED_FORMS["angle"][0]
    assert quick(mesh) == quick(Mesh.of(mesh.vertices.copy(), mesh.faces.copy()))


@pytest.mark.parametrize("pieces", [1, 12])
def test_panel_of_a_box_is_its_largest_side_less_the_walls(pieces: int) -> None:
    mesh = shapes.subdivided(shapes.box(20, 30, 40), pieces).turned(shapes.rotation(4))
    assert largest_panel_mm(mesh, WALL) == pytest.approx((27.6, 37.6), rel=1e-3)


def test_panels_that_are_no_rectangles() -> None:
    ring = largest_panel_mm(shapes.tube(30, 20, 10), WALL)  # on top: breadth, and length along the middle
    assert ring == pytest.approx((10 - 2 * WALL, np.pi * 50), rel=0.02)
    disc = largest_panel_mm(shapes.cylinder(20, 60), WALL)
    assert disc == pytest.approx((37.6, 37.6), rel=0.01)
    assert largest_panel_mm(shapes.sphere(20, 100), WALL)[1] < 2  # nothing but facets
    assert largest_panel_mm(shapes.box(2.0, 2.2, 2.3), WALL) == (0.0, 0.0)


def test_a_hole_divides_a_panel() -> None:
    """40 × 60 with a hole of radius 8 in the middle: the largest circle beside it, clear of both walls."""
    plate = shapes.box(40, 60, 10).manifold() - Manifold.cylinder(10, 8, 8, 128).translate((20, 30, 0))
    short, long = largest_panel_mm(Mesh.from_manifold(plate), WALL)
    # centre on the middle line at y: as far from the end as from the hole, or from a corner
    diameter = min(37.6, 30 - 8 - 2 * WALL)
    # off the middle line there is more room: centre (x, y), r = x = y = distance to the hole
    x = np.linspace(diameter / 2, 18.8, 20_000)
    off = x[np.hypot(18.8 - x, 28.8 - x) - (8 + WALL) >= x].max(initial=diameter / 2)
    assert short == pytest.approx(2 * off, rel=0.01)
    assert short * long == pytest.approx(37.6 * 57.6 - np.pi * 9.2**2, rel=0.005)


@given(seed=SEEDS)
@settings(max_examples=8, deadline=None)
def test_zero_surface_is_a_closed_body_whatever_the_values(seed: int) -> None:
    """Noise, the hardest case: manifold3d accepts it, finds the same volume, and as many outer shells and
    voids as scipy finds connected pieces of either sign."""
    from scipy import ndimage

    values: NDArray[np.float32] = np.random.default_rng(seed).normal(size=(9, 8, 7)).astype(np.float32)
    values[[0, -1]] = values[:, [0, -1]] = values[:, :, [0, -1]] = -1
    a, b, faces = zero_surface(values)
    at = np.stack(np.unravel_index(a, values.shape), axis=1).astype(float)
    to = np.stack(np.unravel_index(b, values.shape), axis=1)
    va, vb = values.ravel()[a], values.ravel()[b]
    assert ((va > 0) != (vb > 0)).all()
    mesh = Mesh.of(at + (va / (va - vb))[:, None] * (to - at), faces)
    body = mesh.manifold()
    assert body.status().name == "NoError"
    assert body.volume() == pytest.approx(mesh.volume_mm3, rel=1e-9)
    pieces = [ndimage.label(side, structure=NEIGHBOURS)[1] for side in (values > 0, values <= 0)]
    assert len(body.decompose()) <= sum(pieces) - 1
    edges = np.concatenate([mesh.faces[:, :2], mesh.faces[:, 1:]])
    assert connected_groups(len(mesh.vertices), edges[:, 0], edges[:, 1])[0] == sum(pieces) - 1
