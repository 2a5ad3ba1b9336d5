from math import inf

import pytest
from hypothesis import given
from hypothesis import strategies as st

from routecost.routes.physics.optics import (
    rq_for_haze_um,
    surface_haze_percent,
    total_haze_percent,
    unscattered_share,
)

indices = st.floats(1.3, 1.8)
roughness = st.floats(0.0, 1.0)


@pytest.mark.parametrize(
    ("sigma_nm", "share"), [(10, 0.99674), (50, 0.92167), (100, 0.72161), (200, 0.27115)]
)
def test_one_rough_face(sigma_nm, share):
    # Davies/Bennett form (memory), λ 550 nm, n 1.5
    assert unscattered_share(sigma_nm / 1000, 1.5, 550) == pytest.approx(share, abs=5e-6)
    both = surface_haze_percent(sigma_nm / 1000, sigma_nm / 1000)
    assert both == pytest.approx(100 * (1 - share**2), abs=2e-3)


def test_roughness_for_clear_and_optical():
    # routes' rule of thumb, derived from the form above: σ near 0.04 and 0.02 µm
    assert rq_for_haze_um(10) == pytest.approx(0.04, abs=0.001)
    assert rq_for_haze_um(3) == pytest.approx(0.02, abs=0.002)


@given(roughness, roughness, roughness)
def test_rougher_is_hazier(a, b, other):
    low, high = sorted((a, b))
    assert surface_haze_percent(low, other) <= surface_haze_percent(high, other)
    assert surface_haze_percent(other, low) == pytest.approx(surface_haze_percent(low, other))


@given(st.floats(0.1, 95.0), st.floats(0.0, 1.0), indices, st.floats(400, 700))
def test_the_inverse_gives_the_haze_back(haze, bulk_share, n, wavelength):
    bulk = 0.99 * bulk_share * haze
    rq = rq_for_haze_um(haze, bulk, n, wavelength)
    found = total_haze_percent(bulk, surface_haze_percent(rq, rq, n, wavelength))
    assert found == pytest.approx(haze, rel=1e-9)


def test_the_material_alone_may_use_up_the_limit():
    assert rq_for_haze_um(10, bulk_haze_percent=10) == 0.0
    assert rq_for_haze_um(10, bulk_haze_percent=60) == 0.0
    assert rq_for_haze_um(10, bulk_haze_percent=5) < rq_for_haze_um(10)
    assert rq_for_haze_um(100) == inf


@given(st.lists(st.floats(0.0, 100.0), max_size=4))
def test_haze_in_a_row_grows_and_stays_a_share(hazes):
    total = total_haze_percent(*hazes)
    assert max([0.0, *hazes]) - 1e-9 <= total <= min(100.0, sum(hazes)) + 1e-9
    assert total_haze_percent(*reversed(hazes)) == pytest.approx(total, abs=1e-9)


def test_bad_input_says_what_to_give():
    with pytest.raises(ValueError, match=r"take 1\.5 if unsure"):
        unscattered_share(0.1, 0.9)
    with pytest.raises(ValueError, match=r"roughness is -0\.1 µm"):
        unscattered_share(-0.1)
    with pytest.raises(ValueError, match="wavelength is 0 nm"):
        unscattered_share(0.1, 1.5, 0)
    with pytest.raises(ValueError, match="haze limit is 101 percent"):
        rq_for_haze_um(101)
    with pytest.raises(ValueError, match="haze is nan percent"):
        total_haze_percent(float("nan"))
