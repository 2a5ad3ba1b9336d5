"""What the columns of every table mean, from their declarations."""

from __future__ import annotations

from typing import Any

from routecost.builds.build_tables import LogRow, PartRow, QuoteRow, StockRow
from routecost.builds.settings import Settings
from routecost.core.errors import InputError
from routecost.shop.facts import FactRow
from routecost.shop.schema import columns_of
from routecost.shop.shop import FACT_TABLES, ROW_TABLES

TABLES: dict[str, type] = {
    "build.toml": Settings,
    "parts.csv": PartRow,
    "quotes.csv": QuoteRow,
    "stock.csv": StockRow,
    "log.csv": LogRow,
    **ROW_TABLES,
    **dict.fromkeys(FACT_TABLES, FactRow),
}


def tables_json(only: str | None = None) -> list[dict[str, Any]]:
    """Columns of one table or of all; tables of facts also with the properties of their classes."""
    if only is not None and only not in TABLES:
        raise InputError.of("command line", "TABLE", f"unknown table {only!r}", "one of " + ", ".join(TABLES))
    return [
        {
            "table": name,
            "columns": _columns(table),
            "classes": {kind: _columns(cls) for kind, cls in FACT_TABLES.get(name, {}).items()},
        }
        for name, table in TABLES.items()
        if only in (None, name)
    ]


def _columns(table: type) -> list[dict[str, Any]]:
    return [
        {"column": c.header, "required": c.required, "wants": c.wants, "meaning": c.meaning}
        for c in columns_of(table)
    ]
