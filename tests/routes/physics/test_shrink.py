import pytest
from hypothesis import given
from hypothesis import strategies as st

from routecost.routes.physics.shrink import master_scale, top_up_mm3

shrinks = st.floats(0.0, 5.0)


def test_published_values():
    # derived
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
    lost = 1 - (1 - s / 100) ** 3
    void, total = volume * lost, 0.0
    while void > 1e-13 * volume:
        total += void
        void *= lost
    assert top_up_mm3(volume, s) == pytest.approx(total, rel=1e-6, abs=1e-9 * volume)


@pytest.mark.parametrize("wrong", [-0.1, 100.0, float("nan")])
def test_shrinkage_outside_its_range_says_so(wrong):
    for call in (master_scale, lambda s: top_up_mm3(1000, s)):
        with pytest.raises(ValueError, match=r"shrinkage.* percent; give a percentage from 0 to below 100"):
            call(wrong)
