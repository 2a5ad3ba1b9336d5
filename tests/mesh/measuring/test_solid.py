"""Volume, area, bodies, voids and the smallest box against closed forms and a reference library."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st
from manifold3d import Manifold

from routecost.core.arrays import Floats
from routecost.core.errors import InputError
from routecost.mesh.geometry.mesh import Mesh
from routecost.mesh.geometry.smallest_box import smallest_box
from routecost.mesh.measuring.solid import measure_solid
from routecost.mesh.reading.mesh_reader import read_mesh
from routecost.mesh.reading.mesh_writer import write_mesh
from tests.mesh.reading.mesh_files import WRITERS
from tests.mesh.shapes import (
    beside,
    box,
    cone,
    cylinder,
    drilled,
    hollow_sphere,
    knot,
    moved,
    revolved,
    rotation,
    scaled,
    solid,
    sphere,
    torus,
    tube,
)

REAL = Path(__file__).parents[1] / "real_meshes"
PHI = (1 + 5**0.5) / 2
FACETS = 3 * (2 * np.pi) ** 2 / 6
"""n² times the share that n corners leave out of a volume: (2π/n)²/6 for the circle the profile runs along, and
twice that at most for a round profile, since its radius counts squared."""


def hull(points: Floats) -> Mesh:
    return Mesh.from_manifold(Manifold.hull_points(np.asarray(points, dtype=np.float64)))


def capsule(n: int) -> Mesh:
    """Radius 2, 10 between the middles of its ends."""
    turn = np.linspace(0, np.pi / 2, n // 4 + 1)[1:-1]
    low = [(2 * np.sin(t), -2 * np.cos(t)) for t in turn]
    high = [(2 * np.cos(t), 10 + 2 * np.sin(t)) for t in turn]
    return revolved([(0, -2), *low, (2, 0), (2, 10), *high, (0, 12)], n)


def cap(n: int) -> Mesh:
    """Cut 4 high from a ball of radius 10."""
    turn = np.linspace(np.arccos(0.6), 0, n // 4)[:-1]
    return revolved([(0, 6), *((10 * np.sin(t), 10 * np.cos(t)) for t in turn), (0, 10)], n)


def steinmetz(n: int) -> Mesh:
    """Two cylinders of radius 1 that cross at right angles: what they share."""
    bar = Manifold.cylinder(4, 1, 1, n, center=True)
    return Mesh.from_manifold(bar.rotate((90, 0, 0)) ^ bar.rotate((0, 90, 0)))


def ellipsoid(n: int) -> Mesh:
    return Mesh.of(sphere(1, n).vertices * [3, 2, 1], sphere(1, n).faces)


def signs(*coordinates: float) -> Floats:
    """All sign changes of a point."""
    return np.array(np.meshgrid(*([-c, c] for c in coordinates))).reshape(3, -1).T


def cyclic(points: Floats) -> Floats:
    return np.vstack([np.roll(points, k, axis=1) for k in range(3)])


# name: (mesh of n facets to the circle, volume, area); source: closed forms, every digit derived
ROUND_SOLIDS: dict[str, tuple[Callable[[int], Mesh], float, float]] = {
    "sphere r 1": (lambda n: sphere(1, n), 4.1887902048, 12.5663706144),  # 4/3 π r³, 4 π r²
    "torus 10, 3": (
        lambda n: torus(10, 3, n),
        1776.5287921961,
        1184.3525281307,
    ),  # 2 π² R r², 4 π² R r (Pappus)
    "frustum 10, 6, 12": (lambda n: cone(10, 6, 12, n), 2463.0086404144, 1063.0702498992),
    "tube 10, 8, 50": (lambda n: tube(10, 8, 50, n), 5654.8667764616, 5881.0614475201),
    "capsule 2, 10": (capsule, 159.1740277819, 175.9291886010),
    "cap 10, 4": (cap, 435.6341812978, 452.3893421169),  # π h² (3R − h)/3, π (2 R h + a²)
    "two cylinders": (steinmetz, 16 / 3, 16.0),  # Steinmetz
    "ellipsoid 3, 2, 1": (ellipsoid, 25.1327412287, 48.8821463026),  # 4/3 π abc; area by elliptic integrals
}

FLAT_SOLIDS: dict[str, tuple[Mesh, float, float]] = {
    # unit edges; closed forms of the regular solids
    "tetrahedron": (
        hull(np.array([[1, 1, 1], [1, -1, -1], [-1, 1, -1], [-1, -1, 1]]) / 8**0.5),
        0.1178511302,
        1.7320508076,
    ),
    "octahedron": (hull(np.vstack([np.eye(3), -np.eye(3)]) / 2**0.5), 0.4714045208, 3.4641016151),
    "dodecahedron": (
        hull(np.vstack([signs(1, 1, 1), cyclic(signs(0, 1 / PHI, PHI))]) * PHI / 2),
        7.6631189606,
        20.6457288071,
    ),
    "icosahedron": (hull(cyclic(signs(0, 1, PHI)) / 2), 2.1816949906, 8.6602540378),
    "cube": (box(1, 1, 1), 1.0, 6.0),
}


@pytest.mark.parametrize("name", ROUND_SOLIDS)
def test_round_solids_come_nearer_with_the_square_of_the_facets(name: str) -> None:
    make, volume, area = ROUND_SOLIDS[name]
    errors = []
    for n in (32, 128):
        measured = measure_solid(make(n))
        errors.append(abs(measured.volume_mm3 / volume - 1))
        assert measured.volume_mm3 == pytest.approx(volume, rel=FACETS / n**2)
        assert measured.area_mm2 == pytest.approx(area, rel=FACETS / n**2)
        assert measured.bodies == 1
    assert errors[1] < errors[0] / 10  # four times the facets: a sixteenth of the error


@pytest.mark.parametrize("kind", WRITERS)
@pytest.mark.parametrize("name", ROUND_SOLIDS)
def test_round_solids_through_every_format(name: str, kind: str, tmp_path: Path) -> None:
    make, volume, area = ROUND_SOLIDS[name]
    suffix, write = WRITERS[kind]
    path = tmp_path / f"solid{suffix}"
    path.write_bytes(write(scaled(make(48), 10)))
    reading = read_mesh(path, unit="mm")
    assert reading.mesh.volume_mm3 == pytest.approx(1000 * volume, rel=FACETS / 48**2)
    assert reading.mesh.area_mm2 == pytest.approx(100 * area, rel=FACETS / 48**2)
    assert not reading.repairs


@pytest.mark.parametrize("name", FLAT_SOLIDS)
def test_flat_solids_are_exact(name: str) -> None:
    mesh, volume, area = FLAT_SOLIDS[name]
    measured = measure_solid(mesh)
    assert measured.volume_mm3 == pytest.approx(volume, rel=1e-9)
    assert measured.area_mm2 == pytest.approx(area, rel=1e-9)


@pytest.mark.parametrize("n", [32, 64, 128])
def test_a_prism_of_n_sides_has_its_share_of_the_cylinder(n: int) -> None:
    """(n / 2π) sin(2π / n) of the circle's area: 0.993587, 0.998394, 0.999598."""
    share = n / (2 * np.pi) * np.sin(2 * np.pi / n)
    assert share == pytest.approx({32: 0.993587, 64: 0.998394, 128: 0.999598}[n], abs=1e-6)
    assert measure_solid(cylinder(5, 8, n)).volume_mm3 == pytest.approx(share * np.pi * 25 * 8, rel=1e-9)


