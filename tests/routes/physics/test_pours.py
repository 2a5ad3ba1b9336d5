from itertools import pairwise
from math import ceil, inf, pi

import pytest
from hypothesis import given
from hypothesis import strategies as st

from routecost.routes.physics.pours import largest_mix_g, mix_batches, plan_pours, pour_waits_h

areas = st.lists(st.just(0.0) | st.floats(0.01, 5000.0), max_size=60)
depths = st.floats(1.0, 80.0)
masses = st.floats(20.0, 2000.0)


@given(areas, depths, masses)
def test_pours_stack_up_to_the_cavity_within_both_limits(area, depth, mass):
    pours = plan_pours(area, 1.0, 1.1, depth, mass)
    assert sum(p.volume_mm3 for p in pours) == pytest.approx(sum(area), rel=1e-9, abs=1e-9)
    assert sum(p.mass_g for p in pours) == pytest.approx(sum(area) * 1.1e-3, rel=1e-9, abs=1e-9)
    for low, high in pairwise(pours):
        assert low.to_mm == high.from_mm
    for pour in pours:
        assert 0.0 < pour.depth_mm <= depth * (1 + 1e-6)
        assert pour.mass_g <= mass * (1 + 1e-6)


@given(areas, depths, masses)
def test_no_fewer_pours_would_do(area, depth, mass):
    """Bounds from both sides: total depth and mass below, pours that end at whole slices above."""
    count = len(plan_pours(area, 1.0, 1.1, depth, mass))
    inside = [i for i, a in enumerate(area) if a > 0]
    if not inside:
        assert count == 0
        return
    filled = area[inside[0] : inside[-1] + 1]
    assert count >= ceil(len(filled) / depth - 1e-6)
    assert count >= ceil(sum(filled) * 1.1e-3 / mass - 1e-6)
    coarse, tall, heavy = 1, 0.0, 0.0
    for a in filled:  # a slice is at most 5.5 g and 1 mm, so each goes into a pour of its own at worst
        if tall + 1.0 > depth or heavy + a * 1.1e-3 > mass:
            coarse, tall, heavy = coarse + 1, 0.0, 0.0
        tall, heavy = tall + 1.0, heavy + a * 1.1e-3
    assert count <= coarse


@given(st.floats(50.0, 5000.0), st.integers(1, 200), depths, masses)
def test_a_prism_takes_the_larger_of_two_plain_counts(area, height, depth, mass):
    # closed form: constant section, so the stricter limit rules throughout; pours come out equal
    whole_mass = area * height * 1.1e-3
    wanted = max(ceil(height / depth - 1e-7), ceil(whole_mass / mass - 1e-7))
    pours = plan_pours([area] * height, 1.0, 1.1, depth, mass)
    assert len(pours) == wanted
    for pour in pours:
        assert pour.depth_mm == pytest.approx(height / wanted, rel=1e-6)


def test_levels_in_a_cone_follow_the_cube_root():
    # closed form: a cone on its point, filled by equal masses, has levels h·(k/n)^(1/3)
    n, height = 4000, 100.0
    slice_mm = height / n
    area = [pi * 30.0**2 * ((i + 0.5) / n) ** 2 for i in range(n)]
    mass = pi * 30.0**2 * height / 3.0 * 1.1e-3
    pours = plan_pours(area, slice_mm, 1.1, inf, mass / 4 * 1.0001)
    assert [p.to_mm for p in pours] == pytest.approx(
        [height * (k / 4) ** (1 / 3) for k in (1, 2, 3, 4)], abs=0.02
    )


@given(areas, depths, masses)
def test_finer_slices_change_nothing(area, depth, mass):
    halves = [a for a in area for _ in range(2)]
    coarse, fine = plan_pours(area, 1.0, 1.1, depth, mass), plan_pours(halves, 0.5, 1.1, depth, mass)
    assert [p.to_mm for p in fine] == pytest.approx([p.to_mm for p in coarse], rel=1e-5)


@given(areas, depths, masses, st.floats(0.2, 5.0))
def test_a_cavity_scaled_in_all_lengths_takes_as_many(area, depth, mass, k):
    same = plan_pours(area, 1.0, 1.1, depth, mass)
    scaled = plan_pours([a * k**2 for a in area], k, 1.1, depth * k, mass * k**3)
    assert [p.to_mm for p in scaled] == pytest.approx([p.to_mm * k for p in same], rel=1e-5)


@given(areas, depths, masses, st.floats(1.0, 3.0))
def test_looser_limits_never_take_more(area, depth, mass, k):
    tight = len(plan_pours(area, 1.0, 1.1, depth, mass))
    assert len(plan_pours(area, 1.0, 1.1, depth * k, mass)) <= tight
    assert len(plan_pours(area, 1.0, 1.1, depth, mass * k)) <= tight


def test_empty_slices_at_the_ends_are_not_filled():
    (only,) = plan_pours([0.0, 0.0, 500.0, 500.0, 0.0], 2.0, 1.1, 20, 500)
    assert (only.from_mm, only.to_mm) == (4.0, 8.0)
    assert plan_pours([], 1.0, 1.1, 20, 500) == ()
    assert plan_pours([0.0], 1.0, 1.1, 20, 500) == ()


def test_no_sliver_is_left_for_last():
    pours = plan_pours([1000.0] * 41, 1.0, 1.1, 20, inf)
    assert [p.depth_mm for p in pours] == pytest.approx([41 / 3] * 3)


def test_waits_and_batches():
    assert pour_waits_h(0, 4) == pour_waits_h(1, 4) == 0.0
    assert pour_waits_h(4, 2.5) == 7.5
    assert largest_mix_g(20, 4, 50, usable_share=1.0) == 800.0
    assert largest_mix_g(20, 4, 50, usable_share=0.8) == 600.0


@given(st.floats(0.001, 1e5), st.floats(1.0, 5000.0))
def test_batches_hold_the_mass_and_no_spare_batch(mass, largest):
    n = mix_batches(mass, largest)
    assert n * largest >= mass * (1 - 1e-9)
    assert (n - 1) * largest < mass


def test_bad_input_says_what_to_give():
    with pytest.raises(ValueError, match="depth limit is 0 mm; give a number above 0 mm"):
        plan_pours([1.0], 1, 1.1, 0, 100)
    with pytest.raises(ValueError, match="mass limit is nan g"):
        plan_pours([1.0], 1, 1.1, 10, float("nan"))
    with pytest.raises(ValueError, match="negative or not a number"):
        plan_pours([1.0, -1.0], 1, 1.1, 10, 100)
    with pytest.raises(ValueError, match="check the units"):
        plan_pours([1e6] * 100, 1, 1.1, 10, 1e-3)
    with pytest.raises(ValueError, match="take a slower resin or mix faster"):
        largest_mix_g(5, 5, 100, 0.8)
