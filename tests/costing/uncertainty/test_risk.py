"""Sampling against published and exact values."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from routecost.costing.ranking import Ranking, rank_part
from routecost.costing.uncertainty.risk import assess, estimate_class
from routecost.costing.uncertainty.spread import Spread, sample
from routecost.routes.process.operation import Operation, Usage
from routecost.routes.process.part import Part
from routecost.shop.shop import Shop
from tests.planning.small_bills import DAY, plan, tariff

# GAO-20-195G, Cost Estimating and Assessment Guide, Table 12 (public domain; inputs read), thousand USD a unit
GAO = [
    (17_955, 19_645, 21_785),
    (8_500, 10_553, 13_000),
    (4_000, 4_306, 5_100),
    (4_100, 4_305, 4_650),
    (550, 600, 650),
    (32_300, 35_547, 52_500),
    (1_950, 2_136, 2_600),
]
SPREADS = [Spread(*row) for row in GAO]


def test_gao_sums_and_moments() -> None:
    """Sum of most likely 77 092 (read), of least and most 69 355 and 100 285, of triangular means 82 244.0; sd if
    independent 4 599.61, fully correlated 6 634.06; PERT means 79 668.0, sd 3 515.46 (derived)."""
    assert sum(s.likely for s in SPREADS) == 77_092
    assert (sum(s.low for s in SPREADS), sum(s.high for s in SPREADS)) == (69_355, 100_285)
    assert sum(s.mean for s in SPREADS) == pytest.approx(82_244.0, abs=0.1)
    assert np.sqrt(sum(s.sd**2 for s in SPREADS)) == pytest.approx(4_599.61, abs=0.01)
    assert sum(s.sd for s in SPREADS) == pytest.approx(6_634.06, abs=0.01)
    assert sum(s.pert_mean for s in SPREADS) == pytest.approx(79_668.0, abs=0.05)
    assert np.sqrt(sum(s.pert_sd**2 for s in SPREADS)) == pytest.approx(3_515.46, abs=0.01)


def test_gao_roll_up_through_the_sampler() -> None:
    """P(total <= 77 092) = 0.1258 and percentiles 5/20/50/80/95 (derived by convolution)."""
    total = sample(SPREADS, 100_000, seed=1).sum(axis=0)
    assert np.mean(total <= 77_092) == pytest.approx(0.1258, abs=0.003)
    found = np.percentile(total, [5, 20, 50, 80, 95])
    assert found == pytest.approx([75_790, 78_032, 81_602, 86_446, 90_682], rel=0.003)
    assert total.std() == pytest.approx(4_599.61, rel=0.01)


def test_three_point_estimates() -> None:
    """PERT of Malcolm, Roseboom, Clark, Fazar (1959): (4, 6, 12) and (5, 8, 14) (read)."""
    assert (Spread(4, 6, 12).pert_mean, Spread(4, 6, 12).pert_sd) == pytest.approx((6.6667, 1.3333), abs=5e-5)
    assert (Spread(5, 8, 14).pert_mean, Spread(5, 8, 14).pert_sd) == pytest.approx((8.5, 1.5))


@pytest.mark.parametrize("law", ["triangular", "pert"])
def test_samples_have_the_laws_mean_and_stay_inside(law) -> None:
    s = Spread(2.0, 3.0, 9.0)
    drawn = sample([s], 200_000, seed=3, law=law)[0]
    assert drawn.min() >= s.low
    assert drawn.max() <= s.high
    mean = s.mean if law == "triangular" else s.pert_mean
    assert drawn.mean() == pytest.approx(mean, abs=4 * drawn.std() / np.sqrt(200_000))


def test_the_same_seed_gives_the_same_numbers_and_another_input_changes_no_stream() -> None:
    assert (sample(SPREADS, 50, 7) == sample(SPREADS, 50, 7)).all()
    assert (sample(SPREADS, 50, 7) != sample(SPREADS, 50, 8)).any()
    assert (sample([*SPREADS, Spread(1, 2, 3)], 50, 7)[:-1] == sample(SPREADS, 50, 7)).all()


def test_ten_times_the_draws_shrink_the_error_as_one_over_root_n() -> None:
    """Root-mean-square error of the mean over 60 seeds: sd / sqrt(n) (central limit theorem)."""
    s = Spread(0.0, 1.0, 5.0)

    def error(n: int) -> float:
        return float(np.sqrt(np.mean([(sample([s], n, seed).mean() - s.mean) ** 2 for seed in range(60)])))

    few, many = error(200), error(2_000)
    assert few == pytest.approx(s.sd / np.sqrt(200), rel=0.25)
    assert few / many == pytest.approx(np.sqrt(10), rel=0.35)


@given(st.lists(st.floats(0.01, 100), min_size=3, max_size=3))
def test_what_is_certain_stays_put(points) -> None:
    x = points[0]
    assert (sample([Spread(x, x, x)], 20, 1) == x).all()
    with pytest.raises(ValueError, match="order"):
        Spread(x + 1, x, x + 2)


def test_classes_of_aace() -> None:
    """AACE International 18R-97 outer accuracy limits (read)."""
    limits = {5: (-50, 100), 4: (-30, 50), 3: (-20, 30), 2: (-15, 20), 1: (-10, 15)}
    for number, (low, high) in limits.items():
        assert estimate_class(low, high) == number
    assert estimate_class(-51, 0) is None


@pytest.mark.parametrize(("low", "high"), [(0.5, 2.0), (0.9, 1.0), (1.0, 4.0)])
def test_what_to_set_aside_is_the_p80_of_a_single_triangular_price(low: float, high: float) -> None:
    """A part that takes one pack of 30: the triangular law (a, m, b) has its p-quantile at
    b - sqrt((1 - p) (b - a) (b - m)) above its mode, at a + sqrt(p (b - a) (m - a)) below it (NIST/SEMATECH handbook
    1.3.6, inverted). P80 and P90 differ by more than five times the tolerance in these."""
    prices = tariff({"resin": [(100, 30.0)]}, spread=(low, high))
    pour = plan("lid", "cast", [Operation("pour", (Usage("resin", 100.0, "one pack"),))])
    ranked = rank_part(Part("lid", "a lid", 1), [pour], prices, 2.0, "spend")
    ranking = Ranking((ranked,), "EUR", DAY, "spend")
    risk = assess(ranking, prices, Shop(DAY, {}, {}, {}, {}), draws=20_000)
    a, m, b = 30.0 * low, 30.0, 30.0 * high

    def quantile(p: float) -> float:
        if p < (m - a) / (b - a):
            return a + ((p * (b - a) * (m - a)) ** 0.5)
        return b - (((1.0 - p) * (b - a) * (b - m)) ** 0.5)

    assert risk.likely_spend == pytest.approx(m)
    assert risk.contingency == pytest.approx(quantile(0.8) - m, abs=0.01 * (b - a))
    found = risk.percentiles(risk.spend)
    for percent in (10, 50, 80, 90):
        assert found[percent] == pytest.approx(quantile(percent / 100.0), abs=0.01 * (b - a))
