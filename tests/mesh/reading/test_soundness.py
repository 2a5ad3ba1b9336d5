"""Mending: what has one right answer gives the closed form again, and says so; all else is refused with its place."""

from __future__ import annotations

import re

import numpy as np
import pytest
import trimesh
from hypothesis import given
from hypothesis import strategies as st

from routecost.core.arrays import Floats
from routecost.core.errors import InputError
from routecost.mesh.geometry.edges import Edges
from routecost.mesh.geometry.mesh import Mesh
from routecost.mesh.reading.formats.raw_mesh import Raw
from routecost.mesh.reading.holes import minimal_triangulation
from routecost.mesh.reading.soundness import Sound, make_sound
from routecost.mesh.reading.welding import weld
from tests.mesh.shapes import (
    beside,
    box,
    drilled,
    hollow_sphere,
    moved,
    rotation,
    scaled,
    shuffled,
    solid,
    sphere,
    torus,
)

BODIES = {"drilled": drilled(), "torus": torus(20, 5, 24), "hollow": hollow_sphere(20, 15, 24)}


def soup(mesh: Mesh) -> Raw:
    """The mesh as STL lists it: every corner a vertex of its own."""
    m = len(mesh.faces)
    return Raw(mesh.triangles.reshape(-1, 3), np.arange(3 * m).reshape(-1, 3), np.arange(1, m + 1), "facet")


def sound(mesh: Mesh) -> Sound:
    made = make_sound("part.stl", soup(mesh))
    _assert_sound(made.mesh)
    return made


def _assert_sound(mesh: Mesh) -> None:
    """As two libraries see it."""
    reference = trimesh.Trimesh(mesh.vertices, mesh.faces, process=False)
    assert reference.is_watertight
    assert reference.is_winding_consistent
    kernel = solid(mesh)
    assert kernel.status().name == "NoError"
    assert kernel.volume() == pytest.approx(mesh.volume_mm3, rel=1e-9)


def turned_over(mesh: Mesh, which: object = slice(None)) -> Mesh:
    faces = mesh.faces.copy()
    faces[which] = faces[which][:, ::-1]
    return Mesh.of(mesh.vertices, faces)


def without(mesh: Mesh, *faces: int) -> Mesh:
    return Mesh.of(mesh.vertices, np.delete(mesh.faces, faces, axis=0))


def refused(mesh: Mesh) -> str:
    with pytest.raises(InputError) as caught:
        make_sound("part.stl", soup(mesh))
    return str(caught.value)


def places(text: str) -> Floats:
    """All positions in mm that a message names."""
    found = re.findall(r"\(([^()]*,[^()]*,[^()]*)\) mm", text)
    return np.array([[float(c) for c in place.split(",")] for place in found])


# -- nothing to mend ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", BODIES)
def test_a_sound_mesh_is_left_as_it_is(name: str) -> None:
    body = BODIES[name]
    made = sound(body)
    assert made.mesh.volume_mm3 == pytest.approx(body.volume_mm3, rel=1e-12)
    assert len(made.mesh.faces) == len(body.faces)
    assert (made.faults, made.repairs, made.warnings) == ((), (), ())


@given(seed=st.integers(0, 2**32 - 1), name=st.sampled_from(list(BODIES)), exponent=st.floats(-3, 3))
def test_place_order_and_size_change_nothing(seed: int, name: str, exponent: float) -> None:
    body, size = BODIES[name], 10**exponent
    changed = shuffled(Mesh.of(size * (body.vertices @ rotation(seed).T), body.faces), seed)
    made = make_sound("part.stl", soup(changed))
    assert made.mesh.volume_mm3 == pytest.approx(body.volume_mm3 * size**3, rel=1e-9)
    assert made.mesh.area_mm2 == pytest.approx(body.area_mm2 * size**2, rel=1e-9)
    assert not made.repairs


# -- winding -----------------------------------------------------------------------------------------------


