"""Tables and what was seen put together: closed forms by hand, and intervals that hold the truth as often as said."""

from __future__ import annotations

from math import log, sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import optimize, stats

from routecost.learning.posteriors import (
    JOB_SD,
    Known,
    beta_posterior,
    beta_prior,
    gamma_posterior,
    gamma_prior,
    log_sd,
    ratios_posterior,
    times_of,
)

Z_90 = 1.2816
"""90th percentile of the normal law, table in NIST/SEMATECH e-Handbook 1.3.6.7.1."""

shares = st.floats(0.3, 0.97)


# ---- times


def test_one_standard_by_hand() -> None:
    """Normal mean with known variances: the mean of n is shrunk by τ²/(τ² + σ²/n), variance 1/(1/τ² + n/σ²)."""
    ratios = np.array([0.5, 0.1, 0.3])
    mean, sd = ratios_posterior(np.array([0.4]), np.ones((3, 1)), ratios, job_sd=0.35)
    assert float(mean[0]) == pytest.approx(0.3 * 0.16 / (0.16 + 0.1225 / 3))
    assert float(sd[0]) == pytest.approx(sqrt(1.0 / (1.0 / 0.16 + 3.0 / 0.1225)))


def test_a_job_counts_for_each_standard_by_its_share_of_the_time() -> None:
    """Two standards of like spread, three quarters and a quarter of the time; while the ratio is near 1 the gain
    is τ² w / (τ² Σw² + σ²), as of a linear model."""
    mean, _sd = ratios_posterior(np.array([0.4, 0.4]), np.array([[0.75, 0.25]]), np.array([1e-4]), 0.3)
    gain = 0.16 / (0.16 * (0.75**2 + 0.25**2) + 0.09)
    assert mean == pytest.approx([1e-4 * 0.75 * gain, 1e-4 * 0.25 * gain], rel=1e-3)


@given(st.integers(0, 10_000))
def test_the_mode_is_the_likeliest_by_another_search(seed: int) -> None:
    """Sums of minutes, some of them certain; SciPy's simplex search needs no slopes."""
    rng = np.random.default_rng(seed)
    prior_sd, parts = rng.uniform(0.1, 0.8, 2), rng.dirichlet(np.ones(3), int(rng.integers(1, 8)))
    ratios = rng.normal(0.0, 0.8, len(parts))

    def against(logs: np.ndarray) -> float:
        said = np.log(parts[:, 2] + parts[:, :2] @ np.exp(logs))
        return float(((logs / prior_sd) ** 2).sum() + (((ratios - said) / JOB_SD) ** 2).sum())

    best = optimize.minimize(
        against, np.zeros(2), method="Nelder-Mead", options={"xatol": 1e-9, "fatol": 1e-12, "maxiter": 4000}
    )
    mode, _sd = ratios_posterior(prior_sd, parts[:, :2], ratios)
    assert against(mode) <= best.fun + 1e-9
    assert mode == pytest.approx(best.x, abs=1e-4)


@given(st.floats(0.05, 1.0), st.floats(-1.0, 1.0))
def test_more_jobs_that_say_the_same_move_it_further_and_never_beyond_them(
    prior_sd: float, ratio: float
) -> None:
    moved, spread = 0.0, prior_sd
    for n in (1, 2, 4, 8, 16):
        mean, sd = ratios_posterior(np.array([prior_sd]), np.ones((n, 1)), np.full(n, ratio))
        assert abs(moved) <= abs(float(mean[0])) <= abs(ratio)
        assert float(sd[0]) < spread
        moved, spread = float(mean[0]), float(sd[0])


def test_jobs_of_no_share_change_nothing() -> None:
    mean, sd = ratios_posterior(np.array([0.4, 0.2]), np.array([[0.0, 1.0]]), np.array([0.7]))
    assert (float(mean[0]), float(sd[0])) == (0.0, pytest.approx(0.4))


