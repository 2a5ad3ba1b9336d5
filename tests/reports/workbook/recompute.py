"""Computes a workbook's formulas anew from its plain numbers, as a spreadsheet program would.

Knows the functions that the workbooks use, and no others: an unknown formula is an error.
"""

from __future__ import annotations

import datetime as dt
import re
from decimal import ROUND_HALF_UP, Decimal
from functools import cache
from io import BytesIO
from typing import Any

import openpyxl
from openpyxl.utils.datetime import to_excel

CELL = r"(?:'?([A-Za-z ]+)'?!)?\$?([A-Z]+)\$?(\d+)"
SUMIFS = re.compile(r"SUMIFS\(([^()]+)\)")
COLUMN = re.compile(r"(\w+)!\$([A-Z]+):\$\2")


class Recomputed:
    """Values of cells, from formulas only."""

    def __init__(self, data: bytes) -> None:
        self.book = openpyxl.load_workbook(BytesIO(data))
        self.columns = cache(self._column)
        self.value = cache(self._value)

    def _column(self, sheet: str, letter: str) -> list[Any]:
        rows = range(1, self.book[sheet].max_row + 1)
        return [self.value(sheet, letter, row) for row in rows]

    def _value(self, sheet: str, letter: str, row: int) -> Any:
        raw = self.book[sheet][f"{letter}{row}"].value
        if not (isinstance(raw, str) and raw.startswith("=")):
            return raw
        return self._formula(sheet, raw[1:])

    def _formula(self, sheet: str, text: str) -> float:
        text = SUMIFS.sub(lambda m: repr(self._sumifs(sheet, m[1].split(","))), text)
        text = re.sub(
            r"SUM\(([A-Z]+)(\d+):([A-Z]+)(\d+)\)",
            lambda m: repr(sum(self.value(sheet, m[1], r) or 0.0 for r in range(int(m[2]), int(m[4]) + 1))),
            text,
        )
        text = re.sub(CELL, lambda m: repr(self._number(m[1] or sheet, m[2], int(m[3]))), text)
        text = re.sub(r"IF\(([^,=]+)=([^,]+),([^,]+),([^,]+)\)", r"((\3) if (\1)==(\2) else (\4))", text)
        if not re.fullmatch(r"[-+*/().,\d\seinfMAXROUNDlsf=]*", text):
            raise ValueError(f"unknown formula: {text}")
        return float(eval(text, {"__builtins__": {}}, {"MAX": max, "ROUND": half_up}))

    def _sumifs(self, sheet: str, arguments: list[str]) -> float:
        (where, letter), *keys = (COLUMN.fullmatch(a).groups() for a in arguments[:1] + arguments[1::2])  # type: ignore[union-attr]
        wanted = [a.strip('"') if a.startswith('"') else self._cell(sheet, a) for a in arguments[2::2]]
        columns = [self.columns(*key) for key in keys]
        return sum(
            value
            for value, *found in zip(self.columns(where, letter), *columns, strict=True)
            if found == wanted and isinstance(value, int | float)
        )

    def _number(self, sheet: str, letter: str, row: int) -> float:
        value = self.value(sheet, letter, row)
        return float(to_excel(value) if isinstance(value, dt.datetime) else value or 0.0)

    def _cell(self, sheet: str, text: str) -> Any:
        match = re.fullmatch(CELL, text)
        assert match, text
        return self.value(match[1] or sheet, match[2], int(match[3]))

    def formula_cells(self, sheet: str) -> list[tuple[str, int]]:
        return [
            (cell.column_letter, cell.row)
            for row in self.book[sheet].iter_rows()
            for cell in row
            if isinstance(cell.value, str) and cell.value.startswith("=")
        ]


def half_up(amount: float, digits: int) -> float:
    """ROUND, which takes halves away from zero and sees fifteen digits (ECMA-376 part 1, 18.17.7.285)."""
    unit = Decimal(1).scaleb(-int(digits))
    return float(Decimal(f"{amount:.15g}").quantize(unit, ROUND_HALF_UP))


def stored(data: bytes) -> Any:
    """The workbook with the values that viewers show which do not calculate."""
    return openpyxl.load_workbook(BytesIO(data), data_only=True)


def row_of(sheet: Any, text: str) -> int:
    """The row whose first cell is `text`."""
    return next(cell.row for (cell,) in sheet.iter_rows(max_col=1) if cell.value == text)
