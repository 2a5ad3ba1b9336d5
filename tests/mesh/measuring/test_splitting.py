"""Splitting against counts and areas by hand, and what must hold of any split."""

from __future__ import annotations

from math import ceil, prod

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from routecost.core.arrays import Vector
from routecost.demo.demo_meshes import demo_meshes
from routecost.mesh.geometry.cutting import Stations
from routecost.mesh.geometry.mesh import Mesh
from routecost.mesh.measuring.splitting import MOST_PIECES, measure_fit, split_mesh
from tests.mesh import shapes

CUBE: Vector = (220.0, 220.0, 220.0)


def frame(outer: float, breadth: float, thick: float, member: float) -> Mesh:
    hole = shapes.moved(shapes.box(outer - 2 * member, breadth - 2 * member, thick + 2), (member, member, -1))
    return shapes.cut(shapes.box(outer, breadth, thick), hole)


def stands_within(mesh: Mesh, up: Vector, volume_mm: Vector) -> bool:
    """By a scan over angles, accurate to span × 0.0005."""
    points = mesh.oriented(up).vertices
    points = points[np.unique(points.round(6), axis=0, return_index=True)[1]]
    t = np.linspace(0, np.pi, 3600, endpoint=False)
    along = np.ptp(points[:, :2] @ np.stack([np.cos(t), np.sin(t)]), axis=0)
    across = np.ptp(points[:, :2] @ np.stack([-np.sin(t), np.cos(t)]), axis=0)
    over = np.maximum(along - volume_mm[0], across - volume_mm[1]).min()
    error = 0.0005 * float(np.linalg.norm(mesh.extents_mm))
    return bool(over <= error and np.ptp(points[:, 2]) <= volume_mm[2] + 1e-5)


def check_split(mesh: Mesh, volume_mm: Vector) -> int:
    """What holds of any split; the number of pieces."""
    fit = measure_fit(mesh, volume_mm)
    pieces = split_mesh(mesh, volume_mm)
    assert len(pieces) == fit.pieces == len(fit.piece_ups) == len(fit.piece_volumes_mm3)
    assert [piece.volume_mm3 for piece in pieces] == pytest.approx(fit.piece_volumes_mm3)
    assert sum(fit.piece_volumes_mm3) == pytest.approx(mesh.volume_mm3, rel=1e-6)
    # every joint adds its two faces to the surface
    assert sum(piece.area_mm2 for piece in pieces) == pytest.approx(
        mesh.area_mm2 + 2 * fit.bond_area_mm2, rel=1e-3
    )
    for piece, up in zip(pieces, fit.piece_ups, strict=True):
        assert stands_within(piece, up, volume_mm)
    assert fit.fits == (fit.bond_area_mm2 == 0 and fit.pieces == 1)
    return fit.pieces


@pytest.mark.parametrize(
    ("length", "thick", "pieces"),
    [
        # a bar lies across the bed while (l + b)/√2 ≤ 220, that is l ≤ 311.1 − b
        (220, 20, 1),
        (290, 20, 1),
        (292, 20, 2),
        (582, 20, 2),
        (583, 20, 3),
        (1000, 20, 4),
        (1000, 100, 5),
    ],
)
def test_bars(length: float, thick: float, pieces: int) -> None:
    fit = measure_fit(shapes.box(length, thick, thick), CUBE)
    assert fit.pieces == pieces
    assert fit.joints == pieces - 1
    assert fit.bond_area_mm2 == pytest.approx((pieces - 1) * thick**2)
    assert fit.seam_mm == pytest.approx((pieces - 1) * 4 * thick)
    assert fit.piece_volumes_mm3 == pytest.approx([length * thick**2 / pieces] * pieces)