def test_low_and_high_are_read_as_10th_and_90th_percentile() -> None:
    """12 min, 6 to 24: a factor of two either way is 1.2816 standard deviations of the log."""
    sd = log_sd(6.0, 24.0)
    assert sd == pytest.approx(log(2.0) / Z_90, rel=1e-4)
    same = times_of(12.0, 0.0, sd)
    assert (same.value, same.low, same.high) == pytest.approx((12.0, 6.0, 24.0))


def test_intervals_of_times_hold_the_truth_eight_times_in_ten() -> None:
    """True factors from the prior; jobs whose time is a sum of three parts, so that logs are only nearly linear."""
    rng = np.random.default_rng(1)
    prior_sd, held, worlds = np.array([0.3, 0.4, 0.5]), np.zeros(3), 400
    for _ in range(worlds):
        truth = rng.normal(0.0, prior_sd)
        parts = rng.dirichlet(np.ones(3), size=int(rng.integers(1, 15)))
        ratios = np.log(parts @ np.exp(truth)) + rng.normal(0.0, JOB_SD, len(parts))
        mean, sd = ratios_posterior(prior_sd, parts, ratios)
        held += np.abs(mean - truth) <= Z_90 * sd
    assert (held / worlds >= 0.7).all()
    assert (held / worlds <= 0.9).all()
    assert 0.77 <= held.mean() / worlds <= 0.83


# ---- yields


def test_a_flat_prior_and_no_tries_by_hand() -> None:
    """Beta(1, 1) is flat: eight tenths lie between 0.1 and 0.9. Beta(n + 1, 1) has P(x <= t) = t^(n + 1)."""
    assert beta_posterior((1.0, 1.0), 0, 0) == Known(
        pytest.approx(0.5), pytest.approx(0.1), pytest.approx(0.9)
    )
    after = beta_posterior((1.0, 1.0), 9, 0)
    assert (after.value, after.low, after.high) == pytest.approx((0.5**0.1, 0.1**0.1, 0.9**0.1))


def test_the_posterior_is_the_table_s_tries_and_the_seen_ones_together() -> None:
    a, b = beta_prior(0.8, 0.6, 0.92)
    after = beta_posterior((a, b), 7, 5)
    law = stats.beta(a + 7, b + 5)
    assert (law.cdf(after.low), law.cdf(after.value), law.cdf(after.high)) == pytest.approx((0.1, 0.5, 0.9))
    assert beta_posterior((a + 3, b + 1), 4, 4) == after


@given(st.floats(0.6, 60.0), st.floats(0.6, 60.0))
def test_percentiles_of_a_beta_distribution_give_it_back(a: float, b: float) -> None:
    """Round trip: 10th, 50th and 90th percentile of SciPy's distribution, the prior of such a table row, and back."""
    low, median, high = stats.beta(a, b).ppf([0.1, 0.5, 0.9])
    if low < 1e-3 or high > 1.0 - 1e-3:
        return
    prior = beta_prior(median, low, high)
    assert prior == pytest.approx((a, b), rel=1e-3)
    again = beta_posterior(prior, 0, 0)
    assert (again.low, again.value, again.high) == pytest.approx((low, median, high), rel=1e-4)


@given(shares, st.floats(0.05, 0.9), st.floats(0.05, 0.9))
def test_a_prior_has_the_median_and_the_range_of_the_table(median: float, below: float, above: float) -> None:
    low, high = median * (1.0 - below), median + (1.0 - median) * above
    a, b = beta_prior(median, low, high)
    law = stats.beta(a, b)
    assert law.cdf(median) == pytest.approx(0.5, abs=1e-6)
    if a + b > 0.11:  # the weakest prior there is
        assert law.cdf(high) - law.cdf(low) == pytest.approx(0.8, abs=1e-6)


def test_a_range_from_0_to_1_says_next_to_nothing() -> None:
    a, b = beta_prior(0.7, 0.0, 1.0)
    assert a + b < 0.2