@settings(max_examples=15)
@given(seed=st.integers(0, 2**32 - 1), suffix=st.sampled_from([".stl", ".3mf"]))
def test_turned_moved_and_in_inches_the_numbers_stay(
    seed: int, suffix: str, tmp_path_factory: pytest.TempPathFactory
) -> None:
    body = drilled()
    changed = moved(body.turned(rotation(seed)), np.random.default_rng(seed).uniform(-300, 300, 3))
    path = tmp_path_factory.mktemp("turned") / f"part{suffix}"
    unit = "in" if suffix == ".stl" else None
    write_mesh(scaled(changed, 1 / 25.4) if unit else changed, path)
    one, other = measure_solid(body), measure_solid(read_mesh(path, unit=unit).mesh)
    assert other.volume_mm3 == pytest.approx(one.volume_mm3, rel=1e-5)
    assert other.area_mm2 == pytest.approx(one.area_mm2, rel=1e-5)
    assert (other.bodies, other.closed_voids, other.faces) == (one.bodies, one.closed_voids, one.faces)
    assert other.closed_void_volume_mm3 == pytest.approx(one.closed_void_volume_mm3, rel=1e-5)
    assert other.smallest_box_mm == pytest.approx(one.smallest_box_mm, rel=1e-3)


# -- bodies and voids --------------------------------------------------------------------------------------


