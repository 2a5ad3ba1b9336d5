"""The open workbook: its sheets, its formats, and where each price stands."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from routecost.builds.build import Build
from routecost.costing.ranking import Ranking
from routecost.costing.tariff import Tariff
from routecost.money import minor_digits

INK, PAPER, RULE = "#22303c", "#eef1ee", "#9aa6a0"
HEADER_ROW = 2
FIRST_ROW = HEADER_ROW + 1


@dataclass(eq=False)
class Book:
    """What the sheets are written from and into."""

    file: Any
    """The xlsxwriter workbook."""
    build: Build
    ranking: Ranking
    price_cell: dict[str, str] = field(default_factory=dict)
    """By resource, the cell that holds its unit price."""

    @cached_property
    def tariff(self) -> Tariff:
        return self.build.tariff(self.ranking.as_of)

    @property
    def currency(self) -> str:
        return self.ranking.currency

    @cached_property
    def formats(self) -> dict[str, Any]:
        return _formats(self.file, self.currency)

    def fill(self, sheet: Any, note: str, headers: Sequence[tuple[str, float]]) -> None:
        """A note on top, headers below it that stay in sight, a width for each column."""
        sheet.hide_gridlines(2)
        sheet.write(0, 0, note, self.formats["note"])
        for column, (header, width) in enumerate(headers):
            sheet.set_column(column, column, width)
            sheet.write(HEADER_ROW, column, header, self.formats["header"])
        sheet.freeze_panes(FIRST_ROW, 1)
        sheet.set_landscape()
        sheet.fit_to_pages(1, 0)

    def texts(self, sheet: Any, row: int, *cells: object, style: str = "text", first: int = 0) -> None:
        """Cells side by side from column `first` on, in one format."""
        for column, cell in enumerate(cells, start=first):
            sheet.write(row, column, cell, self.formats[style])


def _formats(book: Any, currency: str) -> dict[str, Any]:
    digits = minor_digits(currency)
    money = "#,##0" + ("." + "0" * digits if digits else "")
    plain = {"font_color": INK, "valign": "top"}
    return {
        "note": book.add_format({**plain, "italic": True}),
        "header": book.add_format(
            {**plain, "bold": True, "bg_color": PAPER, "bottom": 1, "bottom_color": RULE, "text_wrap": True}
        ),
        "text": book.add_format(plain),
        "wrap": book.add_format({**plain, "text_wrap": True}),
        "strong": book.add_format({**plain, "bold": True}),
        "money": book.add_format({**plain, "num_format": money}),
        "price": book.add_format({**plain, "num_format": "#,##0.0000"}),
        "number": book.add_format({**plain, "num_format": "#,##0.000"}),
        "hours": book.add_format({**plain, "num_format": "#,##0.00"}),
        "day": book.add_format({**plain, "num_format": "yyyy-mm-dd"}),
        "choice": book.add_format({**plain, "bold": True, "bottom": 4, "bottom_color": RULE}),
        "total": book.add_format({**plain, "bold": True, "num_format": money, "top": 1, "top_color": RULE}),
        "total_hours": book.add_format({**plain, "bold": True, "num_format": "#,##0.00", "top": 1}),
        "total_text": book.add_format({**plain, "bold": True, "top": 1, "top_color": RULE}),
    }