@given(shares, st.integers(0, 30), st.integers(0, 30))
def test_each_good_attempt_raises_a_yield_and_each_failed_one_lowers_it(
    median: float, good: int, failed: int
) -> None:
    """Beta distributions are ordered by either parameter. Medians, unlike means, can pass the share that was seen."""
    prior = beta_prior(median, 0.8 * median, median + 0.5 * (1.0 - median))
    now = beta_posterior(prior, good, failed)
    better, worse = beta_posterior(prior, good + 1, failed), beta_posterior(prior, good, failed + 1)
    assert worse.low < now.low < better.low
    assert worse.value < now.value < better.value
    assert worse.high < now.high < better.high


def test_many_attempts_decide() -> None:
    assert beta_posterior(beta_prior(0.8, 0.6, 0.92), 3000, 7000).value == pytest.approx(0.3, abs=0.005)


def test_intervals_of_yields_hold_the_truth_eight_times_in_ten() -> None:
    rng = np.random.default_rng(2)
    prior = beta_prior(0.8, 0.6, 0.92)
    held, worlds = 0, 600
    for _ in range(worlds):
        truth, n = rng.beta(*prior), int(rng.integers(1, 40))
        good = int(rng.binomial(n, truth))
        after = beta_posterior(prior, good, n - good)
        held += after.low <= truth <= after.high
    assert 0.76 <= held / worlds <= 0.84


# ---- failures by the hour


def test_a_rate_by_hand() -> None:
    """Gamma of shape k and rate b: its quantiles are those of chi-square with 2k degrees of freedom over 2b.

    Chi-square, 6 degrees: 2.204, 5.348 and 10.645 (10 and 90 %: table, NIST/SEMATECH e-Handbook 1.3.6.7.4; the
    median from memory).
    """
    after = gamma_posterior((1.0, 100.0), 2, 200.0)
    wanted = (2.204 / 600.0, 5.348 / 600.0, 10.645 / 600.0)
    assert (after.low, after.value, after.high) == pytest.approx(wanted, rel=1e-3)


@given(st.floats(0.5, 60.0), st.floats(1.0, 5000.0))
def test_percentiles_of_a_gamma_distribution_give_it_back(failures: float, hours: float) -> None:
    low, median, high = stats.gamma(failures, scale=1.0 / hours).ppf([0.1, 0.5, 0.9])
    prior = gamma_prior(median, low, high)
    assert prior == pytest.approx((failures, hours), rel=1e-3)
    again = gamma_posterior(prior, 0, 0.0)
    assert (again.low, again.value, again.high) == pytest.approx((low, median, high), rel=1e-4)


@given(st.floats(0.001, 0.1), st.floats(0.1, 0.9), st.floats(1.3, 5.0))
def test_a_prior_rate_has_the_median_and_the_range_of_the_table(
    median: float, below: float, above: float
) -> None:
    low, high = median * below, median * above
    failures, hours = gamma_prior(median, low, high)
    law = stats.gamma(failures, scale=1.0 / hours)
    assert law.cdf(median) == pytest.approx(0.5, abs=1e-6)
    assert law.cdf(high) - law.cdf(low) == pytest.approx(0.8, abs=1e-6)


def test_hours_without_a_failure_lower_the_rate_step_by_step() -> None:
    prior = gamma_prior(0.008, 0.003, 0.03)
    rates = [gamma_posterior(prior, 0, hours).value for hours in (0.0, 10.0, 100.0, 1000.0)]
    assert rates[0] == pytest.approx(0.008)
    assert rates == sorted(rates, reverse=True)


def test_intervals_of_rates_hold_the_truth_eight_times_in_ten() -> None:
    rng = np.random.default_rng(3)
    failures, hours = gamma_prior(0.008, 0.003, 0.03)
    held, worlds = 0, 600
    for _ in range(worlds):
        truth, run = rng.gamma(failures, 1.0 / hours), float(rng.uniform(5.0, 600.0))
        after = gamma_posterior((failures, hours), int(rng.poisson(truth * run)), run)
        held += after.low <= truth <= after.high
    assert 0.76 <= held / worlds <= 0.84