def test_a_hollow_ball_has_one_body_and_one_void() -> None:
    hollow = measure_solid(hollow_sphere(20, 15, 96))
    assert (hollow.bodies, hollow.closed_voids) == (1, 1)
    assert hollow.volume_mm3 == pytest.approx(4 / 3 * np.pi * (20**3 - 15**3), rel=2e-3)
    assert hollow.closed_void_volume_mm3 == pytest.approx(4 / 3 * np.pi * 15**3, rel=2e-3)
    assert hollow.area_mm2 == pytest.approx(4 * np.pi * (20**2 + 15**2), rel=2e-3)


def test_what_rattles_in_a_void_is_a_body_and_takes_room_from_it() -> None:
    hollow, ball = hollow_sphere(20, 15, 48), moved(sphere(4, 48), (2, -3, 20))
    measured = measure_solid(beside(hollow, ball, moved(box(5, 5, 5), (50, 0, 0))))
    assert (measured.bodies, measured.closed_voids) == (3, 1)
    empty = measure_solid(hollow).closed_void_volume_mm3
    assert measured.closed_void_volume_mm3 == pytest.approx(empty - ball.volume_mm3, rel=1e-9)
    assert measured.volume_mm3 == pytest.approx(hollow.volume_mm3 + ball.volume_mm3 + 125, rel=1e-9)


def test_a_pocket_and_a_through_hole_are_no_voids() -> None:
    assert measure_solid(tube(10, 8, 50, 32)).closed_voids == 0
    assert measure_solid(knot()).closed_voids == 0


def test_a_void_and_the_material_fill_the_outside_of_the_part() -> None:
    """Conservation: volume and voids together are the volume of the part without its voids' walls."""
    measured = measure_solid(drilled())
    filled = sum(piece.volume() for piece in solid(drilled()).decompose() if piece.volume() > 0)
    assert measured.closed_voids == 1
    assert measured.volume_mm3 + measured.closed_void_volume_mm3 == pytest.approx(filled, rel=1e-9)
    assert measured.closed_void_volume_mm3 == pytest.approx(6 * 20 * 25)  # the pocket that is cut inside


# -- the smallest box --------------------------------------------------------------------------------------


@settings(max_examples=15)
@given(
    seed=st.integers(0, 2**32 - 1),
    sides=st.tuples(*[st.floats(0.5, 200)] * 3),
)
def test_a_box_is_its_own_smallest_box(seed: int, sides: tuple[float, float, float]) -> None:
    turned = box(*sides).vertices @ rotation(seed).T
    assert smallest_box(turned) == pytest.approx(sorted(sides), rel=1e-6)


@settings(max_examples=15)
@given(seed=st.integers(0, 2**32 - 1))
def test_a_tetrahedron_stands_in_the_cube_of_its_face_diagonals(seed: int) -> None:
    """Side 1/√2 for unit edges: half the volume of the best box that lies on one of its faces."""
    tetrahedron = FLAT_SOLIDS["tetrahedron"][0]
    assert smallest_box(tetrahedron.vertices @ rotation(seed).T) == pytest.approx([2**-0.5] * 3, rel=1e-3)


@settings(max_examples=15)
@given(seed=st.integers(0, 2**32 - 1), d=st.floats(1, 50), h=st.floats(1, 50))
def test_a_cylinder_has_the_box_of_its_diameter_and_height(seed: int, d: float, h: float) -> None:
    """For h < d/√2 … or so a tilted box is no smaller either; 64 corners are 0.12 % short of the circle."""
    found = smallest_box(cylinder(d / 2, h, 64).vertices @ rotation(seed).T)
    assert found == pytest.approx(sorted([d, d, h]), rel=2e-3)