@pytest.mark.parametrize(
    ("x", "y", "pieces", "bond_mm"),
    [
        (220, 220, 1, 0),
        (230, 210, 2, 210),
        (440, 220, 2, 220),
        (440, 440, 4, 880),
        (441, 220, 3, 440),
        (660, 440, 6, 660 + 880),
    ],
)
def test_blocks(x: float, y: float, pieces: int, bond_mm: float) -> None:
    """100 thick, by length of cut: nothing longer than 220 fits aslant, (221 + 100)/√2 = 227."""
    fit = measure_fit(shapes.box(x, y, 100), CUBE)
    assert (fit.pieces, fit.bond_area_mm2) == (pieces, pytest.approx(100 * bond_mm))


def test_a_plate_may_stand_on_edge_across_the_bed() -> None:
    """230 × 210 × 5 is too large to lie, but standing 210 high it takes (230 + 5)/√2 = 166 each way."""
    fit = measure_fit(shapes.box(230, 210, 5), CUBE)
    assert fit.fits
    assert np.abs(fit.up) == pytest.approx([0, 1, 0])
    assert not measure_fit(shapes.box(230, 210, 5), (220, 220, 200)).fits


def test_a_thin_bar_that_fits_only_across_the_bed() -> None:
    assert measure_fit(shapes.box(280, 10, 10), (220, 220, 250)).fits
    assert not measure_fit(shapes.box(280, 10, 10), (190, 190, 250)).fits


def test_a_rod_that_fits_only_standing() -> None:
    fit = measure_fit(shapes.box(390, 20, 20), (200, 200, 400))
    assert fit.fits
    assert np.abs(fit.up) == pytest.approx([1, 0, 0])


def test_tube() -> None:
    """600 long: two cuts, each a ring π (60² − 50²); only the outer outline is to be dressed."""
    fit = measure_fit(shapes.tube(60, 50, 600), CUBE)
    assert fit.pieces == 3
    assert fit.bond_area_mm2 == pytest.approx(2 * np.pi * (60**2 - 50**2), rel=1e-3)
    assert fit.seam_mm == pytest.approx(2 * 2 * np.pi * 60, rel=1e-3)
    assert fit.joints == 2  # the bore makes no joint of its own


def test_frame_falls_into_four_angles() -> None:
    """One cut through two members leaves two; halves of 210 × 300 still do not fit, quarters do."""
    fit = measure_fit(frame(420, 300, 40, 24), CUBE)
    assert fit.pieces == 4
    assert fit.joints == 4
    assert fit.bond_area_mm2 == pytest.approx(4 * 24 * 40)
    assert fit.seam_mm == pytest.approx(4 * 2 * (24 + 40))


@pytest.mark.parametrize("seed", range(3))
def test_a_ring_cut_in_half_meets_twice(seed: int) -> None:
    fit = measure_fit(shapes.tube(140, 120, 20).turned(shapes.rotation(seed)), CUBE)
    assert (fit.pieces, fit.joints) == (2, 2)
    assert fit.bond_area_mm2 == pytest.approx(2 * 20 * 20, rel=1e-3)


def test_joints_of_separate_bars_are_those_of_each() -> None:
    bar = shapes.box(400, 20, 20)
    both = measure_fit(shapes.beside(bar, shapes.moved(bar, (0, 60, 0))), CUBE)
    assert (both.pieces, both.joints) == (4, 2)


@pytest.mark.parametrize("legs", [1, 2, 5])
@pytest.mark.parametrize("seed", range(2))
def test_a_cut_across_legs_makes_a_joint_in_each(legs: int, seed: int) -> None:
    """A back 20 high on hollow legs of 20 × 20, with a bore of 10 × 10; the second cut goes through the back alone."""
    comb = shapes.solid(shapes.moved(shapes.box(40.0 * legs, 20, 20), (0, 0, 100)))
    for k in range(legs):
        leg = shapes.cut(shapes.box(20, 20, 101), shapes.moved(shapes.box(10, 10, 99), (5, 5, 1)))
        comb += shapes.solid(shapes.moved(leg, (40.0 * k, 0, 0)))
    turn = shapes.rotation(seed)
    comb = comb.transform(np.hstack([turn, np.zeros((3, 1))]))
    stations = Stations(comb, turn[:, 2])
    legs_only, both = stations.bonds([50.0]), stations.bonds([50.0, 110.0])
    assert (legs_only.joints, both.joints) == (legs, legs + 1)
    assert legs_only.area_mm2 == pytest.approx(legs * 300)
    assert both.seam_mm == pytest.approx(legs * 80 + 2 * (40 * legs + 20))