@given(seed=st.integers(0, 2**32 - 1), share=st.floats(0, 1))
def test_faces_turned_at_random_give_the_same_body(seed: int, share: float) -> None:
    body = BODIES["torus"]
    wrong = np.random.default_rng(seed).uniform(size=len(body.faces)) < share
    made = make_sound("part.stl", soup(turned_over(body, wrong)))
    assert made.mesh.volume_mm3 == pytest.approx(body.volume_mm3, rel=1e-12)
    _assert_sound(made.mesh)
    assert bool(made.repairs) == bool(wrong.any())


def test_an_inside_out_body_is_turned_and_told() -> None:
    made = sound(turned_over(BODIES["drilled"]))
    assert made.mesh.volume_mm3 == pytest.approx(drilled().volume_mm3, rel=1e-12)
    assert made.repairs == ("the surface wound inside out: turned",)


def test_of_two_bodies_only_the_wrong_one_is_turned() -> None:
    made = sound(beside(box(10, 10, 10), turned_over(moved(box(2, 3, 4), (20, 0, 0)))))
    assert made.mesh.volume_mm3 == pytest.approx(1024)
    assert made.repairs == ("1 of 2 bodies wound inside out: turned",)


def test_a_strip_with_half_a_turn_has_no_inside() -> None:
    """A Klein bottle (the figure-eight immersion): closed, and one-sided."""
    n, m = 24, 12
    u, v = np.meshgrid(np.arange(n) * 2 * np.pi / n, np.arange(m) * 2 * np.pi / m, indexing="ij")
    r = 4 + np.cos(u / 2) * np.sin(v) - np.sin(u / 2) * np.sin(2 * v)
    z = np.sin(u / 2) * np.sin(v) + np.cos(u / 2) * np.sin(2 * v)
    points = np.stack([r * np.cos(u), r * np.sin(u), z], axis=-1)
    at = np.arange(n * m).reshape(n, m)
    # going once round u maps v to −v
    onward = np.vstack([at[1:], np.roll(at[0, ::-1], 1)[None]])
    a, b, c, d = at, onward, np.roll(onward, -1, axis=1), np.roll(at, -1, axis=1)
    faces = np.concatenate([np.stack([a, b, c], -1).reshape(-1, 3), np.stack([a, c, d], -1).reshape(-1, 3)])
    assert Edges.of(faces).closed
    with pytest.raises(InputError, match="only one side"):
        make_sound("bottle.off", Raw(points.reshape(-1, 3), faces, np.arange(1, len(faces) + 1)))


# -- voids, bodies in bodies, overlaps ---------------------------------------------------------------------

OUTER, VOID, LOOSE = 4 / 3 * np.pi * 20**3, 4 / 3 * np.pi * 15**3, 4 / 3 * np.pi * 5**3


def shells(*senses: int) -> Mesh:
    """Balls of 20, 15, 10 … mm about one middle, each with its sense."""
    radii = (20, 15, 10, 5)
    balls = [moved(sphere(r, 64), (0, 0, -r)) for r in radii[: len(senses)]]
    return beside(
        *(ball if sense > 0 else turned_over(ball) for ball, sense in zip(balls, senses, strict=True))
    )


def shell_volume(*radii: float) -> float:
    """Of facets as fine as those of `shells`, with the sign of each radius."""
    ball = sphere(1, 64).volume_mm3
    return float(sum(np.sign(r) * abs(r) ** 3 * ball for r in radii))


def test_a_void_stays_a_void_whichever_way_the_file_is_wound() -> None:
    right, inside_out = sound(shells(1, -1)), sound(shells(-1, 1))
    for made in (right, inside_out):
        assert made.mesh.volume_mm3 == pytest.approx(shell_volume(20, -15), rel=1e-8)
        assert made.mesh.volume_mm3 == pytest.approx(OUTER - VOID, rel=5e-3)  # facets
    assert not right.repairs
    assert inside_out.repairs


