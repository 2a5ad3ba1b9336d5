"""The price on a day: the newest row that is not after it and not expired."""

from __future__ import annotations

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from routecost.core.errors import Fault
from routecost.shop.price_log import ExchangeRow, PriceRow, price_list
from routecost.shop.resources import Resource
from routecost.shop.table_reader import Placed

RESIN = {
    "resin": Resource(resource="resin", description="resin", unit="g", kind="material", density_g_ml=1.1),
}
START = dt.date(2025, 1, 1)


def row(price: float, day: dt.date, pack: str = "1 kg", supplier: str = "s", **more) -> Placed[PriceRow]:
    made = PriceRow(
        **{
            "resource": "resin",
            "pack": pack,
            "price": price,
            "currency": "EUR",
            "as_of": day,
            "supplier": supplier,
            "source": "test",
            **more,
        }
    )
    return Placed(made, "prices.csv", 2 + (day - START).days)


def on(day: dt.date, *rows: Placed[PriceRow], exchange: tuple[Placed[ExchangeRow], ...] = (), currency="EUR"):
    faults: list[Fault] = []
    found = price_list(rows, exchange, RESIN, day, currency, faults)
    assert not faults, faults
    return found


@given(
    st.lists(st.tuples(st.integers(0, 400), st.floats(0.01, 100)), min_size=1, unique_by=lambda t: t[0]),
    st.integers(0, 400),
)
def test_the_newest_row_not_after_the_day_holds(log, day) -> None:
    rows = [row(price, START + dt.timedelta(days)) for days, price in log]
    found = on(START + dt.timedelta(day), *rows)
    known = [(days, price) for days, price in log if days <= day]
    if not known:
        assert "resin" not in found.offers
    else:
        assert found.unit_price("resin") == pytest.approx(max(known)[1] / 1000.0)


def test_an_expired_price_gives_way_to_the_one_before() -> None:
    sale = row(10.0, dt.date(2025, 3, 1), expires=dt.date(2025, 3, 31))
    usual = row(20.0, dt.date(2025, 1, 1))
    assert on(dt.date(2025, 3, 31), sale, usual).unit_price("resin") == pytest.approx(0.010)
    assert on(dt.date(2025, 4, 1), sale, usual).unit_price("resin") == pytest.approx(0.020)


def test_suppliers_and_packs_live_side_by_side_and_the_cheapest_a_unit_counts() -> None:
    day = dt.date(2025, 1, 1)
    found = on(day, row(20.0, day), row(90.0, day, pack="5 kg"), row(19.0, day, supplier="t"))
    assert [o.pack_price for o in found.offers["resin"]] == [90.0, 19.0, 20.0]
    assert found.unit_price("resin") == pytest.approx(0.018)


def test_a_kit_by_volume_becomes_grams_by_its_density() -> None:
    """16 fl oz + 16 fl oz at 1.1 g/mL is 1040.988 g (fluid ounce derived from NIST's gallon)."""
    day = dt.date(2025, 1, 1)
    assert on(day, row(31.0, day, pack="16 fl oz + 16 fl oz")).unit_price("resin") == pytest.approx(
        31 / 1040.988
    )


def test_another_currency_goes_through_the_dated_exchange_table_both_ways() -> None:
    day = dt.date(2025, 1, 1)

    def rate(worth: float, as_of: dt.date) -> Placed[ExchangeRow]:
        return Placed(
            ExchangeRow(currency="USD", worth=worth, in_currency="EUR", as_of=as_of, source="t"),
            "exchange.csv",
            2,
        )

    rates = (rate(0.9, day), rate(0.8, dt.date(2025, 6, 1)))
    dollars = row(10.0, day, currency="USD")
    assert on(day, dollars, exchange=rates).offer("resin").pack_price == pytest.approx(9.0)
    assert on(dt.date(2025, 6, 1), dollars, exchange=rates).offer("resin").pack_price == pytest.approx(8.0)
    euros = row(9.0, day)
    assert on(day, euros, exchange=rates, currency="USD").offer("resin").pack_price == pytest.approx(10.0)
