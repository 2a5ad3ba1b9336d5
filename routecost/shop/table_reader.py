"""The one reader for every table: CSV or XLSX in, declared rows out, all that is wrong at once."""

from __future__ import annotations

import csv
import datetime as dt
import difflib
import math
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Generic, TypeVar

from routecost.core.errors import Fault
from routecost.core.units import UnitError, read_quantity
from routecost.shop.schema import Column, columns_of

T = TypeVar("T")


@dataclass(frozen=True)
class Placed(Generic[T]):
    """A row and where it stands, so that later checks can name the place."""

    row: T
    file: str
    number: int
    """Row number as a spreadsheet shows it: the header is row 1."""

    @property
    def place(self) -> str:
        return f"{self.file}, row {self.number}"

    def fault(self, header: str, what: str, mend: str) -> Fault:
        where = f"row {self.number}, column {header}" if header else f"row {self.number}"
        return Fault(self.file, where, what, mend)


def read_table(path: Path, table: type[T], faults: list[Fault], name: str = "") -> list[Placed[T]]:
    """Rows of a table file; whatever is wrong is added to `faults`, and only sound rows are returned.

    `name` is how the file is called in messages. Columns that are not declared are faults too: a
    misspelt header must not silently switch its column off.
    """
    name = name or path.name
    try:
        lines = list(_xlsx_rows(path) if path.suffix.lower() == ".xlsx" else _csv_rows(path))
    except FileNotFoundError:
        faults.append(Fault(name, "", "the file is missing", f"create it with the columns {_headers(table)}"))
        return []
    except IsADirectoryError:
        faults.append(Fault(name, "", "this is a folder, not a table", "name the CSV or XLSX file"))
        return []
    except UnicodeDecodeError as error:
        faults.append(Fault(name, f"byte {error.start}", "the text is not UTF-8", "save it as CSV UTF-8"))
        return []
    except csv.Error as error:
        faults.append(Fault(name, "", f"not a CSV table ({error})", "save it as CSV with commas"))
        return []
    except OSError as error:
        faults.append(Fault(name, "", f"cannot be read ({error.strerror or error})", "check the file"))
        return []
    except _NotATableError as error:
        faults.append(Fault(name, "", str(error), "save it again as CSV or XLSX"))
        return []
    return _typed_rows(lines, table, faults, name)


class _NotATableError(Exception):
    pass


def _csv_rows(path: Path) -> Iterator[tuple[int, list[str]]]:
    text = path.read_text(encoding="utf-8-sig")
    if "\x00" in text:
        raise _NotATableError("the file holds binary data")
    first = next(
        (line for line in text.splitlines() if line.strip() and not line.lstrip().startswith("#")), ""
    )
    # spreadsheets of many countries write CSV with semicolons
    delimiter = ";" if first.count(";") > first.count(",") else ","
    reader = csv.reader(text.splitlines(keepends=True), delimiter=delimiter, strict=True)
    for cells in reader:
        if cells and not (cells[0].lstrip().startswith("#")):
            yield reader.line_num, [cell.strip() for cell in cells]


def _xlsx_rows(path: Path) -> Iterator[tuple[int, list[str]]]:
    import zipfile

    import openpyxl
    from openpyxl.utils.exceptions import InvalidFileException

    try:
        book = openpyxl.load_workbook(path, read_only=True, data_only=True)
        sheet = book.worksheets[0]
        rows = [list(cells) for cells in sheet.iter_rows(values_only=True)]
    except (InvalidFileException, zipfile.BadZipFile, KeyError, ValueError, IndexError) as error:
        raise _NotATableError(f"not a readable XLSX workbook ({error})") from None
    for number, cells in enumerate(rows, start=1):
        texts = [_cell_text(cell) for cell in cells]
        if any(texts) and not texts[0].startswith("#"):
            yield number, texts


def _cell_text(cell: object) -> str:
    if cell is None:
        return ""
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    if isinstance(cell, dt.datetime):
        return cell.date().isoformat()
    if isinstance(cell, float) and cell.is_integer():
        return str(int(cell))
    return str(cell).strip()


def _headers(table: type) -> str:
    return ", ".join(c.header for c in columns_of(table) if c.required)


