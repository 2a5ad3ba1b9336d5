from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from routecost.routes.physics.boxes import block, brushed_skin_mm3, fits_pot

side = st.floats(1.0, 300.0)
margin = st.floats(0.0, 30.0)


@given(side, side, side, st.floats(0.01, 1.0), margin, margin, margin)
def test_silicone_and_part_fill_the_box(w, d, h, fill, beside, below, above):
    part = fill * w * d * h
    b = block(part, w, d, h, beside, below, above)
    whole = (w + 2 * beside) * (d + 2 * beside) * (h + below + above)
    assert b.silicone_mm3 + part == pytest.approx(whole, rel=1e-9)
    assert b.width_mm * b.depth_mm * b.height_mm == pytest.approx(whole, rel=1e-9)
    turned = block(part, d, w, h, beside, below, above)
    assert turned.silicone_mm3 == pytest.approx(b.silicone_mm3, rel=1e-9, abs=1e-6)


def test_board_is_the_surface_without_the_lid():
    b = block(1000, 20, 10, 5, 0, 0, 0)
    # closed form: surface of a box of 20 × 10 × 5 is 700, its lid 200
    assert b.wall_area_mm2 == 500.0
    assert b.silicone_mm3 == 0.0


def test_a_part_larger_than_its_box_is_a_mistake():
    with pytest.raises(ValueError, match="give volume and box of the same part in mm"):
        block(1001, 10, 10, 10, 12, 10, 10)
    assert block(1000.0001, 10, 10, 10, 0, 0, 0).silicone_mm3 == 0.0


def test_brushed_skin_of_a_thin_coat_is_near_a_true_offset():
    # closed form: shell of 1 mm around a sphere of radius 100
    offset = 4 / 3 * 3.141592653589793 * (101**3 - 100**3)
    assert brushed_skin_mm3(4 * 3.141592653589793 * 100**2, 1) == pytest.approx(offset, rel=0.011)


@given(side, side, side, side, side)
def test_a_box_fits_when_all_its_corners_do(w, d, h, diameter, height):
    corners = product((-w / 2, w / 2), (-d / 2, d / 2))
    inside = all(x * x + y * y <= (diameter / 2) ** 2 for x, y in corners) and h <= height
    assert fits_pot(w, d, h, diameter, height) == inside


def test_pythagoras_decides():
    assert fits_pot(30, 40, 10, 50, 10)
    assert not fits_pot(30, 40, 10, 49.99, 10)
    assert not fits_pot(30, 40, 10.01, 50, 10)
    with pytest.raises(ValueError, match="diameter of the pot is 0 mm"):
        fits_pot(1, 1, 1, 0, 1)
