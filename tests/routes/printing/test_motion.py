"""Print times against exact motion, a box reckoned by hand, and prints laid out move by move."""

from dataclasses import replace
from functools import cache
from math import pi

import numpy as np
import pytest
from hypothesis import given
from hypothesis import settings as examples
from hypothesis import strategies as st
from manifold3d import Manifold

from routecost.mesh.geometry.mesh import Mesh
from routecost.mesh.measuring.deposit import measure_deposit
from routecost.mesh.measuring.measures import Deposit
from routecost.routes.printing.motion import PrintSettings, mean_chord_mm, print_time, rest_to_rest_s
from tests.mesh import shapes
from tests.routes.printing.path_reference import one_move_s, printed

UP = (0.0, 0.0, 1.0)
PLAIN = PrintSettings(
    infill_share=0.2,
    wall_speed_mm_s=45,
    skin_speed_mm_s=50,
    infill_speed_mm_s=80,
    support_speed_mm_s=80,
    travel_speed_mm_s=150,
    accel_mm_s2=1500,
    volumetric_mm3_s=20,
    shortest_layer_s=0,
    layer_change_s=1,
    warm_up_min=0,
    support_share=0.15,
)
MACHINES = {
    "plain": PLAIN,
    "sluggish": replace(PLAIN, accel_mm_s2=500),
    "fast": replace(
        PLAIN,
        wall_speed_mm_s=200,
        skin_speed_mm_s=250,
        infill_speed_mm_s=300,
        travel_speed_mm_s=500,
        accel_mm_s2=8000,
    ),
    "slow to melt, dense": replace(PLAIN, volumetric_mm3_s=3, infill_share=0.6),
    "has to wait": replace(PLAIN, shortest_layer_s=12, layer_change_s=2),
}


def _perforated() -> Mesh:
    body = Manifold.cube((60, 40, 8))
    for x in (12, 30, 48):
        for y in (12, 29):
            body -= Manifold.cylinder(20, 5, 5, 64).translate((x, y, -5))
    return Mesh.from_manifold(body)


BODIES = {
    "cube 10": shapes.box(10, 10, 10),
    "box 80 x 40 x 30": shapes.box(80, 40, 30),
    "cylinder": shapes.cylinder(15, 20, 128),
    "thin-walled cup": shapes.cup(20, 18.8, 25, 1.2, 128),
    "plate": shapes.box(60, 60, 1),
    "sphere": shapes.sphere(12, 96),
    "small sphere": shapes.sphere(4, 64),
    "bracket": shapes.ell(40, 6, 20),
    "posts": shapes.posts([15, 15, 15, 15, 10]),
    "dumbbell": shapes.dumbbell(10, 30, 4, 64),
    "lying ring": shapes.torus(15, 5, 64),
    "perforated block": _perforated(),
    "box on its corner": Mesh.from_manifold(Manifold.cube((20, 15, 10)).rotate((30, 40, 50))),
}


@cache
def deposited(name: str, layer_mm: float = 0.2, walls: int = 3, skins: int = 4) -> Deposit:
    return measure_deposit(BODIES[name], UP, layer_mm, 0.45, walls, skins)


@pytest.mark.parametrize(
    ("move", "seconds"),
    [
        # exact: d/v + v/a, or 2 √(d/a) where the speed is not reached
        ((100, 50, 500), 2.1),
        ((5, 50, 500), 0.2),
        ((2, 50, 500), 0.126491),
        ((200, 150, 3000), 1.383333),
        ((1, 100, 1000), 0.0632456),
    ],
)
def test_rest_to_rest(move, seconds):
    assert rest_to_rest_s(*move) == pytest.approx(seconds, rel=5e-6)
    assert one_move_s(*move) == pytest.approx(seconds, rel=5e-6)


positive = st.floats(0.01, 1000)


@examples(derandomize=True, deadline=None)
@given(d=positive, e=positive, v=positive, a=st.floats(10, 50000))
def test_laws_of_motion(d, e, v, a):
    whole, first, second = (float(rest_to_rest_s(x, v, a)) for x in (d + e, d, e))
    assert whole >= first
    assert whole >= (d + e) / v
    # a halt on the way never gains time
    assert first + second >= whole * (1 - 1e-12)
    assert float(rest_to_rest_s(d, v, 2 * a)) <= first <= float(rest_to_rest_s(d, v / 2, a)) * (1 + 1e-12)
    # lengths and speeds in another unit give the same seconds
    assert float(rest_to_rest_s(25.4 * d, 25.4 * v, 25.4 * a)) == pytest.approx(first)
    assert rest_to_rest_s(np.array([d, e]), v, a).tolist() == [first, second]


