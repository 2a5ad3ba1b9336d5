"""The buy list of a plan as CSV."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence

from routecost.buying.buy_list import Item
from routecost.core.money import minor_digits
from routecost.scheduling.order_days import OrderDays

_HEADER = [
    "supplier",
    "resource",
    "pack",
    "packs",
    "quantity",
    "unit",
    "amount",
    "currency",
    "price_as_of",
    "order_by",
    "needed_on",
    "for_parts",
    "left_over",
    "left_over_worth",
    "keeps_days",
]


def buy_list_csv(lines: Sequence[Item], currency: str, days: Mapping[str, OrderDays]) -> str:
    """The buy list as CSV, with a total at the end. `days` are by resource; what needs no order has none."""
    digits = minor_digits(currency)
    out = io.StringIO()
    table = csv.writer(out, lineterminator="\n")
    table.writerow(_HEADER)
    for i in lines:
        when = days.get(i.resource)
        table.writerow(
            [
                i.supplier,
                i.resource,
                i.pack or "as used",
                i.packs or "",
                f"{i.quantity:.6g}",
                i.unit,
                _money(i.minor_units, digits),
                currency,
                i.price_as_of.isoformat(),
                when.order_by.isoformat() if when else "",
                when.needed_on.isoformat() if when else "",
                " ".join(i.parts),
                f"{i.left_over:.6g}" if i.left_over else "",
                f"{i.left_over_worth:.{digits}f}" if i.left_over else "",
                f"{i.keeps_days:g}" if i.keeps_days and i.left_over else "",
            ]
        )
    total = _money(sum(i.minor_units for i in lines), digits)
    table.writerow(["total", "", "", "", "", "", total, currency, *[""] * (len(_HEADER) - 8)])
    return out.getvalue()


def _money(minor_units: int, digits: int) -> str:
    """Minor units as an amount, without passing through a float.

    >>> _money(12345, 2), _money(7, 2), _money(12345, 0)
    ('123.45', '0.07', '12345')
    """
    whole, part = divmod(minor_units, 10**digits)
    return f"{whole}.{part:0{digits}d}" if digits else str(whole)
