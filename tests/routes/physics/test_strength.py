from math import inf, pi

import pytest
from hypothesis import given
from hypothesis import strategies as st

from routecost.routes.physics.strength import (
    allowable_mpa,
    buckling_load_n,
    slenderness,
    stress_mpa,
)

some = st.floats(0.5, 1e4)


def test_screen_of_a_printed_hook():
    # derived by hand: 500 N on 10 mm × 5 mm across layers of 56 MPa strength
    allowed = allowable_mpa(56, 0.5, 4)
    assert allowed == 7.0
    assert stress_mpa(500, 50) == 10.0


@given(st.floats(2.0, 30.0), st.floats(1.0, 3.0), st.floats(50, 400))
def test_buckling_is_euler_for_a_rectangle(thin, ratio, length):
    # closed form: π² E I/(K L)² with I = b t³/12 (Euler)
    wide = thin * ratio
    euler = pi**2 * 3300.0 * (wide * thin**3 / 12.0) / length**2
    assert buckling_load_n(wide * thin, thin, length, 3.3, end_factor=1.0) == pytest.approx(euler)
    assert buckling_load_n(wide * thin, thin, length, 3.3, end_factor=2.0) == pytest.approx(
        euler / 4
    )  # free at the head


@given(some, some)
def test_slenderness_is_a_ratio(height, foot):
    assert slenderness(3 * height, 3 * foot) == pytest.approx(slenderness(height, foot))


def test_bad_input_says_what_to_give():
    with pytest.raises(ValueError, match="section is 0 mm²"):
        stress_mpa(10, 0)
    with pytest.raises(ValueError, match="direction share is 50; give a share from 0 to 1"):
        allowable_mpa(50, 50, 4)
    with pytest.raises(ValueError, match="give 1 or more, 4 if unsure"):
        allowable_mpa(50, 1.0, 0.5)
    with pytest.raises(ValueError, match="safety factor is inf"):
        allowable_mpa(50, 1.0, inf)
    with pytest.raises(ValueError, match="length is nan mm"):
        buckling_load_n(10, 1, float("nan"), 3, 2)