def test_the_cut_is_made_where_the_section_is_small() -> None:
    """A bar 300 long with a waist at 130, off the middle: both pieces fit when cut there."""
    waist = [(0, 0), (300, 0), (300, 90), (140, 90), (135, 30), (125, 30), (120, 90), (0, 90)]
    fit = measure_fit(shapes.prism(waist, 80), (210, 210, 210))
    assert fit.pieces == 2
    assert fit.bond_area_mm2 == pytest.approx(30 * 80, rel=0.02)
    assert max(fit.piece_volumes_mm3) > 1.2 * min(fit.piece_volumes_mm3)


def test_a_step_at_the_cut_bonds_only_what_lies_on_both_sides() -> None:
    """A thick half and a thin half meet in the middle, where the cut falls."""
    step = shapes.prism([(0, 0), (400, 0), (400, 20), (200, 20), (200, 60), (0, 60)], 100)
    fit = measure_fit(step, CUBE)
    assert fit.pieces == 2
    assert fit.bond_area_mm2 == pytest.approx(20 * 100)
    assert fit.seam_mm == pytest.approx(2 * (20 + 100))


def test_a_cross_is_cut_square_to_its_arms() -> None:
    """Its smallest box lies at 45° to the arms, (420 + 20)/√2 = 311 < 420, and would cut them aslant.

    It fits neither way into 220, in two bars of 420 × 20 neither; cut through both middles each quarter does.
    """
    a, b = 210.0, 10.0
    ring = [
        (-b, -a),
        (b, -a),
        (b, -b),
        (a, -b),
        (a, b),
        (b, b),
        (b, a),
        (-b, a),
        (-b, b),
        (-a, b),
        (-a, -b),
        (-b, -b),
    ]
    fit = measure_fit(shapes.prism(ring, 20), CUBE)
    assert fit.pieces <= 4
    assert fit.bond_area_mm2 <= 4 * 20 * 20 * np.sqrt(2) + 1e-6


def test_closed_voids_stay_voids() -> None:
    """A box of 300 × 60 × 60 with a closed ball in the left half: one piece keeps it whole."""
    ball = shapes.moved(shapes.sphere(20, 48), (60, 30, 10))
    mesh = shapes.cut(shapes.box(400, 60, 60), ball)
    assert check_split(mesh, CUBE) == 2
    pieces = split_mesh(mesh, CUBE)
    assert sorted(piece.volume_mm3 for piece in pieces) == pytest.approx(
        [200 * 60 * 60 - ball.volume_mm3, 200 * 60 * 60], rel=1e-6
    )


def test_bodies_that_lie_apart_are_not_bonded() -> None:
    two = shapes.beside(shapes.box(100, 20, 20), shapes.moved(shapes.box(100, 20, 20), (500, 0, 0)))
    fit = measure_fit(two, CUBE)
    assert (fit.fits, fit.pieces, fit.bond_area_mm2, fit.seam_mm) == (False, 2, 0.0, 0.0)
    assert fit.joints == 0


@pytest.mark.parametrize(
    ("mesh", "volume"),
    [
        (shapes.torus(150, 15, 48), (220, 220, 250)),
        (shapes.hourglass(60, 20, 500, 48), (220, 220, 250)),
        (shapes.dumbbell(60, 400, 10, 48), (220, 220, 250)),
        (shapes.sphere(130, 32), (220, 220, 250)),
        (shapes.hollow_sphere(130, 120, 32), (220, 220, 250)),
        (shapes.arch(300, 40, 250, 30, 50), (220, 220, 250)),
        (shapes.box(500, 300, 240), (220, 200, 250)),
    ],
    ids=["torus", "hourglass", "dumbbell", "sphere", "hollow sphere", "arch", "block"],
)
def test_any_split_conserves_and_fits(mesh: Mesh, volume: Vector) -> None:
    assert check_split(mesh, volume) > 1


