from math import inf

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from routecost.routes.physics.optics import (
    HAZE_LIMIT_PERCENT,
    RQ_OVER_RA_RANDOM,
    RQ_OVER_RA_WAVY,
    fresnel_reflectance,
    haze_limit_percent,
    is_diffusing,
    rq_for_haze_um,
    slab_transmission,
    surface_haze_percent,
    total_haze_percent,
    unscattered_share,
)

indices = st.floats(1.3, 1.8)
roughness = st.floats(0.0, 1.0)


def test_slab_transmission():
    # derived, against 92 % published for acrylic (PMC7388655 Table 1, read)
    assert slab_transmission(1.489) == pytest.approx(0.9257, abs=5e-5)
    assert slab_transmission(1.489) == pytest.approx(0.92, abs=0.01)
    assert slab_transmission(1.5) == pytest.approx(0.92308, abs=5e-6)


def test_fresnel_reflectance():
    assert fresnel_reflectance(1.5) == pytest.approx(0.04, abs=1e-12)  # derived


@given(indices)
def test_transmission_sums_the_reflections_to_and_fro(n):
    # derived: T = (1 − R)² Σ R^2k
    r = fresnel_reflectance(n)
    assert slab_transmission(n) == pytest.approx((1 - r) ** 2 / (1 - r**2), rel=1e-12)


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
    assert rq_for_haze_um(haze_limit_percent("clear")) == pytest.approx(0.04, abs=0.001)
    assert rq_for_haze_um(haze_limit_percent("optical")) == pytest.approx(0.02, abs=0.002)


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


def test_rq_over_ra():
    # derived; the profiles themselves by quadrature
    assert pytest.approx(1.2533, abs=5e-5) == RQ_OVER_RA_RANDOM
    assert pytest.approx(1.1107, abs=5e-5) == RQ_OVER_RA_WAVY
    wave = np.sin(np.linspace(0, 2 * np.pi, 100_000, endpoint=False))
    assert np.sqrt((wave**2).mean()) / np.abs(wave).mean() == pytest.approx(RQ_OVER_RA_WAVY, rel=1e-6)
    heights = np.random.default_rng(7).standard_normal(400_000)
    assert np.sqrt((heights**2).mean()) / np.abs(heights).mean() == pytest.approx(RQ_OVER_RA_RANDOM, rel=5e-3)


def test_words_of_clarity():
    assert list(HAZE_LIMIT_PERCENT) == ["any", "translucent", "clear", "optical"]
    limits = list(HAZE_LIMIT_PERCENT.values())
    assert limits == sorted(limits, reverse=True)
    # ASTM D1003 (memory): more than 30 % counts as diffusing, so neither clear word may allow it
    assert not is_diffusing(30.0)
    assert is_diffusing(30.1)
    assert not is_diffusing(haze_limit_percent("clear"))
    with pytest.raises(ValueError, match="say one of any, translucent, clear, optical"):
        haze_limit_percent("shiny")


def test_bad_input_says_what_to_give():
    with pytest.raises(ValueError, match=r"take 1\.5 if unsure"):
        slab_transmission(0.9)
    with pytest.raises(ValueError, match=r"roughness is -0\.1 µm"):
        unscattered_share(-0.1)
    with pytest.raises(ValueError, match="wavelength is 0 nm"):
        unscattered_share(0.1, 1.5, 0)
    with pytest.raises(ValueError, match="haze limit is 101 percent"):
        rq_for_haze_um(101)
    with pytest.raises(ValueError, match="haze is nan percent"):
        is_diffusing(float("nan"))
