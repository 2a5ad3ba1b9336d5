"""Reach against shapes whose answer is plain, in any rotation."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from routecost.mesh.geometry.mesh import Mesh
from routecost.mesh.measuring import poses
from routecost.mesh.measuring.measures import Reach
from routecost.mesh.measuring.reach import measure_reach
from tests.mesh import shapes

BLOCK, FINGER = 20.0, 8.0


def reach(mesh: Mesh, block_mm: float = BLOCK, finger_mm: float = FINGER) -> Reach:
    found = measure_reach(mesh, block_mm, finger_mm)
    assert found.block + found.finger + found.none == pytest.approx(1.0)
    assert min(found.block, found.finger, found.none) >= 0.0
    return found


CONVEX = {
    "box": shapes.box(60, 40, 30),
    "small box": shapes.box(6, 5, 4),
    "sphere": shapes.sphere(25),
    "small sphere": shapes.sphere(4),
    "crumb": shapes.box(0.5, 0.4, 0.3),
    "cylinder": shapes.cylinder(15, 50),
    "cone": shapes.cone(30, 5, 40),
    "plate": shapes.plate(150, 2),
}


@pytest.mark.parametrize("name", CONVEX)
@pytest.mark.parametrize("turned", [None, 3, 8])
def test_a_block_reaches_all_of_a_convex_part(name: str, turned: int | None) -> None:
    mesh = CONVEX[name] if turned is None else CONVEX[name].turned(shapes.rotation(turned))
    assert reach(mesh).block > 0.985


@pytest.mark.parametrize("turned", [None, 5])
def test_nothing_reaches_into_a_closed_void(turned: int | None) -> None:
    """Of a hollow ball the inside is r² / (R² + r²) of the surface."""
    mesh = shapes.hollow_sphere(20, 15)
    mesh = mesh if turned is None else mesh.turned(shapes.rotation(turned))
    assert reach(mesh).none == pytest.approx(15**2 / (20**2 + 15**2), abs=0.01)


def test_a_narrow_bore_is_out_of_reach_but_for_its_ends() -> None:
    """A tube 20 outside, 4 inside, 100 long: by hand, the bore is 2πrh of the surface; a rod 8 thick does not
    enter, and its round end touches the bore only within the 4 mm that it leans in."""
    mesh = shapes.tube(10, 2, 100)
    bore = 2 * np.pi * 2 * 100
    whole = 2 * np.pi * 10 * 100 + bore + 2 * np.pi * (10**2 - 2**2)
    found = reach(mesh)
    assert 0.9 * bore / whole < found.none < 1.01 * bore / whole
    # a thinner rod enters from either end
    assert reach(mesh, finger_mm=3.0).none < 0.01


@pytest.mark.parametrize(("wide", "opens"), [(5.0, False), (12.0, True)])
def test_a_slot_opens_to_a_rod_that_is_thinner(wide: float, opens: bool) -> None:
    """A slot 30 deep and 60 long in a block of 60 x 60 x 40: its walls and floor, by hand."""
    mesh = shapes.cut(
        shapes.box(60, 60, 40), shapes.moved(shapes.box(wide, 80, 31), (30 - wide / 2, -10, 10))
    )
    slot = 2 * 30 * 60 + wide * 60
    share = slot / mesh.area_mm2
    found = reach(mesh)
    if opens:
        # the two inner edges of the floor stay out of the round end's reach
        assert found.none < 0.05
        assert found.finger > 0.6 * share
    else:
        # the slot is open at both ends and at the top, where a rod leans in a little
        assert found.none > 0.6 * share


def test_reach_and_poses_look_along_their_lines_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Whichever is asked first, with the same answers."""
    mesh = shapes.drilled()
    looks: list[object] = []
    measure = poses._measure
    monkeypatch.setattr(poses, "_measure", lambda *args: looks.append(args[2]) or measure(*args))
    poses.poses_by_line.cache_clear()
    first = poses.measure_poses(mesh), reach(mesh)
    assert len(looks) == len(poses.candidate_ups(mesh)) / 2
    looks.clear()
    poses.poses_by_line.cache_clear()
    assert (reach(mesh), poses.measure_poses(mesh)) == first[::-1]
    assert len(looks) == len(poses.candidate_ups(mesh)) / 2


def test_a_block_sands_a_wide_cup_and_a_finger_a_narrow_one() -> None:
    """A block 20 wide lies in a cup of radius R but for R - sqrt(R² - 10²): 0.7 mm of 70, which it yields, and
    1.4 mm of 37, which it does not."""
    wide, tight = reach(shapes.cup(73, 70, 20, 3)), reach(shapes.cup(40, 37, 20, 3))
    assert wide.block > 0.85
    assert tight.block < wide.block - 0.05
    narrow = reach(shapes.cup(11, 8, 30, 3))
    inside = (2 * np.pi * 8 * 27 + np.pi * 8**2) / shapes.cup(11, 8, 30, 3).area_mm2
    assert narrow.block == pytest.approx(1 - inside, abs=0.06)
    assert narrow.finger > 0.7 * inside


HOLLOWS = {
    "slot": ((12.0, 80.0, 31.0), (24.0, -10.0, 10.0)),
    "pocket": ((16.0, 40.0, 31.0), (22.0, 10.0, 10.0)),
    "groove": ((30.0, 80.0, 31.0), (15.0, -10.0, 10.0)),
}


@pytest.mark.parametrize("name", HOLLOWS)
def test_a_wider_block_reaches_no_more_and_none_where_it_does_not_enter(name: str) -> None:
    sides, at = HOLLOWS[name]
    mesh = shapes.cut(shapes.box(60, 60, 40), shapes.moved(shapes.box(*sides), at))
    shares = [reach(mesh, block_mm=wide).block for wide in (10.0, 20.0, 40.0, 80.0)]
    for small, large in itertools.pairwise(shares):
        assert large <= small + 0.002
    # what a block wider than the hollow reaches is the outside, by hand, and a hair at its rims
    floor_and_walls = min(sides[1], 60.0) * (sides[0] + 2 * 30.0)
    ends = 2 * sides[0] * 30.0 if sides[1] < 60.0 else 0.0
    assert shares[-1] == pytest.approx(1.0 - (floor_and_walls + ends) / mesh.area_mm2, abs=0.012)


@settings(max_examples=3)
@given(st.floats(4, 30), st.floats(1.2, 2.5), st.integers(0, 99))
def test_a_larger_tool_never_reaches_more(size: float, larger: float, seed: int) -> None:
    mesh = shapes.cut(shapes.box(50, 40, 30), shapes.moved(shapes.cylinder(9, 40), (25, 20, 8)))
    mesh = mesh.turned(shapes.rotation(seed))
    small, big = reach(mesh, block_mm=size, finger_mm=size / 2), reach(mesh, size * larger, size / 2 * larger)
    assert big.block <= small.block + 0.012
    assert big.none >= small.none - 0.012


@settings(max_examples=2)
@given(st.integers(0, 999))
def test_turning_mirroring_and_moving_change_nothing(seed: int) -> None:
    mesh = shapes.cup(20, 16, 40, 4)
    plain = reach(mesh)
    twins = (
        reach(mesh.turned(shapes.rotation(seed))),
        reach(shapes.mirrored(mesh)),
        reach(shapes.moved(mesh, (900.0, -40.0, 3.0))),
        reach(shapes.shuffled(mesh, seed)),
    )
    for twin in twins:
        assert twin.block == pytest.approx(plain.block, abs=0.03)
        assert twin.none == pytest.approx(plain.none, abs=0.03)
