import pytest
from hypothesis import given
from hypothesis import strategies as st

from routecost.routes.physics.machine_hour import energy_kwh, wear_share

shares = st.floats(0.0, 1.0)


@given(st.floats(1.0, 1e5), shares)
def test_a_whole_life_uses_up_what_is_not_resold(life, resale):
    # conservation: price − resale value is written off over the life, whatever the pieces
    assert wear_share(life, life, resale) == pytest.approx(1 - resale)
    assert sum(wear_share(life / 8, life, resale) for _ in range(8)) == pytest.approx(1 - resale)


@given(st.floats(0.0, 1e4), st.floats(1.0, 1e5), shares, shares)
def test_upkeep_comes_on_top(run, life, resale, upkeep):
    extra = wear_share(run, life, resale, upkeep) - wear_share(run, life, resale)
    assert extra == pytest.approx(run / life * upkeep, abs=1e-9 * (1 + run / life))


def test_a_kilowatt_hour_is_3_6_megajoule():
    # NIST SP 811 (read): watts × seconds
    assert energy_kwh(2.5, 400) * 3.6e6 == pytest.approx(400 * 2.5 * 3600)


def test_bad_input_says_what_to_give():
    with pytest.raises(ValueError, match="life is 0"):
        wear_share(1, 0)
    with pytest.raises(ValueError, match="resale share is 20; give a share from 0 to 1"):
        wear_share(1, 100, 20)
    with pytest.raises(ValueError, match="power is -5 W"):
        energy_kwh(1, -5)
