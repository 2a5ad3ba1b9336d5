"""The buy list to the minor unit, and the table it is carried to the shops as."""

from __future__ import annotations

import csv
import io
from decimal import Decimal
from itertools import pairwise

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from routecost.buying.buy_list import Item, from_stock, items
from routecost.buying.totals import Totals, totals
from routecost.reports.files.buy_list_csv import buy_list_csv
from tests.planning.small_bills import PACKED, Candidates, combinations, random_bill

seeds = st.integers(0, 10**6)
some = settings(max_examples=60, suppress_health_check=[HealthCheck.too_slow])


def bought(bill: Candidates, seed: int) -> tuple[Totals, tuple[Item, ...]]:
    """The list of any choice: it is exact whether or not the choice is good."""
    every = list(combinations(bill))
    chosen = every[seed % len(every)]
    by_plan = {id(o.plan): o for o in bill.options}
    found = totals([by_plan[id(way)] for way in chosen], bill.shop)
    return found, items(found, bill.shop)


@given(seeds)
@some
def test_the_amounts_add_up_to_the_outlay(seed: int) -> None:
    found, lines = bought(random_bill(seed), seed)
    assert sum(line.minor_units for line in lines) == round(found.outlay * 100)
    assert all(line.minor_units >= 0 for line in lines)
    # each supplier's lines stand together, those who sell no packs last
    suppliers = list(dict.fromkeys(line.supplier for line in lines))
    packed = {line.supplier for line in lines if line.packs}
    assert suppliers == sorted(packed) + sorted(set(suppliers) - packed)
    assert len(suppliers) == sum(a.supplier != b.supplier for a, b in pairwise(lines)) + bool(lines)


@given(seeds)
@some
def test_what_is_bought_and_on_the_shelf_is_what_is_used_and_left_over(seed: int) -> None:
    """Conservation, with the needs summed up from the draws of the plans."""
    bill = random_bill(seed)
    found, lines = bought(bill, seed)
    shelved = {s.resource: s.quantity for s in from_stock(found)}
    price = {r: min(p / q for q, p in packs) for r, packs in bill.offers.items()}
    for resource in PACKED:
        need = sum(
            draw.quantity
            for option in found.options
            for op in option.plan.operations
            for draw in op.usages
            if draw.resource == resource
        )
        of_it = [line for line in lines if line.resource == resource]
        assert shelved.get(resource, 0.0) == pytest.approx(min(need, bill.stock.get(resource, 0.0)))
        left = sum(line.left_over for line in of_it)
        assert sum(line.quantity for line in of_it) + shelved.get(resource, 0.0) == pytest.approx(need + left)
        assert left < max((q for q, _p in bill.offers[resource]), default=0.0)
        for line in of_it:
            size = float(line.pack.split()[0])
            assert line.quantity == pytest.approx(line.packs * size)
            (pack_price,) = {p for q, p in bill.offers[resource] if q == size}
            assert line.minor_units == line.packs * round(100 * pack_price)
            assert line.left_over_worth == pytest.approx(line.left_over * price[resource])
            users = {o.part for o in found.options if o.usages.get(resource)}
            assert set(line.parts) == users


@given(seeds)
@some
def test_the_table_says_the_same(seed: int) -> None:
    """Read back with the standard library's reader."""
    found, lines = bought(random_bill(seed), seed)
    *rows, total = csv.DictReader(io.StringIO(buy_list_csv(lines, "EUR", {})))
    assert len(rows) == len(lines)
    for row, line in zip(rows, lines, strict=True):
        assert (row["supplier"], row["resource"], row["unit"]) == (line.supplier, line.resource, line.unit)
        assert row["pack"] == (line.pack or "as used")
        assert int(row["packs"] or 0) == line.packs
        assert float(row["quantity"]) == pytest.approx(line.quantity, rel=1e-5)
        assert int(Decimal(row["amount"]) * 100) == line.minor_units
        assert row["for_parts"].split() == list(line.parts)
        assert float(row["left_over"] or 0.0) == pytest.approx(line.left_over, rel=1e-5)
    assert Decimal(total["amount"]) == sum(Decimal(row["amount"]) for row in rows)
    assert Decimal(total["amount"]) == Decimal(round(found.outlay * 100)) / 100
    assert {row["currency"] for row in (*rows, total)} == {"EUR"}
