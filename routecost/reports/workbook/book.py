"""The open workbook: its sheets, its formats, and the cells of the prices."""

from __future__ import annotations

import datetime as dt
import textwrap
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from io import BytesIO
from pathlib import Path
from typing import Any

from routecost.builds.build import Build
from routecost.core.errors import InputError
from routecost.core.files import write_for_user
from routecost.core.money import minor_digits
from routecost.costing.estimate import Estimate
from routecost.costing.tariff import Tariff

INK, PAPER, RULE = "#22303c", "#eef1ee", "#9aa6a0"
HEADER_ROW = 2
FIRST_ROW = HEADER_ROW + 1
LINE_PT = 15.0
"""Height of a line: what spreadsheet programs give a row of their usual 11 pt type."""


@dataclass(eq=False)
class Book:
    """What the sheets are written from and into."""

    file: Any
    """The xlsxwriter workbook."""
    build: Build
    as_of: dt.date
    """Date of the prices."""
    estimates: tuple[Estimate, ...]
    """Everything whose operations are shown."""
    chosen: tuple[Estimate, ...]
    """Those of them that are chosen."""
    also_priced: tuple[str, ...] = ()
    """Resources whose prices are shown although no operation uses them."""
    price_cell: dict[str, str] = field(default_factory=dict)
    """By resource, the cell that holds its unit price."""
    pack_cell: dict[str, str] = field(default_factory=dict)
    """By resource, the cell that holds the price of the pack that is cheapest by content."""
    _widths: dict[str, list[float]] = field(default_factory=dict)
    """Of the columns, by sheet."""
    _lines: dict[tuple[str, int], int] = field(default_factory=dict)
    """Lines of text that a row has room for, where more than one."""

    @cached_property
    def tariff(self) -> Tariff:
        return self.build.tariff(self.as_of)

    @property
    def currency(self) -> str:
        return self.tariff.currency

    @cached_property
    def formats(self) -> dict[str, Any]:
        return _formats(self.file, self.currency)

    def fill(self, sheet: Any, note: str, columns: str) -> None:
        """A note on top, frozen headers below it, and column widths.

        columns: header and width of each, such as "part 18 | amount, ¤ 12"; ¤ stands for the currency.
        """
        specs = [column.strip().rpartition(" ") for column in columns.split("|")]
        headers = [(name.replace("¤", self.currency), float(width)) for name, _space, width in specs]
        sheet.hide_gridlines(2)
        sheet.write(0, 0, note, self.formats["note"])
        self._widths[sheet.name] = [width for _header, width in headers]
        for column, (header, width) in enumerate(headers):
            sheet.set_column(column, column, width)
            self.wrap(sheet, HEADER_ROW, column, header, style="header")
        sheet.freeze_panes(FIRST_ROW, 1)
        sheet.set_landscape()
        sheet.fit_to_pages(1, 0)

    def texts(self, sheet: Any, row: int, *cells: object, style: str = "text", first: int = 0) -> None:
        """Cells side by side from column `first` on, in one format."""
        for column, cell in enumerate(cells, start=first):
            sheet.write(row, column, cell, self.formats[style])

    def wrap(self, sheet: Any, row: int, column: int, text: str, style: str = "wrap") -> None:
        """A text that may need several lines, and a row high enough for them: not every program adjusts heights."""
        sheet.write(row, column, text, self.formats[style])
        # letters are narrower than the digits that widths count: by a seventh, measured on such texts
        lines = len(textwrap.wrap(text, max(1, int(1.15 * self._widths[sheet.name][column]))))
        if lines > self._lines.get((sheet.name, row), 1):
            self._lines[sheet.name, row] = lines
            sheet.set_row(row, LINE_PT * lines)


Fill = Callable[[Book, Any], None]
"""Fills a sheet."""


def workbook(
    open_book: Callable[[Any], Book], sheets: Mapping[str, Fill], *, title: str, as_of: dt.date
) -> bytes:
    """A workbook with these sheets, in the order of the tabs; the same inputs give the same bytes."""
    import xlsxwriter

    memory = BytesIO()
    file = xlsxwriter.Workbook(memory, {"in_memory": True})
    # stamped with the day of the prices, not of writing: the same inputs give the same bytes
    file.set_properties({"title": title, "created": dt.datetime.combine(as_of, dt.time())})
    book = open_book(file)
    tabs = {name: file.add_worksheet(name) for name in sheets}
    # all sheets refer to the cells of the prices, and the first sheet to cells of all others
    for name in sorted(sheets, key=lambda name: (name != "Prices", name == next(iter(sheets)))):
        sheets[name](book, tabs[name])
    file.close()
    return memory.getvalue()


def write_book(path: Path, made: Callable[[], bytes]) -> Path:
    """Write a workbook to the user's path. Returns the path. Raises InputError."""
    if path.suffix.lower() != ".xlsx":
        what = "is not the name of a workbook"
        raise InputError.of(str(path), "", what, "use the file extension .xlsx")
    write_for_user(path, made())
    return path


def _formats(book: Any, currency: str) -> dict[str, Any]:
    digits = minor_digits(currency)
    # a space after numbers, so that they do not touch the text beside them
    money = "#,##0" + ("." + "0" * digits if digits else "") + "_ "
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
        "price": book.add_format({**plain, "num_format": "#,##0.0000_ "}),
        "number": book.add_format({**plain, "num_format": "#,##0.000_ "}),
        "count": book.add_format({**plain, "num_format": "#,##0_ "}),
        "hours": book.add_format({**plain, "num_format": "#,##0.00_ "}),
        "day": book.add_format({**plain, "num_format": "yyyy-mm-dd_ "}),
        "moment": book.add_format({**plain, "num_format": "yyyy-mm-dd hh:mm_ "}),
        "share": book.add_format({**plain, "num_format": "0.0%_ "}),
        "choice": book.add_format({**plain, "bold": True, "bottom": 4, "bottom_color": RULE}),
        "total": book.add_format({**plain, "bold": True, "num_format": money, "top": 1, "top_color": RULE}),
        "total_hours": book.add_format(
            {**plain, "bold": True, "num_format": "#,##0.00_ ", "top": 1, "top_color": RULE}
        ),
        "total_text": book.add_format({**plain, "bold": True, "top": 1, "top_color": RULE}),
    }
