"""Prices typed wrongly are found among those that follow a law, and no others."""

from __future__ import annotations

import numpy as np
import pytest

from routecost.learning.price_law_fit import fit_law
from routecost.learning.suspect_prices import LEAST_FACTOR, suspect_prices
from routecost.learning.suspect_quotes import slip
from tests.learning.test_price_law_fit import DRIVERS, TRUE, parts

SEEDS = 60


def tables(seed: int) -> np.ndarray:
    """Prices of the tables: off by a factor of 1.5 either way each, and by 1.3 altogether."""
    return np.asarray(1.3 * TRUE * np.exp(np.random.default_rng(seed).normal(0.0, 0.4, len(TRUE))))


@pytest.mark.parametrize("scatter", [0.0, 0.05, 0.1])
@pytest.mark.parametrize("n", [5, 6, 8, 12, 20])
def test_prices_that_follow_the_law_are_never_suspect(n: int, scatter: float) -> None:
    """Also with tables that are far off in all proportions: every coefficient 1."""
    for seed in range(SEEDS):
        amounts = parts(seed, n)
        prices = amounts @ TRUE * np.exp(np.random.default_rng(seed).normal(0.0, scatter, n))
        assert suspect_prices(amounts, prices, tables(seed)) == ()
        assert suspect_prices(amounts, prices, np.ones(5)) == ()


@pytest.mark.parametrize("factor", [10.0, 4.0, 0.1])
@pytest.mark.parametrize("n", [6, 8, 12])
def test_one_wrong_price_does_not_move_the_law(n: int, factor: float) -> None:
    """An exact law but for one price; without it the coefficients come back, where the others determine them.

    A law of six quotes and five coefficients can hide a slip; at least nine in ten are found, and no right
    price is ever blamed.
    """
    found = 0
    for seed in range(SEEDS):
        amounts, wrong = parts(seed, n), seed % n
        prices = amounts @ TRUE
        prices[wrong] *= factor
        suspects = suspect_prices(amounts, prices, tables(seed))
        assert {s.index for s in suspects} <= {wrong}
        if suspects:
            found += 1
            assert suspects[0].factor > 1.0 if factor > 1.0 else suspects[0].factor < 1.0
            rest = np.delete(np.arange(n), wrong)
            law = fit_law(DRIVERS, amounts[rest], prices[rest], tables(seed))
            assert [c.value for c in law.coefficients] == pytest.approx(TRUE, rel=0.1)
    assert found >= 0.9 * SEEDS


def test_what_the_others_expect_is_near_the_right_price() -> None:
    for seed in range(SEEDS):
        amounts = parts(seed, 12)
        right = amounts @ TRUE
        prices = np.where(np.arange(12) == 3, 10.0 * right, right)
        (suspect,) = suspect_prices(amounts, prices, tables(seed))
        assert suspect.factor == pytest.approx(prices[3] / suspect.expected)
        assert abs(np.log(suspect.expected / right[3])) < np.log(1.7)


@pytest.mark.parametrize("second", [10.0, 4.0])
@pytest.mark.parametrize("scatter", [0.0, 0.05])
def test_two_wrong_prices_among_eight_are_found(scatter: float, second: float) -> None:
    """Six right prices for five coefficients: rarely the smaller slip can hide, but never behind a right price."""
    both = 0
    for seed in range(SEEDS):
        rng = np.random.default_rng(seed)
        amounts = parts(seed, 8)
        prices = amounts @ TRUE * np.exp(rng.normal(0.0, scatter, 8))
        i, j = rng.choice(8, 2, replace=False)
        prices[i] *= 10.0
        prices[j] *= second
        found = {s.index for s in suspect_prices(amounts, prices, tables(seed))}
        assert found <= {i, j}
        assert found
        both += found == {i, j}
    assert both >= 0.95 * SEEDS


def test_a_price_that_only_differs_by_less_than_the_least_factor_is_not_suspect() -> None:
    amounts = parts(2, 20)
    prices = amounts @ TRUE
    prices[4] *= 0.95 * LEAST_FACTOR
    assert suspect_prices(amounts, prices, TRUE) == ()
    prices[4] *= 1.5
    assert [s.index for s in suspect_prices(amounts, prices, TRUE)] == [4]


def test_units_currency_and_order_do_not_matter() -> None:
    amounts = parts(1, 9)
    prices = amounts @ TRUE
    prices[5] *= 8.0
    units, rate, order = np.array([1.0, 16.387, 6.4516, 1000.0, 2.54]), 1.1, np.arange(9)[::-1]
    (one,) = suspect_prices(amounts, prices, tables(1))
    (other,) = suspect_prices((amounts / units)[order], rate * prices[order], rate * units * tables(1))
    assert (one.index, other.index) == (5, 3)
    assert other.factor == pytest.approx(one.factor)
    assert other.expected == pytest.approx(rate * one.expected)


def test_tables_without_any_price_still_give_the_suspect() -> None:
    amounts = parts(3, 12)
    prices = amounts @ TRUE
    prices[7] *= 10.0
    assert [s.index for s in suspect_prices(amounts, prices, np.zeros(5))] == [7]


@pytest.mark.parametrize(
    ("factor", "copies", "words"),
    [
        (0.21, 5, "price of one copy"),
        (5.3, 5, "multiplied by 5 copies"),
        (95.0, 1, "decimal point"),
        (0.011, 2, "decimal point"),
        (12.2, 1, "price of 12 copies"),
        (0.4, 1, "currency"),
    ],
)
def test_the_likeliest_slip_is_asked_for(factor: float, copies: int, words: str) -> None:
    assert words in slip(factor, copies)