def test_mean_chord():
    # Cauchy–Crofton: disc of diameter D → π D / 4; a square → π a / 4
    assert mean_chord_mm(pi * 25, pi * 10) == pytest.approx(pi * 10 / 4)
    assert mean_chord_mm(100, 40) == pytest.approx(pi * 10 / 4)


def test_a_box_reckoned_by_hand():
    """80 × 40 × 30 mm, three walls of 0.45, 20 % infill, layers of 0.2, four skins; derived on paper."""
    machine = replace(
        PLAIN,
        wall_speed_mm_s=50,
        skin_speed_mm_s=60,
        infill_speed_mm_s=80,
        accel_mm_s2=2000,
        layer_change_s=1,
        warm_up_min=5,
    )
    # layers: 30 / 0.2 = 150; one line is 0.45 × 0.2 = 0.09 mm²
    # loops, centred 0.225, 0.675 and 1.125 inside:
    #   2 (79.55 + 39.55) + 2 (78.65 + 38.65) + 2 (77.75 + 37.75) = 238.2 + 234.6 + 231.0 = 703.8 mm a layer
    #   path 150 × 703.8 = 105 570 mm, volume × 0.09 = 9 501.3 mm³
    #   four sides each reach 50 mm/s (v²/a = 1.25 mm): 105 570 / 50 + 150 × 12 × 50 / 2000 = 2111.4 + 45 = 2156.4 s
    # inside the loops: 77.3 × 37.3 = 2883.29 mm², outline 2 (77.3 + 37.3) = 229.2 mm, mean chord π A / P = 39.52 mm
    # skins: 4 + 4 layers: path 8 × 2883.29 / 0.45 = 51 258.5 mm, volume 4 613.3 mm³, 51 258.5 / 39.52 = 1297.0 lines
    #   51 258.5 / 60 + 1297.0 × 60 / 2000 = 854.3 + 38.9 = 893.2 s
    # infill: 142 layers, 142 × 2883.29 × 0.2 / 0.45 = 181 967.6 mm, volume 16 377.1 mm³, 4604.4 lines
    #   181 967.6 / 80 + 4604.4 × 80 / 2000 = 2274.6 + 184.2 = 2458.8 s
    # travel (acceleration only, 2 √(d/a)):
    #   from loop to loop 0.45 mm: 0.0300 s, 2 × 150 = 300 of them: 9.0 s
    #   from skin line to skin line π/2 × 0.45 = 0.707 mm: 0.0376 s × (1297.0 - 8) = 48.5 s
    #   from infill line to infill line π/2 × 2.25 = 3.534 mm: 0.0841 s × (4604.4 - 142) = 375.2 s
    #   into the filling, half its side √2883.29 / 2 = 26.85 mm: 26.85 / 150 + 0.075 = 0.254 s × 150 = 38.1 s
    #   together 470.8 s
    # layer changes 150 s, warm-up 300 s
    # deposited: 9 501.3 + 4 613.3 + 16 377.1 = 30 491.7 mm³
    # path: 105 570 + 51 258.5 + 181 967.6 = 338 796.1 mm
    # time: 2156.4 + 893.2 + 2458.8 + 470.8 + 150 + 300 = 6429.2 s = 107.15 min
    deposit = deposited("box 80 x 40 x 30")
    time = print_time(deposit, 0.0, machine)
    path_mm = deposit.wall_length_mm + deposit.skin_length_mm + 0.2 * deposit.core_length_at_full_mm
    assert time.deposited_mm3 == pytest.approx(30491.7, rel=0.02)
    assert path_mm == pytest.approx(338796.1, rel=0.02)
    assert time.total_min == pytest.approx(107.15, rel=0.02)
    by_hand = {"walls": 2156.4, "skins": 893.2, "infill": 2458.8, "travel": 470.8, "layer changes": 150.0}
    for kind, seconds in by_hand.items():
        assert time.by_kind[kind] * 60 == pytest.approx(seconds, rel=0.02)
    assert time.by_kind["heating and cooling"] == 5
    assert time.dominant == "infill"