def test_a_ball_wound_like_the_one_around_it_is_no_void_and_that_is_told() -> None:
    made = sound(shells(1, 1))
    assert made.mesh.volume_mm3 == pytest.approx(shell_volume(20), rel=1e-8)
    (warning,) = made.warnings
    assert "taken as solid" in warning
    assert f"{shell_volume(15):.4g} mm³" in warning


@pytest.mark.parametrize(
    ("senses", "radii"),
    [
        ((1, -1, 1), (20, -15, 10)),
        ((1, -1, 1, -1), (20, -15, 10, -5)),
        ((-1, 1, -1, 1), (20, -15, 10, -5)),
        ((1, 1, -1), (20,)),  # a void in a ball within solid material is filled by what is around it
        ((1, -1, -1), (20, -15)),  # a void in a void bounds nothing
    ],
)
def test_shells_within_shells(senses: tuple[int, ...], radii: tuple[float, ...]) -> None:
    assert sound(shells(*senses)).mesh.volume_mm3 == pytest.approx(shell_volume(*radii), rel=1e-8)


def test_a_small_body_deep_in_a_large_one_is_found_without_booleans() -> None:
    """No face of the outer ball comes near the box of the inner one: the solid angle alone decides."""
    inner = moved(sphere(1, 16), (0, 0, -1))
    made = sound(beside(shells(1), turned_over(inner)))
    assert made.mesh.volume_mm3 == pytest.approx(shell_volume(20) - inner.volume_mm3, rel=1e-8)
    outside = sound(beside(shells(1), moved(inner, (15, 15, 15))))  # in the box of the ball, not in the ball
    assert outside.mesh.volume_mm3 == pytest.approx(shell_volume(20) + inner.volume_mm3, rel=1e-8)


