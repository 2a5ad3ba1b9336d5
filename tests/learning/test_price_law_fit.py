"""Fitted price laws: exact ones recovered, intervals that hold the truth as often as they say, and plain words
where prices cannot tell."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import lsq_linear

from routecost.core.arrays import Floats
from routecost.learning.price_law_fit import LawFit, fit_law

DRIVERS = ("setup", "volume", "area", "box", "height")
TRUE = np.array([22.0, 1.6, 0.12, 0.09, 1.4])


def parts(seed: int, n: int) -> Floats:
    """What n quotes draw, (n, 5): boxes of random sides, hollow to a random share, some copies, some finish."""
    rng = np.random.default_rng(seed)
    sides = np.sort(np.exp(rng.normal(3.5, 0.6, (n, 3))), axis=1)
    a, b, c = sides.T
    box = a * b * c / 1000.0
    faces = 2.0 * (a * b + a * c + b * c) / 100.0
    one = np.stack(
        [np.ones(n), box * rng.uniform(0.1, 0.6, n), faces * rng.uniform(0.7, 1.8, n), box, a / 10.0]
    )
    return np.asarray((one * rng.integers(1, 6, n) * rng.choice([1.0, 1.25, 2.4], n)).T)


def fit(amounts: Floats, prices: Floats, tabled: Floats | None = None) -> LawFit:
    k = amounts.shape[1]
    return fit_law(DRIVERS[:k], amounts, prices, np.ones(k) if tabled is None else tabled)


def values(found: LawFit) -> Floats:
    return np.array([c.value for c in found.coefficients])


@given(st.integers(0, 10_000), st.lists(st.sampled_from([0.0, 0.05, 1.0, 30.0]), min_size=5, max_size=5))
def test_an_exact_law_is_recovered(seed: int, law: list[float]) -> None:
    if not any(law):
        law[0] = 1.0
    amounts, true = parts(seed, 12), np.array(law)
    prices = amounts @ true
    found = fit(amounts, prices)
    assert found.rank == 5
    assert not found.undetermined
    # a coefficient is right to 1e-9 of what it can be determined by: the largest price over the amounts it goes with
    assert np.abs((values(found) - true) * np.linalg.norm(amounts / prices[:, None], axis=0)).max() < 1e-9
    assert found.rms_error < 1e-8
    assert found.fitted == pytest.approx(prices, rel=1e-9)


def test_one_coefficient_by_hand() -> None:
    """Weighted by 1/price: b = Σ(x/y) / Σ(x/y)². x/y = 1/2, 1/4, 1/4: b = 1 / (3/8) = 8/3.

    Left out in turn: (1/2) / (1/8) = 4, and twice (3/4) / (5/16) = 12/5. Jackknife: (n-1)/n Σ(b_i - mean)² =
    2/3 · (16 + 4 + 4)/15² · ... with deviations 16/15, -8/15, -8/15: 2/3 · 384/225; t(0.90, 2) = 1.886 (table
    of Student's t in the NIST/SEMATECH e-Handbook 1.3.6.7.2).
    """
    found = fit(np.array([[1.0], [1.0], [1.0]]), np.array([2.0, 4.0, 4.0]))
    (b,) = found.coefficients
    assert b.value == pytest.approx(8.0 / 3.0)
    assert found.left_out == pytest.approx([4.0, 2.4, 2.4])
    assert found.errors == pytest.approx([1.0, -0.4, -0.4])
    assert found.rms_error == pytest.approx(np.sqrt((1.0 + 0.16 + 0.16) / 3.0))
    assert found.worst_error == pytest.approx(1.0)
    half = 1.886 * np.sqrt(2.0 / 3.0 * 384.0 / 225.0)
    assert (b.low, b.high) == pytest.approx((b.value - half, b.value + half), rel=1e-3)


def test_the_low_end_of_an_interval_is_cut_off_at_0() -> None:
    """As above with prices 1, 5, 5: x/y = 1, 1/5, 1/5, b = 1.4 / 1.08; left out in turn 5 and twice 1.2 / 1.04."""
    (b,) = fit(np.array([[1.0], [1.0], [1.0]]), np.array([1.0, 5.0, 5.0])).coefficients
    left_out = np.array([5.0, 1.2 / 1.04, 1.2 / 1.04])
    half = 1.886 * np.sqrt(2.0 / 3.0 * ((left_out - left_out.mean()) ** 2).sum())
    assert half > b.value
    assert (b.low, b.high) == (0.0, pytest.approx(1.4 / 1.08 + half, rel=1e-3))


@given(st.integers(0, 10_000), st.integers(6, 20))
def test_the_fit_is_the_least_one_by_another_solver(seed: int, n: int) -> None:
    """SciPy's trust-region solver for bounded least squares stands against the active-set one."""
    rng = np.random.default_rng(seed)
    amounts = parts(seed, n)
    prices = amounts @ TRUE * np.exp(rng.normal(0.0, 0.2, n))
    found = fit(amounts, prices)
    scale = np.linalg.norm(amounts / prices[:, None], axis=0)
    other = lsq_linear(amounts / prices[:, None] / scale, np.ones(n), (0.0, np.inf), tol=1e-14)
    ours = float(((found.fitted / prices - 1.0) ** 2).sum())
    assert (values(found) >= 0.0).all()
    assert ours <= 2.0 * other.cost + 1e-9


@given(st.integers(0, 10_000))
def test_units_currency_and_order_of_quotes_do_not_matter(seed: int) -> None:
    rng = np.random.default_rng(seed)
    amounts = parts(seed, 9)
    prices = amounts @ TRUE * np.exp(rng.normal(0.0, 0.05, 9))
    units, rate = np.array([1.0, 16.387, 6.4516, 1000.0, 2.54]), 1.1
    order = rng.permutation(9)
    plain, other = fit(amounts, prices), fit((amounts / units)[order], rate * prices[order], rate * units)
    for i, (a, b) in enumerate(zip(plain.coefficients, other.coefficients, strict=True)):
        per = rate * units[i]
        assert (b.value, b.low, b.high) == pytest.approx(
            (a.value * per, a.low * per, a.high * per), rel=1e-6, abs=1e-8
        )
    assert other.rms_error == pytest.approx(plain.rms_error, rel=1e-6)


def test_the_left_out_error_is_what_a_law_without_the_quote_says_of_it() -> None:
    amounts = parts(3, 8)
    prices = amounts @ TRUE * np.exp(np.random.default_rng(3).normal(0.0, 0.05, 8))
    found = fit(amounts, prices)
    for i in range(8):
        without = fit(np.delete(amounts, i, axis=0), np.delete(prices, i))
        assert found.left_out[i] == pytest.approx(float(amounts[i] @ values(without)), rel=1e-9)


@pytest.mark.parametrize(("n", "k"), [(6, 2), (8, 3), (20, 3), (30, 5)])
def test_intervals_hold_the_true_law_eight_times_in_ten(n: int, k: int) -> None:
    """Quotes that scatter by 5 %."""
    seeds, held = 150, np.zeros(k)
    for seed in range(seeds):
        amounts = parts(seed, n)[:, :k]
        noise = np.exp(np.random.default_rng(1000 + seed).normal(0.0, 0.05, n))
        found = fit(amounts, amounts @ TRUE[:k] * noise)
        held += [c.low <= t <= c.high for c, t in zip(found.coefficients, TRUE, strict=False)]
    assert (held / seeds >= 0.7).all(), held / seeds
    assert 0.72 <= held.mean() / seeds <= 0.9


def test_more_quotes_narrow_the_intervals() -> None:
    def width(n: int) -> float:
        found = []
        for seed in range(20):
            amounts = parts(seed, n)[:, :3]
            noise = np.exp(np.random.default_rng(seed).normal(0.0, 0.05, n))
            c = fit(amounts, amounts @ TRUE[:3] * noise).coefficients[1]
            found.append((c.high - c.low) / TRUE[1])
        return float(np.mean(found))

    widths = [width(n) for n in (6, 12, 24, 48)]
    assert widths == sorted(widths, reverse=True)
    assert widths[-1] < 0.5 * widths[0]


def test_what_quotes_cannot_tell_apart_stays_near_the_tables_and_is_said() -> None:
    """Ten cubes of one kind: the box is 4 times the volume, so only volume + 4 box is determined: 2 + 4 · 0.5 = 4.

    Among all non-negative splits volume goes from 0 to 4, box from 0 to 1.
    """
    volume = np.linspace(5.0, 60.0, 10)
    amounts = np.stack([np.ones(10), volume, 4.0 * volume], axis=1)
    prices = amounts @ np.array([10.0, 2.0, 0.5])
    found = fit_law(("setup", "volume", "box"), amounts, prices, np.array([8.0, 2.0, 0.5]))
    setup, vol, box = found.coefficients
    assert found.rank == 2
    assert found.undetermined == ("volume", "box")
    assert setup.is_determined
    assert setup.value == pytest.approx(10.0)
    assert (vol.value, box.value) == pytest.approx((2.0, 0.5))
    assert (vol.low, vol.high) == pytest.approx((0.0, 4.0), abs=1e-6)
    assert (box.low, box.high) == pytest.approx((0.0, 1.0), abs=1e-6)
    # by other tables another split, the same sum
    other = fit_law(("setup", "volume", "box"), amounts, prices, np.array([8.0, 3.5, 0.1]))
    assert other.coefficients[1].value + 4.0 * other.coefficients[2].value == pytest.approx(4.0)
    assert other.coefficients[1].value > vol.value
    assert found.errors == pytest.approx(np.zeros(10), abs=1e-6)


def test_nearly_dependent_drivers_are_named() -> None:
    """Belsley, Kuh and Welsch: a condition index above 30 with large shares of the variances of two or more."""
    rng = np.random.default_rng(5)
    volume = rng.uniform(5.0, 60.0, 12)
    amounts = np.stack([np.ones(12), volume, volume * rng.normal(4.0, 0.04, 12)], axis=1)
    found = fit_law(("setup", "volume", "box"), amounts, amounts @ np.array([10.0, 2.0, 0.5]), np.ones(3))
    assert found.condition > 30.0
    assert found.hard_to_tell_apart == ("volume", "box")
    assert not found.undetermined
    apart = fit(parts(1, 30)[:, :2], parts(1, 30)[:, :2] @ TRUE[:2])
    assert apart.hard_to_tell_apart == ()


def test_too_little_is_refused() -> None:
    with pytest.raises(ValueError, match="two prices"):
        fit(np.ones((1, 1)), np.ones(1))
    with pytest.raises(ValueError, match="at least one"):
        fit(np.array([[1.0, 0.0], [1.0, 0.0]]), np.ones(2))
    with pytest.raises(ValueError, match="above 0"):
        fit(np.ones((2, 1)), np.array([1.0, 0.0]))
