"""The deposit against areas worked out by hand, against every layer cut, and against itself turned and scaled."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from manifold3d import CrossSection, Manifold

from routecost.core.errors import InputError
from routecost.mesh.geometry.mesh import Mesh
from routecost.mesh.measuring import deposit as deposit_module
from routecost.mesh.measuring.deposit import measure_deposit
from routecost.mesh.measuring.measures import Deposit
from routecost.mesh.measuring.sections import Rings, straight_moves
from routecost.mesh.measuring.shape import Shape
from tests.mesh import shapes

UP = (0.0, 0.0, 1.0)
LINE = 0.45

BODIES = {
    "box": shapes.box(30, 20, 10),
    "cone": shapes.cone(10, 6, 12, 64),
    "sphere": shapes.sphere(10, 64),
    "hollow sphere": shapes.hollow_sphere(10, 7, 64),
    "torus": shapes.torus(12, 4, 48),
    "cup": shapes.cup(20, 18.8, 25, 1.2, 96),
    "arch": shapes.arch(20, 5, 30, 6, 10),
    "ell": shapes.ell(25, 4, 12),
}


def measured(mesh: Mesh, up=UP, layer=0.2, line=LINE, walls=3, skins=4) -> Deposit:
    return measure_deposit(mesh, up, layer, line, walls, skins)


def volumes(d: Deposit) -> tuple[float, float, float]:
    return d.wall_volume_mm3, d.skin_volume_mm3, d.core_volume_mm3


def test_box():
    d = measured(shapes.box(80, 40, 30))
    inner = 77.3 * 37.3
    assert d.layers == 150
    assert volumes(d) == pytest.approx(((3200 - inner) * 30, inner * 1.6, inner * 28.4))
    # loops (k + 1/2) lines inside: 240 - 8 (k + 1/2) 0.45
    assert d.wall_length_mm == pytest.approx(150 * (238.2 + 234.6 + 231.0))
    assert d.walls.number == pytest.approx(150 * 3 * 4)
    assert d.skin_length_mm == pytest.approx(8 * inner / LINE)
    assert d.core_length_at_full_mm == pytest.approx(142 * inner / LINE)
    assert (d.islands, d.skin_pieces, d.core_pieces) == pytest.approx((150, 8, 142))
    assert d.across_mm == pytest.approx(np.sqrt(3200))


def test_cylinder_loops_are_one_move_each():
    d = measured(shapes.cylinder(20, 50, 128))
    # circles (k + 1/2) lines inside; 128 corners shorten a circle by (π/128)²/6 = 1e-4
    assert d.wall_length_mm == pytest.approx(
        250 * sum(2 * np.pi * (20 - x * LINE) for x in (0.5, 1.5, 2.5)), rel=3e-4
    )
    assert d.walls.number == pytest.approx(250 * 3)
    assert len(d.walls.length_mm) == 1
    # 20 corners turn by 18° each: these are halts, as they are 15° or more
    assert measured(shapes.cylinder(20, 50, 20)).walls.number == pytest.approx(250 * 3 * 20)


@pytest.mark.parametrize(
    ("thick", "passes"),
    [(0.3, 1), (0.6, 1), (0.8, 2), (1.0, 2), (1.2, 3), (1.35, 3), (1.6, 4), (2.0, 4), (2.1, 5), (2.6, 6)],
)
def test_a_thin_wall_is_wall_once(thick, passes):
    # a whole number of passes over the thickness: thickness / 0.45, rounded; never more plastic than the wall
    d = measured(shapes.box(100, thick, 6))
    assert d.wall_volume_mm3 == pytest.approx(100 * thick * 6, rel=1e-6)
    assert d.skin_volume_mm3 + d.core_volume_mm3 < 1e-6
    assert d.wall_length_mm / d.layers == pytest.approx(passes * 100, rel=0.02)


def test_a_wall_thicker_than_its_loops_has_a_core():
    d = measured(shapes.box(100, 3.7, 20), skins=0)
    assert volumes(d) == pytest.approx((100 * 3.7 * 20 - 97.3 * 20, 0, 97.3 * 20), rel=1e-6)


@pytest.mark.parametrize("name", [*BODIES, "plate"])
def test_all_wall(name):
    mesh = BODIES.get(name) or shapes.box(60, 60, 2)
    d = measured(mesh, walls=99, skins=0)
    assert volumes(d) == pytest.approx((mesh.volume_mm3, 0, 0), rel=5e-3)
    # loops fill it: as long as its area over the line width, but for the rounding of passes in thin walls
    assert d.wall_length_mm * LINE * d.layer_mm == pytest.approx(mesh.volume_mm3, rel=0.13)


def test_a_disc_of_loops():
    # circles from 20 - 0.225 down, 0.45 apart: 44 loops, π r² / 0.45 long together
    d = measured(shapes.cylinder(20, 1, 128), walls=99, skins=0)
    assert d.wall_length_mm / 5 == pytest.approx(np.pi * 400 / LINE, rel=3e-3)
    assert d.walls.number / 5 == pytest.approx(20 / LINE, rel=0.02)


def test_skins_of_steps():
    # steps of 2 mm: 40, 30 and 20 square, one on the other, each with 4 skins where it is not covered
    # by the next, and four on the bed; inside of three walls. Roofs lie between layers that are cut.
    tower = Manifold.cube((40, 40, 2)) + Manifold.cube((30, 30, 4)).translate((5, 5, 0))
    tower += Manifold.cube((20, 20, 6)).translate((10, 10, 0))
    d = measured(Mesh.from_manifold(tower))
    wide, middle, top = 37.3**2, 27.3**2, 17.3**2
    skins = 4 * ((wide - 30**2) + (middle - 20**2) + top) + 4 * wide
    assert d.skin_volume_mm3 == pytest.approx(0.2 * skins, rel=1e-4)
    assert d.core_volume_mm3 == pytest.approx(2 * wide + 2 * middle + 2 * top - 0.2 * skins, rel=1e-4)


@pytest.mark.parametrize("name", BODIES)
def test_upside_down_the_same_is_laid(name):
    # roofs become floors: what covers from above then covers from below
    plain, over = measured(BODIES[name]), measured(BODIES[name], up=(0.0, 0.0, -1.0))
    whole = BODIES[name].volume_mm3
    assert volumes(over) == pytest.approx(volumes(plain), rel=2e-3, abs=1e-3 * whole)
    assert over.wall_length_mm == pytest.approx(plain.wall_length_mm, rel=2e-3)


def test_an_overhang_has_skins_beneath():
    # a 30 square plate 4 mm thick, on a 20 square stem: four skins where the stem does not cover it
    tee = Manifold.cube((20, 20, 10)) + Manifold.cube((30, 30, 4)).translate((-5, -5, 6))
    d = measured(Mesh.from_manifold(tee))
    skins = 4 * 17.3**2 + 4 * (27.3**2 - 20**2) + 4 * 27.3**2
    assert d.skin_volume_mm3 == pytest.approx(0.2 * skins, rel=1e-4)


def test_a_slit_one_layer_high_has_skins_on_both_sides():
    slit = Manifold.cube((30, 30, 10)) - Manifold.cube((20, 20, 0.2)).translate((5, 5, 4.4))
    d = measured(Mesh.from_manifold(slit), skins=3)
    # the slit's own layer has walls around it: 30 - 2.7 outside, 20 + 2.7 inside
    ring = 27.3**2 - 22.7**2
    skins = 6 * 27.3**2 + 6 * 400
    assert d.skin_volume_mm3 == pytest.approx(0.2 * skins, rel=1e-4)
    assert d.core_volume_mm3 == pytest.approx(0.2 * (49 * 27.3**2 + ring - skins), rel=1e-4)


def test_a_shallow_cone_is_skin_where_walls_leave_it_uncovered():
    # radius shrinks by 2 mm a layer: 4 layers on by 8 mm, of which 3 walls cover 1.35
    d = measured(shapes.cone(40, 0, 4, 128), skins=4)
    r = 40 - 2 * (np.arange(20) + 0.5)
    inside = np.maximum(r - 1.35, 0) ** 2
    covered = np.minimum(np.maximum(r - 8, 0) ** 2, inside)
    covered[:4] = 0
    expected = np.pi * 0.2 * np.array([(r**2 - inside).sum(), (inside - covered).sum(), covered.sum()])
    assert volumes(d) == pytest.approx(expected, rel=5e-3)


@settings(max_examples=25, deadline=None, derandomize=True)
@given(
    name=st.sampled_from(sorted(BODIES)),
    seed=st.integers(0, 500),
    layer=st.sampled_from([0.1, 0.2, 0.35]),
    line=st.sampled_from([0.4, 0.6]),
    walls=st.sampled_from([1, 2, 4, 99]),
    skins=st.integers(0, 5),
)
def test_volumes_add_up_to_the_part(name, seed, layer, line, walls, skins):
    mesh = BODIES[name].turned(shapes.rotation(seed))
    d = measured(mesh, UP, layer, line, walls, skins)
    assert d.volume_mm3 == pytest.approx(mesh.volume_mm3, rel=0.01)
    assert min(volumes(d)) >= -1e-9
    # what the runs say is what the totals say
    assert sum(run.layers for run in d.runs) == d.layers
    for kind, moves in (
        ("wall_mm", d.walls),
        ("skin_mm", d.skins),
        ("core_mm", d.core),
        ("travels", d.travels),
    ):
        total = moves.number if kind == "travels" else moves.total_mm
        assert sum(run.layers * getattr(run, kind) for run in d.runs) == pytest.approx(
            total, rel=1e-6, abs=0.1
        )
    bead = d.line_mm * d.layer_mm
    assert d.skin_length_mm * bead == pytest.approx(d.skin_volume_mm3, abs=0.1)
    assert d.core_length_at_full_mm * bead == pytest.approx(d.core_volume_mm3, abs=0.1)


@pytest.mark.parametrize("name", BODIES)
@pytest.mark.parametrize("turned", [False, True])
def test_few_sections_say_what_all_layers_say(name, turned, monkeypatch):
    mesh = BODIES[name].turned(shapes.rotation(1)) if turned else BODIES[name]
    few = measured(mesh)
    assert len(few.runs) <= deposit_module.RUNS
    monkeypatch.setattr(deposit_module, "RUNS", 10**7)
    every = measured(mesh)
    whole = mesh.volume_mm3
    assert volumes(few) == pytest.approx(volumes(every), rel=0.01, abs=0.003 * whole)
    assert few.wall_length_mm == pytest.approx(every.wall_length_mm, rel=0.005)
    assert few.walls.number == pytest.approx(every.walls.number, rel=0.03)
    assert few.travels.total_mm == pytest.approx(every.travels.total_mm, rel=0.05, abs=20)


@pytest.mark.parametrize("name", ["box", "ell", "cone", "torus", "cup", "arch"])
def test_mean_line_across_is_that_of_cauchy_and_crofton(name):
    # a plate of the section, all skin: the mean chord of a plane figure is π A / P
    flat = Manifold.extrude(_section(BODIES[name]), 1.0)
    d = measured(Mesh.from_manifold(flat), walls=1, skins=9)
    inner = _section(BODIES[name]).offset(-LINE)
    around = sum(
        np.hypot(*(np.roll(r, -1, axis=0) - r).T).sum() for r in map(np.asarray, inner.to_polygons())
    )
    assert d.skin_length_mm / d.skins.number == pytest.approx(np.pi * inner.area() / around, rel=2e-3)


def _section(mesh: Mesh) -> CrossSection:
    return Mesh(np.array(mesh.vertices), mesh.faces).manifold().slice(2.0)


@settings(max_examples=20, deadline=None, derandomize=True)
@given(
    name=st.sampled_from(sorted(BODIES)), seed=st.integers(0, 500), factor=st.sampled_from([0.5, 2.0, 25.4])
)
def test_what_must_not_matter(name, seed, factor):
    mesh = BODIES[name]
    plain = measured(mesh)

    def same(d: Deposit, scale: float = 1.0, rel: float = 1e-6) -> None:
        whole = 1e-6 * mesh.volume_mm3
        for mine, theirs in zip(volumes(d), volumes(plain), strict=True):
            assert mine / scale**3 == pytest.approx(theirs, rel=rel, abs=whole)
        assert d.wall_length_mm / scale == pytest.approx(plain.wall_length_mm, rel=rel)
        # a circle so small that its thinned outline has corners may lose or gain one
        assert d.walls.number == pytest.approx(plain.walls.number, rel=0.02)
        assert d.skins.number == pytest.approx(plain.skins.number, rel=rel, abs=0.01)
        assert d.core.number == pytest.approx(plain.core.number, rel=rel, abs=0.01)
        assert (d.layers, d.islands) == (plain.layers, plain.islands)

    same(measured(shapes.shuffled(mesh, seed)))
    same(measured(shapes.moved(mesh, (300.0, -700.0, 41.0))))
    turn = np.deg2rad(seed)
    same(
        measured(
            mesh.turned(
                np.array([[np.cos(turn), -np.sin(turn), 0], [np.sin(turn), np.cos(turn), 0], [0, 0, 1]])
            )
        )
    )
    rotation = shapes.rotation(seed)
    same(measured(mesh.turned(rotation), up=tuple(rotation[:, 2])))
    same(measured(shapes.scaled(mesh, factor), layer=0.2 * factor, line=LINE * factor), factor)


def test_every_island_and_the_way_between_them():
    posts = shapes.posts([10.0] * 5, base=2.0)
    d = measured(posts)
    assert d.islands == pytest.approx(10 + 50 * 5)
    # in each layer of posts, 10 mm apart: four ways, as every walk around a post ends where it began
    ways = sum(
        n * length for length, n in zip(d.travels.length_mm, d.travels.count, strict=True) if length > 2
    )
    assert ways / 50 == pytest.approx(4 * 10, rel=0.05)


def test_more_walls_more_wall_and_more_skins_more_skin():
    mesh = BODIES["sphere"]
    by_walls = [measured(mesh, walls=n).wall_volume_mm3 for n in (0, 1, 2, 5, 20, 99)]
    assert by_walls == sorted(by_walls)
    assert by_walls[0] == pytest.approx(0, abs=0.01)
    assert by_walls[-1] == pytest.approx(mesh.volume_mm3, rel=5e-3)
    by_skins = [measured(mesh, skins=n).skin_volume_mm3 for n in (0, 1, 2, 4, 8, 100)]
    assert by_skins == sorted(by_skins)
    assert by_skins[0] == 0
    assert by_skins[-1] == pytest.approx(mesh.volume_mm3 - measured(mesh).wall_volume_mm3, rel=5e-3)


def test_lower_than_a_layer():
    d = measured(shapes.box(20, 20, 0.05))
    assert (d.layers, d.layer_mm) == (1, pytest.approx(0.05))
    assert d.volume_mm3 == pytest.approx(20)


def test_moves_of_an_outline():
    turns = np.linspace(0, np.pi, 40)
    # a half disc: one arc and its diameter; started in the middle of the arc
    half = np.stack([5 * np.cos(turns), 5 * np.sin(turns)], axis=1)
    square = np.array([[0.0, 0.0], [2.0, 0.0], [2.0, 2.0], [0.0, 2.0]])
    points = np.concatenate([np.roll(half, 17, axis=0), square, np.roll(half, 3, axis=0)])
    moves, ring = straight_moves(Rings(points, np.array([0, 40, 44, 84]), np.array([0, 0, 1])))
    found = [sorted(moves[ring == k]) for k in range(3)]
    arc = pytest.approx([10, 5 * np.pi], rel=1e-3)
    assert found == [arc, pytest.approx([2, 2, 2, 2]), arc]


def test_a_mesh_that_is_no_body_is_a_fault():
    box = shapes.box(1, 1, 1)
    with pytest.raises(InputError, match="every edge joins exactly two faces"):
        measured(Mesh.of(box.vertices, box.faces[:-1]))


def test_kept_as_it_is():
    d = Shape(BODIES["cup"]).deposit(UP, 0.2, LINE, 3, 4)
    assert d == measured(BODIES["cup"])


def test_the_same_bytes_every_time():
    mesh = BODIES["torus"].turned(shapes.rotation(9))
    assert repr(measured(mesh)) == repr(measured(mesh))