def _typed_rows(
    lines: list[tuple[int, list[str]]], table: type[T], faults: list[Fault], name: str
) -> list[Placed[T]]:
    if not lines:
        faults.append(Fault(name, "", "the table is empty", f"give it a header: {_headers(table)}"))
        return []
    header_row, header = lines[0]
    header = [cell.lower() for cell in header]
    columns = {c.header.lower(): c for c in columns_of(table)}
    before = len(faults)
    for cell in header:
        if cell and cell not in columns:
            close = difflib.get_close_matches(cell, columns, 1)
            mend = f"did you mean {close[0]}?" if close else "its columns are " + ", ".join(columns)
            faults.append(Fault(name, f"row {header_row}", f"unknown column {cell!r}", mend))
    for cell in sorted({c for c in header if c and header.count(c) > 1}):
        faults.append(Fault(name, f"row {header_row}", f"column {cell!r} stands twice", "keep one of them"))
    for missing in (c for h, c in columns.items() if c.required and h not in header):
        what = f"column {missing.header!r} is missing"
        faults.append(Fault(name, f"row {header_row}", what, f"add it: {missing.meaning}"))
    if len(faults) > before:
        return []

    placed = []
    for number, cells in lines[1:]:
        if not any(cells):
            continue
        before = len(faults)
        if len(cells) > len(header) and any(cells[len(header) :]):
            what = f"{len(cells)} cells under {len(header)} headers"
            faults.append(Fault(name, f"row {number}", what, 'put quotes around a text with a comma: "a, b"'))
            continue
        texts = dict(zip(header, cells + [""] * (len(header) - len(cells)), strict=False))
        values: dict[str, Any] = {}
        for key, c in columns.items():
            try:
                values[c.name] = read_cell(texts.get(key, ""), c)
            except UnitError as error:
                faults.append(Fault(name, f"row {number}, column {c.header}", error.what, error.mend))
        if len(faults) == before:
            placed.append(Placed(table(**values), name, number))
    return placed


def read_cell(text: str, c: Column) -> Any:
    """One cell as the column declares it. Raises UnitError with what is wrong and what to write."""
    if not text:
        if c.required:
            raise UnitError("the cell is empty", f"write {c.wants}: {c.meaning}")
        return c.default
    if c.kind is str:
        return _choice(text, c) if c.choices else text
    if c.kind is bool:
        return _yes_or_no(text, c)
    if c.kind is dt.date:
        return read_date(text)
    value = read_quantity(text, c.unit) if c.unit else _number(text, c)
    if not math.isfinite(value):
        raise UnitError(f"{text!r} is not finite", f"write {c.wants}")
    if c.kind is int and value != int(value):
        raise UnitError(f"{text!r} is not a whole number", f"write {c.wants}")
    if (c.low is not None and value < c.low) or (c.high is not None and value > c.high):
        raise UnitError(f"{text!r} is out of range", f"write {c.wants}")
    return int(value) if c.kind is int else value


def read_date(text: str) -> dt.date:
    try:
        return dt.date.fromisoformat(text.strip())
    except ValueError:
        raise UnitError(f"{text!r} is not a date", "write it as year-month-day, such as 2026-03-31") from None


def _choice(text: str, c: Column) -> str:
    spelled = {choice.lower(): choice for choice in c.choices}
    if text.lower() in spelled:
        return spelled[text.lower()]
    close = difflib.get_close_matches(text.lower(), c.choices, 1)
    mend = f"did you mean {close[0]}?" if close else f"write {c.wants}"
    raise UnitError(f"{text!r} is not allowed", mend)


def _yes_or_no(text: str, c: Column) -> bool:
    if text.lower() in ("yes", "y", "true", "1"):
        return True
    if text.lower() in ("no", "n", "false", "0"):
        return False
    raise UnitError(f"{text!r} is neither yes nor no", f"write {c.wants}")


def _number(text: str, c: Column) -> float:
    try:
        # a decimal comma, as spreadsheets of many countries write it
        plain = text.replace(",", ".") if text.count(",") == 1 and "." not in text else text
        return float(plain)
    except ValueError:
        raise UnitError(f"{text!r} is not a number", f"write {c.wants}") from None


def refuse_twins(rows: list[Placed[T]], key: tuple[str, ...], faults: list[Fault]) -> list[Placed[T]]:
    """Rows whose key stands only once; a second row with the same key is a fault."""
    seen: dict[tuple[Any, ...], Placed[T]] = {}
    for placed in rows:
        this = tuple(getattr(placed.row, name) for name in key)
        if this in seen:
            what = f"{' / '.join(str(k) for k in this if k)} stands already in row {seen[this].number}"
            faults.append(placed.fault("", what, "keep one of the two rows"))
        else:
            seen[this] = placed
    return list(seen.values())
