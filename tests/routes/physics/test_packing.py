from functools import cache
from math import floor

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from routecost.routes.physics.packing import fit_count


def best_by_exhaustion(width: int, depth: int, a: int, b: int) -> int:
    """Most a×b rectangles on a board of unit cells: every way to cover or skip the first free cell."""
    full = (1 << (width * depth)) - 1
    shapes = sorted({(a, b), (b, a)})

    @cache
    def best(taken: int) -> int:
        free = ~taken & full
        if free.bit_count() < a * b:
            return 0
        cell = (free & -free).bit_length() - 1
        y, x = divmod(cell, width)
        most = best(taken | (1 << cell))
        for w, d in shapes:
            if x + w <= width and y + d <= depth:
                row = ((1 << w) - 1) << x
                mask = sum(row << ((y + k) * width) for k in range(d))
                if not taken & mask:
                    most = max(most, 1 + best(taken | mask))
        return most

    return best(0)


@pytest.mark.parametrize(("a", "b"), [(1, 2), (2, 3), (2, 5), (3, 4), (3, 5), (4, 5), (3, 3)])
def test_small_boards_are_packed_as_well_as_possible(a, b):
    for width in range(a, 9):
        for depth in range(a, width + 1):
            assert fit_count(width, depth, a, b) == best_by_exhaustion(width, depth, a, b), (width, depth)


@pytest.mark.parametrize(
    ("plate", "item", "count"),
    [
        ((220, 220), (100, 60), 8),  # derived: four blocks of two around a core, area bound 8
        ((5, 5), (3, 2), 4),  # derived: the plain pinwheel, area bound 4, a grid gives 2
        ((9, 11), (4, 3), 8),  # derived: area bound 8
        # pallet-loading instances of the literature (memory); all meet the area bound, so the optimum is derived
        ((1000, 1000), (205, 159), 30),
        ((22, 16), (5, 3), 23),
        ((86, 82), (15, 11), 42),
    ],
)
def test_pinwheels_are_found(plate, item, count):
    assert fit_count(*plate, *item) == count


@pytest.mark.parametrize(
    ("plate", "item", "optimum"),
    # pallet-loading instances known to need L-shaped cuts (memory; each optimum is the area bound)
    [
        ((43, 26), (7, 3), 53),
        ((49, 28), (8, 3), 57),
        ((57, 34), (7, 4), 69),
        ((74, 49), (11, 4), 82),
        ((106, 59), (13, 5), 96),
    ],
)
def test_hard_plates_lose_one_at_most(plate, item, optimum):
    assert optimum - 1 <= fit_count(*plate, *item) <= optimum


sizes = st.floats(5.0, 60.0)
plates = st.floats(5.0, 260.0)


@settings(deadline=None)
@given(plates, plates, sizes, sizes, st.floats(0.0, 10.0))
def test_between_the_grids_and_the_area(w, d, a, b, gap):
    n = fit_count(w, d, a, b, gap)

    def along(length: float, part: float) -> int:
        return floor((length + gap) / (part + gap) + 1e-12)

    assert n >= along(w, a) * along(d, b)
    assert n >= along(w, b) * along(d, a)
    assert n <= (w + gap) * (d + gap) / ((a + gap) * (b + gap)) * (1 + 1e-6)


@settings(deadline=None)
@given(plates, plates, sizes, sizes, st.floats(0.0, 10.0), st.sampled_from([0.1, 2.0, 25.4]))
def test_turning_and_scaling_change_nothing(w, d, a, b, gap, k):
    n = fit_count(w, d, a, b, gap)
    assert fit_count(d, w, a, b, gap) == n
    assert fit_count(w, d, b, a, gap) == n
    assert fit_count(k * w, k * d, k * a, k * b, k * gap) == n


@settings(deadline=None)
@given(
    plates, plates, st.floats(25.0, 60.0), st.floats(25.0, 60.0), st.floats(0.0, 20.0), st.floats(0.0, 20.0)
)
def test_a_larger_plate_or_a_smaller_gap_never_holds_fewer(w, d, a, b, g1, g2):
    close, wide = sorted((g1, g2))
    assert fit_count(w, d, a, b, close) >= fit_count(w, d, a, b, wide)
    assert fit_count(w + g1, d + g2, a, b, close) >= fit_count(w, d, a, b, close)


@given(
    st.integers(1, 12), st.integers(1, 12), st.floats(1.0, 50.0), st.floats(1.0, 50.0), st.floats(0.0, 8.0)
)
def test_plates_of_whole_multiples_are_filled(i, j, a, b, gap):
    # closed form: i × j rectangles with their gaps fill the plate
    n = fit_count(i * a + (i - 1) * gap, j * b + (j - 1) * gap, a, b, gap)
    assert n == i * j or (gap > 0 and n >= i * j)


def test_enough_is_enough():
    assert fit_count(220, 220, 100, 60, enough=3) == 3
    assert fit_count(220, 220, 100, 60, enough=8) == 8
    assert fit_count(220, 220, 100, 60, enough=50) == 8


def test_too_large_is_none():
    assert fit_count(220, 220, 221, 10) == 0
    assert fit_count(220, 200, 220, 200, gap_mm=5) == 1


def test_many_small_ones_are_packed_too():
    assert 13_300 <= fit_count(400, 400, 3, 2, 1) <= 13_400
    assert 74 <= fit_count(220, 220, 25, 17, 5) <= 76


def test_bad_input_says_what_to_give():
    with pytest.raises(ValueError, match="plate width is 0 mm"):
        fit_count(0, 10, 1, 1)
    with pytest.raises(ValueError, match="rectangle depth is nan mm"):
        fit_count(10, 10, 1, float("nan"))
    with pytest.raises(ValueError, match="gap is -1 mm"):
        fit_count(10, 10, 1, 1, -1)
