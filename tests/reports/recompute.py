"""Computes a workbook's formulas anew from its plain numbers, as a spreadsheet program would.

Knows the functions that the bill uses, and no others: an unknown formula is an error.
"""

from __future__ import annotations

import re
from functools import cache
from io import BytesIO
from typing import Any

import openpyxl

CELL = r"(?:'?([A-Za-z ]+)'?!)?\$?([A-Z]+)\$?(\d+)"
SUMIFS = re.compile(r"SUMIFS\((\w+)!\$([A-Z]):\$\2,\1!\$([A-Z]):\$\3,(.+?),\1!\$([A-Z]):\$\5,(.+?)\)")


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
        if match := SUMIFS.fullmatch(text):
            where, summed, first, first_is, second, second_is = match.groups()
            wanted = (self._cell(sheet, first_is), self._cell(sheet, second_is))
            keys = zip(self.columns(where, first), self.columns(where, second), strict=True)
            pairs = zip(keys, self.columns(where, summed), strict=True)
            return sum(value for key, value in pairs if key == wanted and isinstance(value, int | float))
        text = re.sub(
            r"SUM\(([A-Z]+)(\d+):([A-Z]+)(\d+)\)",
            lambda m: repr(sum(self.value(sheet, m[1], r) or 0.0 for r in range(int(m[2]), int(m[4]) + 1))),
            text,
        )
        text = re.sub(CELL, lambda m: repr(float(self.value(m[1] or sheet, m[2], int(m[3])) or 0.0)), text)
        text = re.sub(r"IF\(([^,=]+)=([^,]+),([^,]+),([^,]+)\)", r"((\3) if (\1)==(\2) else (\4))", text)
        if not re.fullmatch(r"[-+*/().,\d\seinfMAXelsf=]*", text):
            raise ValueError(f"unknown formula: {text}")
        return float(eval(text, {"__builtins__": {}}, {"MAX": max}))

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


def stored(data: bytes) -> Any:
    """The workbook with the values that viewers show which do not calculate."""
    return openpyxl.load_workbook(BytesIO(data), data_only=True)


def row_of(sheet: Any, text: str) -> int:
    """The row whose first cell is `text`."""
    return next(cell.row for (cell,) in sheet.iter_rows(max_col=1) if cell.value == text)