@pytest.mark.parametrize("machine", MACHINES)
@pytest.mark.parametrize("name", BODIES)
def test_a_print_laid_out_move_by_move_takes_as_long(name, machine):
    setting = MACHINES[machine]
    laid_out = printed(BODIES[name], 0.2, 0.45, 3, 4, setting)
    time = print_time(deposited(name), 0.0, setting)
    assert time.total_min * 60 == pytest.approx(laid_out.total, rel=0.05)
    assert time.deposited_mm3 == pytest.approx(laid_out.volume_mm3, rel=0.02)
    assert time.walls_min * 60 == pytest.approx(laid_out.walls, rel=0.02)


@pytest.mark.parametrize("walls", [1, 2, 5])
@pytest.mark.parametrize("layer_mm", [0.1, 0.3])
@pytest.mark.parametrize("name", ["cube 10", "thin-walled cup", "bracket"])
def test_other_layers_and_walls_take_as_long(name, layer_mm, walls):
    laid_out = printed(BODIES[name], layer_mm, 0.45, walls, 3, PLAIN)
    time = print_time(deposited(name, layer_mm, walls, 3), 0.0, PLAIN)
    assert time.total_min * 60 == pytest.approx(laid_out.total, rel=0.05)
    assert time.deposited_mm3 == pytest.approx(laid_out.volume_mm3, rel=0.02)


@pytest.mark.parametrize("name", ["thin-walled cup", "plate"])
def test_all_wall_takes_as_long(name):
    laid_out = printed(BODIES[name], 0.2, 0.45, 99, 0, PLAIN)
    time = print_time(deposited(name, 0.2, 99, 0), 0.0, PLAIN)
    assert time.total_min * 60 == pytest.approx(laid_out.total, rel=0.05)
    assert time.deposited_mm3 == pytest.approx(laid_out.volume_mm3, rel=0.02)
    assert time.infill_min == time.skins_min == 0


def test_the_lie_on_the_plate():
    # the worst case that is known: all sides of the bracket along the lines, which then are few and long
    setting = MACHINES["sluggish"]
    seconds = print_time(deposited("bracket"), 0.0, setting).total_min * 60
    laid_out = [printed(BODIES["bracket"], 0.2, 0.45, 3, 4, setting, turn).total for turn in (0, 15, 30, 45)]
    assert seconds == pytest.approx(min(laid_out), rel=0.10)
    assert seconds == pytest.approx(np.mean(laid_out), rel=0.03)


def test_the_shortest_layer():
    # every layer of a 4 mm post takes less than 15 s: the print takes 15 s a layer, to the second
    post = measure_deposit(shapes.cylinder(2, 30, 64), UP, 0.2, 0.45, 3, 4)
    setting = replace(PLAIN, shortest_layer_s=15, warm_up_min=4)
    one = print_time(post, 0.0, setting)
    assert one.total_min == pytest.approx(150 * 15 / 60 + 4)
    assert one.dominant == "waiting for short layers to cool"
    # while the others are laid one cools: five copies take hardly more than one
    assert print_time(post, 0.0, setting, copies=2).total_min == pytest.approx(one.total_min)
    assert print_time(post, 0.0, setting, copies=2).waiting_min < one.waiting_min
    many = print_time(post, 0.0, setting, copies=40)
    assert many.waiting_min == 0
    assert many.total_min < 40 * one.total_min / 3


@examples(max_examples=40, deadline=None, derandomize=True)
@given(
    name=st.sampled_from(["cube 10", "thin-walled cup", "bracket", "posts", "sphere"]),
    machine=st.sampled_from(sorted(MACHINES)),
    copies=st.integers(1, 20),
    supports=st.floats(0, 1e5),
)
def test_copies_on_a_plate(name, machine, copies, supports):
    setting = replace(MACHINES[machine], warm_up_min=5)
    one = print_time(deposited(name), supports, setting)
    more = print_time(deposited(name), supports, setting, copies=copies)
    assert more.deposited_mm3 == pytest.approx(copies * one.deposited_mm3)
    assert more.walls_min == pytest.approx(copies * one.walls_min)
    assert (more.layer_changes_min, more.warm_up_min) == (one.layer_changes_min, one.warm_up_min)
    assert more.waiting_min <= one.waiting_min + 1e-9
    assert more.total_min >= one.total_min - 1e-9
    assert more.total_min == pytest.approx(sum(more.by_kind.values()))
    assert more.by_kind[more.dominant] == max(more.by_kind.values())
    longer = print_time(deposited(name), supports, setting, copies=copies + 1)
    assert longer.total_min >= more.total_min - 1e-9


