"""Rows added to the end of a build's tables. The existing content stays unchanged, byte for byte."""

from __future__ import annotations

import csv
import io
import re
import shutil
import tempfile
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from routecost.core.errors import Fault, InputError
from routecost.core.files import write_for_user
from routecost.shop.schema import columns_of
from routecost.shop.shop import FACT_TABLES, ROW_TABLES, read_tables

if TYPE_CHECKING:
    from _typeshed import DataclassInstance


def csv_lines(
    rows: Sequence[DataclassInstance], headers: Sequence[str] = (), delimiter: str = ",", end: str = "\n"
) -> str:
    """Rows of one table as lines of a CSV, in the order of `headers`, or of the table's own columns.

    Raises InputError naming a column that has a value but is not among the headers.
    """
    out = io.StringIO()
    writer = csv.writer(out, delimiter=delimiter, lineterminator=end)
    for row in rows:
        cells = {c.header: _cell(getattr(row, c.name)) for c in columns_of(type(row))}
        order = headers or tuple(cells)
        for header, cell in cells.items():
            if cell and header not in order:
                what = f"no column {header!r} to write {cell!r} into"
                raise InputError.of("table", "header", what, f"add {header} to the first line")
        writer.writerow([cells.get(header, "") for header in order])
    return out.getvalue()


def append_rows(
    folder: Path, currency: str, added: Mapping[str, Sequence[DataclassInstance]]
) -> tuple[Path, ...]:
    """Append rows to tables of a build's folder, by file name; a missing table is created.

    All files are read back and checked together before the first is put in place. Raises InputError with
    the faults of the new rows; then nothing is changed.
    """
    texts = {name: _with_rows(folder / name, rows) for name, rows in added.items() if rows}
    before, after = _faults(folder, {}, currency), _faults(folder, texts, currency)
    if brought := [fault for fault in after if fault not in before]:
        raise InputError([_of_new_row(fault, folder) for fault in brought])
    for name, text in texts.items():
        write_for_user(folder / name, text)
    return tuple(folder / name for name in texts)


def _cell(value: object) -> str:
    """A value as a cell that reads back as the same value.

    >>> _cell(24.9), _cell(20.0), _cell(None), _cell(date(2026, 3, 31))
    ('24.9', '20', '', '2026-03-31')
    """
    if value is None:
        return ""
    return repr(float(value)).removesuffix(".0") if isinstance(value, float) else str(value)


def _of_new_row(fault: Fault, folder: Path) -> Fault:
    """A row beyond the end of the file has no number yet."""
    path, found = folder / fault.file, re.match(r"row (\d+)", fault.where)
    lines = len(path.read_bytes().splitlines()) if path.is_file() else 0
    if found is None or int(found[1]) <= lines:
        return fault
    return replace(fault, where="a new row" + fault.where[found.end() :])


def _with_rows(path: Path, rows: Sequence[DataclassInstance]) -> bytes:
    """The file's bytes followed by the rows, with the header, delimiter and line endings of the file."""
    try:
        old = path.read_bytes() if path.exists() else b""
        text = old.decode("utf-8-sig")
    except OSError as error:
        raise InputError.of(path.name, "", f"cannot be read ({error.strerror})", "check the file") from None
    except UnicodeDecodeError as error:
        where = f"byte {error.start}"
        raise InputError.of(path.name, where, "the text is not UTF-8", "save it as CSV UTF-8") from None
    written = (line for line in text.splitlines() if line.strip() and not line.lstrip().startswith("#"))
    first = next(written, "")
    end = "\r\n" if "\r\n" in text else "\n"
    # the same rule as in the reader
    delimiter = ";" if first.count(";") > first.count(",") else ","
    added = "" if not text or text.endswith(("\n", "\r")) else end
    if first:
        headers = [cell.strip().lower() for cell in next(csv.reader([first], delimiter=delimiter))]
    else:
        headers = [c.header for c in columns_of(type(rows[0]))]
        added += delimiter.join(headers) + end
    try:
        added += csv_lines(rows, headers, delimiter, end)
    except InputError as error:
        raise InputError([Fault(path.name, f.where, f.what, f.mend) for f in error.faults]) from None
    return old + added.encode("utf-8")


def _faults(folder: Path, texts: Mapping[str, bytes], currency: str) -> list[Fault]:
    """Faults in the tables of a folder when some of its files have other texts."""
    faults: list[Fault] = []
    with tempfile.TemporaryDirectory() as temporary:
        twin = Path(temporary)
        for name in (*FACT_TABLES, *ROW_TABLES):
            if name in texts:
                (twin / name).write_bytes(texts[name])
            elif (folder / name).is_file():
                shutil.copyfile(folder / name, twin / name)
        tables = read_tables(twin, faults)
    # on the latest day, so that rows of any date are checked
    tables.shop(date.max, faults)
    tables.price_list(date.max, currency, faults)
    return faults