def test_the_demos_frame_in_a_common_printer() -> None:
    assert check_split(demo_meshes()["base_frame"], (220, 220, 250)) == 4


lengths = st.floats(20.0, 700.0)


@settings(deadline=None, max_examples=25)
@given(st.tuples(lengths, lengths, st.floats(2.0, 100.0)), st.tuples(*[st.floats(150.0, 400.0)] * 3))
def test_blocks_need_no_more_than_a_grid_and_no_less_than_their_volume(size: Vector, volume: Vector) -> None:
    block = shapes.box(*size)
    pieces = check_split(block, volume)
    x, y, z = volume
    turns = [(x, y, z), (x, z, y), (y, x, z), (y, z, x), (z, x, y), (z, y, x)]
    assert pieces <= min(prod(ceil(s / v) for s, v in zip(size, turn, strict=True)) for turn in turns)
    assert pieces >= prod(size) / prod(volume)


@settings(deadline=None, max_examples=25)
@given(
    st.tuples(lengths, lengths, st.floats(2.0, 60.0)),
    st.tuples(*[st.floats(150.0, 400.0)] * 3),
    st.floats(1.0, 1.5),
)
def test_a_larger_volume_never_needs_more_pieces(size: Vector, volume: Vector, factor: float) -> None:
    block = shapes.box(*size)
    larger = tuple(side * factor for side in volume)
    assert measure_fit(block, larger).pieces <= measure_fit(block, volume).pieces  # type: ignore[arg-type]


@settings(deadline=None, max_examples=5)
@given(st.integers(0, 10_000))
def test_the_count_does_not_depend_on_how_the_part_lies(seed: int) -> None:
    for mesh in (shapes.box(430, 310, 40), frame(420, 300, 40, 24), shapes.tube(60, 50, 600, 24)):
        as_drawn = measure_fit(mesh, CUBE)
        turned = measure_fit(mesh.turned(shapes.rotation(seed)), CUBE)
        assert turned.pieces == as_drawn.pieces
        assert turned.bond_area_mm2 == pytest.approx(as_drawn.bond_area_mm2, rel=0.02)


@settings(deadline=None, max_examples=10)
@given(st.floats(0.1, 10.0))
def test_scaling_part_and_volume_together_changes_no_count(factor: float) -> None:
    part = frame(420, 300, 40, 24)
    volume = tuple(side * factor for side in (225.0, 221.0, 250.0))
    fit = measure_fit(shapes.scaled(part, factor), volume)  # type: ignore[arg-type]
    assert fit.pieces == 4
    assert fit.bond_area_mm2 == pytest.approx(4 * 24 * 40 * factor**2)


def test_up_is_the_side_with_most_surface_on_the_bed() -> None:
    fit = measure_fit(shapes.cone(40, 25, 20), CUBE)
    assert fit.fits
    assert fit.up == pytest.approx((0, 0, 1))
    assert fit.piece_ups == (fit.up,)
    assert measure_fit(shapes.cone(25, 40, 20), CUBE).up == pytest.approx((0, 0, -1))


def test_far_too_large_a_part_is_estimated() -> None:
    """2 m cubes: 10 × 10 × 10 boxes, 27 cuts through 2 m × 2 m; the same by the mean over all sections."""
    fit = measure_fit(shapes.box(2000, 2000, 2000), (200, 200, 200))
    assert fit.pieces == 1000 > MOST_PIECES
    assert fit.bond_area_mm2 == pytest.approx(27 * 2000**2)
    assert fit.seam_mm == pytest.approx(27 * 4 * 2000)
    assert not fit.fits
    assert split_mesh(shapes.box(2000, 2000, 2000), (200, 200, 200)) == []


def test_the_same_split_every_time() -> None:
    mesh = shapes.torus(150, 15, 48)
    assert measure_fit(mesh, CUBE) == measure_fit(mesh, CUBE)
