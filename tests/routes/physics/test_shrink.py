import pytest
from hypothesis import given
from hypothesis import strategies as st

from routecost.routes.physics.shrink import master_scale, top_up_mm3, volumetric_shrink_percent

shrinks = st.floats(0.0, 5.0)


def test_published_values():
    # derived
    assert volumetric_shrink_percent(0.4) == pytest.approx(1.19521, abs=5e-6)
    assert master_scale(0.4) == pytest.approx(1.0040161, abs=5e-8)
    assert master_scale(0.1, 0.4) == pytest.approx(1.0050211, abs=5e-8)


@given(shrinks, shrinks)
def test_a_master_shrinks_back_to_size(mold, resin):
    back = master_scale(mold, resin) * (1 - mold / 100) * (1 - resin / 100)
    assert back == pytest.approx(1.0, rel=1e-12)
    assert master_scale(mold, resin) == master_scale(resin, mold)


@given(st.floats(1.0, 1e7), shrinks)
def test_top_up_is_the_sum_of_ever_smaller_voids(volume, s):
    # derived: each filling leaves a void of the shrunk share, and that is filled again
    lost = volumetric_shrink_percent(s) / 100
    void, total = volume * lost, 0.0
    while void > 1e-13 * volume:
        total += void
        void *= lost
    assert top_up_mm3(volume, s) == pytest.approx(total, rel=1e-6, abs=1e-9 * volume)


@given(shrinks)
def test_volume_shrinks_about_three_times_the_length(s):
    assert 3 * s * (1 - s / 100) - 1e-9 <= volumetric_shrink_percent(s) <= 3 * s + 1e-9


@pytest.mark.parametrize("wrong", [-0.1, 100.0, float("nan")])
def test_shrinkage_outside_its_range_says_so(wrong):
    for call in (volumetric_shrink_percent, master_scale, lambda s: top_up_mm3(1000, s)):
        with pytest.raises(ValueError, match=r"shrinkage.* percent; give a percentage from 0 to below 100"):
            call(wrong)
