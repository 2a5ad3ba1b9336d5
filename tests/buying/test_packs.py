"""Whole packs of least price, against enumeration and a published knapsack."""

from __future__ import annotations

import datetime as dt
import itertools
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from routecost.buying.packs import cheapest_packs
from routecost.shop.price_log import Offer


def offer(quantity: float, price: float) -> Offer:
    return Offer("r", "s", f"{quantity:g} g", quantity, price, 0, 0, dt.date(2026, 1, 1), "test", "here")


packs = st.lists(st.tuples(st.integers(1, 40), st.integers(1, 60)), min_size=1, max_size=3)


@given(packs, st.integers(1, 90))
def test_no_combination_of_packs_is_cheaper(sizes, need) -> None:
    offers = [offer(float(q), float(p)) for q, p in sizes]
    bought = cheapest_packs(float(need), offers)
    assert sum(b.quantity for b in bought) >= need
    counts = [range(math.ceil(need / q) + 1) for q, _p in sizes]
    best = min(
        sum(n * p for n, (_q, p) in zip(tried, sizes, strict=True))
        for tried in itertools.product(*counts)
        if sum(n * q for n, (q, _p) in zip(tried, sizes, strict=True)) >= need
    )
    assert sum(b.amount for b in bought) == pytest.approx(best)


def test_nothing_needed_buys_nothing() -> None:
    assert cheapest_packs(0.0, [offer(10, 1)]) == ()


def test_a_need_of_exactly_whole_packs_takes_no_more() -> None:
    assert [(b.packs, b.amount) for b in cheapest_packs(0.3, [offer(0.1, 1.0)])] == [(3, 3.0)]


def test_a_large_need_is_answered_quickly() -> None:
    """Many packs of near-equal unit price are where a careless search explodes."""
    offers = [offer(1000, 20.0), offer(750, 15.1), offer(333, 6.9), offer(100, 2.2)]
    bought = cheapest_packs(12_345.0, offers)
    assert sum(b.quantity for b in bought) >= 12_345.0
    assert sum(b.amount for b in bought) <= 13 * 20.0