@examples(max_examples=40, deadline=None, derandomize=True)
@given(
    name=st.sampled_from(sorted(BODIES)),
    machine=st.sampled_from(sorted(MACHINES)),
    low=st.floats(0, 1),
    high=st.floats(0, 1),
)
def test_more_infill_never_takes_less(name, machine, low, high):
    low, high = sorted((low, high))
    less, more = (
        print_time(deposited(name), 0.0, replace(MACHINES[machine], infill_share=share))
        for share in (low, high)
    )
    assert more.total_min >= less.total_min - 1e-9
    assert more.deposited_mm3 >= less.deposited_mm3 - 1e-9


@pytest.mark.parametrize("name", BODIES)
def test_thinner_layers_never_take_less(name):
    # with skins as thick in mm: as many of thicker layers are more skin where a roof slopes
    minutes = [
        print_time(deposited(name, layer_mm, skins=skins), 0.0, PLAIN).total_min
        for layer_mm, skins in ((0.4, 2), (0.2, 4), (0.1, 8))
    ]
    assert minutes == sorted(minutes)


@pytest.mark.parametrize("name", ["box 80 x 40 x 30", "sphere", "thin-walled cup"])
def test_the_hot_end_sets_the_pace(name):
    # melting 0.5 mm³/s and starting at once, the print takes its volume over that rate
    setting = replace(PLAIN, volumetric_mm3_s=0.5, accel_mm_s2=1e6, infill_share=1.0, layer_change_s=0)
    time = print_time(deposited(name), 1000.0, setting)
    laying_s = 60 * (time.walls_min + time.skins_min + time.infill_min + time.supports_min)
    assert laying_s == pytest.approx(time.deposited_mm3 / 0.5, rel=0.01)
    # what is solid throughout is the part itself
    assert time.part_mm3 == pytest.approx(BODIES[name].volume_mm3, rel=2e-3)


def test_supports():
    cube = deposited("cube 10")
    times = [print_time(cube, volume, PLAIN) for volume in (0, 100, 1000, 10000)]
    assert [t.support_mm3 for t in times] == pytest.approx([0, 15, 150, 1500])
    assert times[0].supports_min == 0
    minutes = [t.total_min for t in times]
    assert minutes == sorted(minutes)
    # a tower of supports as high as the cube and 10 mm square: its lines are the infill of a cube without walls
    bare = measure_deposit(BODIES["cube 10"], UP, 0.2, 0.45, 0, 0)
    infill = print_time(bare, 0.0, replace(PLAIN, infill_share=0.15))
    assert times[2].supports_min == pytest.approx(infill.infill_min, rel=0.03)
    assert times[2].supports_min < times[3].supports_min / 10 * 1.6


def test_units_do_not_matter():
    # all lengths ten times, speeds and acceleration too: the same seconds, a thousand times the volume
    small = print_time(deposited("bracket"), 500.0, PLAIN)
    big = measure_deposit(shapes.scaled(BODIES["bracket"], 10), UP, 2.0, 4.5, 3, 4)
    tenfold = {
        f"{kind}_speed_mm_s": 10 * getattr(PLAIN, f"{kind}_speed_mm_s")
        for kind in ("wall", "skin", "infill", "support", "travel")
    }
    setting = replace(PLAIN, accel_mm_s2=15000, volumetric_mm3_s=20000, **tenfold)
    large = print_time(big, 500e3, setting)
    assert large.total_min == pytest.approx(small.total_min, rel=1e-3)
    assert large.deposited_mm3 == pytest.approx(1000 * small.deposited_mm3, rel=1e-3)


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"infill_share": 20}, "give a share from 0 to 1"),
        ({"accel_mm_s2": 0}, "acceleration is 0"),
        ({"wall_speed_mm_s": -5}, "wall speed is -5"),
        ({"volumetric_mm3_s": float("nan")}, "volumetric rate is nan"),
        ({"shortest_layer_s": -1}, "shortest layer is -1"),
    ],
)
def test_settings_out_of_their_domain(change, told):
    with pytest.raises(ValueError, match=told):
        replace(PLAIN, **change)