@pytest.mark.parametrize(
    "name", ["part", "joint", "spool", "pipe", "anchor", "mpi", "oblong", "u", "blob-closed"]
)
def test_no_box_of_the_reference_library_is_smaller(name: str) -> None:
    points = read_mesh(REAL / f"{name}.off").mesh.vertices
    reference = float(trimesh.bounds.oriented_bounds(points)[1].prod())
    assert float(np.prod(smallest_box(points))) <= reference * 1.0001


@settings(max_examples=15)
@given(seed=st.integers(0, 2**32 - 1), n=st.integers(4, 400), stretch=st.floats(0.1, 1))
def test_the_box_is_the_same_in_every_position(seed: int, n: int, stretch: float) -> None:
    points = np.random.default_rng(seed).normal(size=(n, 3)) * [1, stretch, 0.3]
    one = smallest_box(points)
    other = smallest_box(5 * (points @ rotation(seed + 1).T) + [100, -50, 3])
    assert np.prod(other) == pytest.approx(125 * np.prod(one), rel=1e-3)  # worst of 150: 0.08 %
    assert np.prod(one) <= np.prod(np.ptp(points, axis=0)) * (1 + 1e-9)
    reference = float(trimesh.bounds.oriented_bounds(points)[1].prod())
    assert np.prod(one) <= reference * 1.001


def test_a_box_around_a_dense_mesh_holds_all_its_points() -> None:
    """Only some of the points choose the axes, all of them measure the sides: none sticks out."""
    ball = sphere(30, 256)
    assert len(ball.vertices) > 30_000
    assert smallest_box(ball.vertices) == pytest.approx([60, 60, 60], rel=1e-3)
    spiked = np.vstack([ball.vertices, [[0, 0, 90]]])
    # upright it is 60 × 60 × 90; tilted, with the spike in a corner, less: no box holds it whose diagonal is short
    sides = smallest_box(spiked)
    assert np.prod(sides) <= 60 * 60 * 90
    assert np.linalg.norm(sides) >= 90
    assert np.prod(sides) <= float(trimesh.bounds.oriented_bounds(spiked)[1].prod()) * 1.001


def test_extents_are_those_of_the_frame_the_part_is_in() -> None:
    measured = measure_solid(moved(box(30, 10, 20), (5, 5, 5)))
    assert measured.extents_mm == pytest.approx((30, 10, 20))
    assert measured.smallest_box_mm == pytest.approx((10, 20, 30))


def test_a_wrong_winding_never_gives_a_volume_silently() -> None:
    """`oblong` with half its faces turned: closed, and 20 % off if its faces are simply summed."""
    right, shuffled = (read_mesh(REAL / f"{name}.off") for name in ("oblong", "oblong-shuffled"))
    volume = measure_solid(right.mesh).volume_mm3
    assert measure_solid(shuffled.mesh).volume_mm3 == pytest.approx(volume, rel=1e-7)
    assert shuffled.repairs
    assert not right.repairs
    assert trimesh.load_mesh(REAL / "oblong-shuffled.off").volume < 0.9 * volume


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("open_cube", ("4 open edges around 1 hole", "400 mm around", "(50, 0, 50) mm")),
        ("corner_with_hole", ("4 open edges around 1 hole", "4 mm around", "(0.5, 0.5, 0) mm")),
        ("blob", ("4 open edges around 1 hole",)),
        ("double-torus-3-holes", ("38 open edges around 3 holes",)),
        ("tetra_intersected_by_triangle", ("3 open edges",)),
        ("prim", ("line 24", "11 vertices and 7 faces")),
    ],
)
def test_real_meshes_that_are_no_solid_are_refused(name: str, words: tuple[str, ...]) -> None:
    with pytest.raises(InputError) as caught:
        read_mesh(REAL / f"{name}.off")
    assert all(word in str(caught.value) for word in words), str(caught.value)


@pytest.mark.parametrize(
    ("name", "volume"), [("beam", 0.576), ("tetrahedron", 1 / 6), ("cube4-shuffled", 8.0)]
)
def test_real_meshes_of_wrong_winding_are_turned(name: str, volume: float) -> None:
    """0.4 · 0.4 · 3.6; a sixth of a unit cube; a cube of side 2: the sides can be read from the files."""
    reading = read_mesh(REAL / f"{name}.off")
    assert measure_solid(reading.mesh).volume_mm3 == pytest.approx(volume, rel=1e-6)
    assert any("turned" in repair for repair in reading.repairs)