def test_a_void_of_unclear_winding_is_refused() -> None:
    hollow = shells(1, -1)
    inner = np.arange(len(hollow.faces) // 2, len(hollow.faces))
    text = refused(turned_over(hollow, inner[::2]))
    assert "lies inside another" in text
    assert np.linalg.norm(places(text)[0]) == pytest.approx(15, rel=0.01)


@given(seed=st.integers(0, 2**32 - 1))
def test_overlapping_boxes_count_once(seed: int) -> None:
    """Volume of the union of two boxes side by side with the axes: a + b − overlap."""
    rng = np.random.default_rng(seed)
    a, b = rng.uniform(5, 20, 3), rng.uniform(5, 20, 3)
    at = rng.uniform(-0.9 * b, 0.9 * a)
    shared = float(np.prod(np.minimum(a, at + b) - np.maximum(0, at)))
    both = beside(box(*a), moved(box(*b), at))
    made = make_sound("part.stl", soup(Mesh.of(both.vertices @ rotation(seed).T, both.faces)))
    expected = float(a.prod() + b.prod()) - shared
    assert made.mesh.volume_mm3 == pytest.approx(expected, rel=1e-6)
    assert made.repairs or shared == pytest.approx(min(a.prod(), b.prod()), rel=1e-6)


def test_a_void_survives_the_union_of_its_body_with_another() -> None:
    made = sound(beside(shells(1, -1), moved(box(4, 4, 30), (-2, -2, 17))))
    # the peg goes through the 5 mm wall from 17 mm up; it stays above the void
    peg = 4 * 4 * 30
    shared = trimesh.creation.box(bounds=[[-2, -2, 17], [2, 2, 47]]).intersection(
        trimesh.Trimesh(shells(1).vertices, shells(1).faces)
    )
    assert made.mesh.volume_mm3 == pytest.approx(shell_volume(20, -15) + peg - shared.volume, rel=1e-6)
    assert "united" in made.repairs[0]


def test_voids_that_overlap_are_one_void() -> None:
    """Two boxes of 10 that share 4 × 10 × 10, cut out of a block: closed form."""
    voids = [moved(box(10, 10, 10), (x, 5, 5)) for x in (5, 11)]
    made = sound(beside(box(40, 20, 20), *(turned_over(void) for void in voids)))
    assert made.mesh.volume_mm3 == pytest.approx(40 * 20 * 20 - 16 * 10 * 10)
    assert "off by 400 mm³" in made.repairs[0]


def test_bodies_and_what_lies_in_them_are_united_together() -> None:
    """Two hollow boxes that overlap; the void of the first is partly filled by the second: closed form."""
    first, second = box(20, 20, 20), moved(box(20, 20, 20), (12, 0, 0))
    void = turned_over(moved(box(12, 12, 12), (4, 4, 4)))
    made = sound(beside(first, void, second))
    assert made.mesh.volume_mm3 == pytest.approx(32 * 20 * 20 - 8 * 12 * 12)


def test_bodies_that_touch_become_one_without_the_wall_between_them() -> None:
    made = sound(beside(box(10, 10, 10), moved(box(4, 4, 4), (3, 3, 10))))
    assert made.mesh.volume_mm3 == pytest.approx(1064)
    assert made.mesh.area_mm2 == pytest.approx(600 + 96 - 2 * 16)
    assert "2 closed surfaces that overlap or touch" in made.repairs[0]


def test_cubes_with_a_common_wall_in_the_file_lose_it() -> None:
    left, right = box(10, 10, 10), moved(box(10, 10, 10), (10, 0, 0))
    made = sound(beside(left, Mesh.of(right.vertices * [-1, 1, 1] + [30, 0, 0], right.faces[:, ::-1])))
    assert made.mesh.volume_mm3 == pytest.approx(2000)
    assert made.mesh.area_mm2 == pytest.approx(1000)


def test_cubes_that_share_an_edge_or_a_corner_stay_two_bodies() -> None:
    for at in ((10, 10, 0), (10, 10, 10)):
        made = sound(beside(box(10, 10, 10), moved(box(10, 10, 10), at)))
        assert made.mesh.volume_mm3 == pytest.approx(2000)
        assert made.mesh.area_mm2 == pytest.approx(1200)


def test_a_body_that_meets_itself_along_an_edge_is_kept() -> None:
    """Four cubes in a ring; the first and the last, one floor up, share an edge only."""
    cubes = [(0, 0, 0), (1, 0, 0), (1, 1, 0), (1, 1, 1), (0, 1, 1)]
    ring = solid(box(10, 10, 10))
    for at in cubes[1:]:
        ring += solid(moved(box(10, 10, 10), tuple(10 * c for c in at)))
    mesh = Mesh.from_manifold(ring)
    _, index = weld(mesh.vertices)
    assert Edges.of(index[mesh.faces]).count.max() == 4
    made = sound(mesh)
    assert made.mesh.volume_mm3 == pytest.approx(5000)
    assert "four faces or more" in made.repairs[0]


# -- doubles, cracks, holes --------------------------------------------------------------------------------


def test_faces_listed_twice_are_kept_once() -> None:
    body = BODIES["drilled"]
    for doubled in (body.faces, body.faces[5:9], body.faces[5:9, ::-1]):
        made = sound(Mesh.of(body.vertices, np.vstack([body.faces, doubled])))
        assert made.mesh.volume_mm3 == pytest.approx(body.volume_mm3, rel=1e-12)
        assert f"{len(doubled)} facets on the same corners" in made.repairs[0]


def test_faces_without_area_are_dropped() -> None:
    body = box(10, 10, 10)
    made = sound(Mesh.of(body.vertices, np.vstack([body.faces, [[0, 0, 1], [2, 2, 2]]])))
    assert made.mesh.volume_mm3 == pytest.approx(1000)
    assert made.repairs == ("2 facets with two corners at one point: dropped",)


@given(seed=st.integers(0, 2**32 - 1))
def test_corners_a_rounding_apart_are_joined(seed: int) -> None:
    body = BODIES["torus"]
    raw = soup(body)
    noise = (
        np.random.default_rng(seed).uniform(-1, 1, raw.vertices.shape) * 1e-6 * float(body.extents_mm.max())
    )
    made = make_sound("part.stl", Raw(raw.vertices + noise, raw.faces, raw.numbers, "facet"))
    _assert_sound(made.mesh)
    assert made.mesh.volume_mm3 == pytest.approx(body.volume_mm3, rel=1e-5)
    assert "joined" in made.repairs[0]


def test_single_precision_far_from_the_origin_still_closes() -> None:
    far = moved(drilled(), (12_345, -6_789, 4_321)).vertices.astype(np.float32).astype(np.float64)
    made = sound(Mesh.of(far, drilled().faces))
    assert made.mesh.volume_mm3 == pytest.approx(drilled().volume_mm3, rel=1e-4)


def test_an_edge_split_on_one_side_only_is_closed_without_area() -> None:
    """A T-junction: the hole between one long edge and its two halves has a rim but no area."""
    v = np.vstack([box(10, 10, 10).vertices, [[5, 0, 0]]])
    faces = box(10, 10, 10).faces
    ends = [k for k in range(8) if v[k, 1] == 0 and v[k, 2] == 0]
    (split,) = [k for k, f in enumerate(faces) if set(ends) <= set(f) and (v[f][:, 1] == 0).all()]
    a, b, c = np.roll(
        faces[split], -next(k for k in range(3) if set(np.roll(faces[split], -k)[:2]) == set(ends))
    )
    made = sound(Mesh.of(v, np.vstack([np.delete(faces, split, axis=0), [[a, 8, c], [8, b, c]]])))
    assert made.mesh.volume_mm3 == pytest.approx(1000)
    assert made.mesh.area_mm2 == pytest.approx(600)
    assert "filled, 0 mm² of surface added" in made.repairs[0]


def test_a_hole_is_filled_below_the_limit_and_refused_above_it() -> None:
    fine, coarse = sphere(20, 192), sphere(20, 16)
    made = sound(without(fine, 9_000, 9_001))
    assert made.mesh.volume_mm3 == pytest.approx(fine.volume_mm3, rel=1e-6)
    assert made.mesh.area_mm2 == pytest.approx(fine.area_mm2, rel=1e-6)
    assert "small hole" in made.repairs[0]
    text = refused(without(coarse, 30))
    assert "3 open edges around 1 hole" in text
    middle = coarse.triangles[30].mean(axis=0)
    assert places(text)[-1] == pytest.approx(middle, abs=0.02)


@given(seed=st.integers(0, 2**32 - 1), missing=st.integers(1, 5))
def test_open_edges_are_counted_and_placed(seed: int, missing: int) -> None:
    body = BODIES["torus"]
    gone = np.random.default_rng(seed).choice(len(body.faces), missing, replace=False)
    text = refused(without(body, *gone.tolist()))
    reference = trimesh.Trimesh(body.vertices, np.delete(body.faces, gone, axis=0), process=False)
    edges = np.sort(reference.edges, axis=1)
    _, count = np.unique(edges, axis=0, return_counts=True)
    assert f"{(count == 1).sum()} open edge" in text
    rim = np.unique(body.faces[gone])
    distance = np.linalg.norm(body.vertices[rim] - places(text)[0], axis=1).min()
    longest_edge = np.linalg.norm(np.diff(body.triangles[:, [0, 1, 2, 0]], axis=1), axis=2).max()
    assert distance <= longest_edge


@given(seed=st.integers(0, 2**32 - 1), n=st.integers(3, 12))
def test_the_filling_of_a_flat_convex_rim_has_its_area(seed: int, n: int) -> None:
    """Any triangulation of a convex polygon has its area, by the shoelace formula; a bent rim has no less."""
    rng = np.random.default_rng(seed)
    turn = np.sort(rng.uniform(0, 2 * np.pi, n))
    ring = np.stack([3 * np.cos(turn), 2 * np.sin(turn), np.zeros(n)], axis=1)
    shoelace = abs(np.sum(ring[:, 0] * np.roll(ring[:, 1], -1) - np.roll(ring[:, 0], -1) * ring[:, 1])) / 2
    triangles, area = minimal_triangulation(ring @ rotation(seed).T)
    assert area == pytest.approx(shoelace, rel=1e-9, abs=1e-12)
    assert len(triangles) == n - 2
    bent = ring + np.c_[np.zeros((n, 2)), rng.normal(size=n)]
    assert minimal_triangulation(bent)[1] >= shoelace - 1e-9


def test_loose_crumbs_are_dropped_and_loose_sheets_refused() -> None:
    body = box(100, 100, 100)
    crumb = Mesh.of(np.array([[50, 50, 120], [51, 50, 120], [50, 51, 120]], float), np.array([[0, 1, 2]]))
    made = sound(beside(body, crumb))
    assert made.mesh.volume_mm3 == pytest.approx(1e6)
    assert "1 facet in loose bits of surface: dropped" in made.repairs
    assert made.mesh.bounds_mm[1, 2] == pytest.approx(100)
    assert "3 open edges" in refused(beside(body, moved(scaled(crumb, 20), (-900, -900, -2000))))


def test_a_sheet_of_no_thickness_beside_a_body_is_dropped() -> None:
    v = np.array([[0, 0, 200], [10, 0, 200], [10, 10, 200], [0, 10, 200]], dtype=np.float64)
    sheet = Mesh.of(v, np.array([[0, 1, 2], [0, 2, 3], [1, 0, 3], [1, 3, 2]]))
    made = sound(beside(box(100, 100, 100), sheet))
    assert made.mesh.volume_mm3 == pytest.approx(1e6)
    assert "1 closed surface without volume: dropped" in made.repairs


def test_a_surface_that_passes_through_itself_is_told_or_refused() -> None:
    """A tube along a path that crosses itself: the crossing is counted twice (closed form: see below)."""
    little, much = _crossing_bars(20.0), _crossing_bars(0.5)
    made = make_sound("part.stl", soup(little))
    (warning,) = made.warnings
    # two square bars of 1 mm cross at right angles: 1 mm³ is counted twice
    found = re.search(r"about ([\d.]+) mm³", warning)
    assert found is not None
    assert float(found[1]) == pytest.approx(1.0, rel=0.15)
    assert places(warning)[0] == pytest.approx([0, 0, 0], abs=1.0)
    with pytest.raises(InputError, match="passes through itself"):
        make_sound("part.stl", soup(much))


def _crossing_bars(arm: float) -> Mesh:
    """One closed square bar of 1 mm along a flat path that crosses itself at the origin, once, at right angles."""
    a = arm + 1.0
    path = np.array([[-a, 0], [a, 0], [a, a], [0, a], [0, -a], [-a, -a]], dtype=np.float64)
    rings = []
    for k, p in enumerate(path):
        before, after = p - path[k - 1], path[(k + 1) % len(path)] - p
        n = [np.array([-d[1], d[0]]) / np.linalg.norm(d) for d in (before, after)]
        miter = (n[0] + n[1]) / (1 + n[0] @ n[1])
        rings.append([[*(p + s * 0.5 * miter), h] for s, h in ((1, -0.5), (1, 0.5), (-1, 0.5), (-1, -0.5))])
    points = np.array(rings).reshape(-1, 3)
    faces = []
    for k in range(len(path)):
        for j in range(4):
            a0, a1 = 4 * k + j, 4 * k + (j + 1) % 4
            b0, b1 = ((c + 4) % len(points) for c in (a0, a1))
            faces += [[a0, a1, b1], [a0, b1, b0]]
    return Mesh.of(points, np.array(faces))


# -- welding -----------------------------------------------------------------------------------------------


@given(seed=st.integers(0, 2**32 - 1), n=st.integers(1, 200), kinds=st.integers(1, 6))
def test_welding_is_that_of_sorting(seed: int, n: int, kinds: int) -> None:
    points = np.random.default_rng(seed).integers(-kinds, kinds, (n, 3)) * 0.1
    kept, index = weld(points)
    assert (kept[index] == points).all()
    assert len(kept) == len(np.unique(points + 0.0, axis=0))
    assert (np.sort(np.unique(index, return_index=True)[1]) == np.unique(index, return_index=True)[1]).all()
