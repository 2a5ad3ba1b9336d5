"""What the columns of every table mean, in a terminal."""

from __future__ import annotations

from rich.console import Console

from routecost.reports.json.tables_json import tables_json
from routecost.reports.text.terminal import make_table


def print_tables(out: Console, only: str | None = None) -> None:
    """All tables, or only one, within 100 columns."""
    for found in tables_json(only):
        sections = {found["table"]: found["columns"]}
        sections |= {
            f"{found['table']}: properties of class {kind}": c for kind, c in found["classes"].items()
        }
        for title, columns in sections.items():
            table = make_table("column", "", "value", "meaning", title=title)
            for c in columns:
                table.add_row(c["column"], "required" if c["required"] else "", c["wants"], c["meaning"])
            out.print(table)
