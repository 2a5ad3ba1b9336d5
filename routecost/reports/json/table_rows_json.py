"""A row of a table as a plain dictionary."""

from __future__ import annotations

from typing import Any

from routecost.shop.facts import FactRow
from routecost.shop.price_log import PriceRow
from routecost.shop.schema import columns_of


def row_json(row: FactRow | PriceRow) -> dict[str, Any]:
    cells = {c.header: getattr(row, c.name) for c in columns_of(type(row))}
    return {name: str(x) if name in ("as_of", "expires") and x else x for name, x in cells.items()}
