"""Adds a price to a build's price log."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from pathlib import Path
from typing import Any

from routecost.builds.settings import Settings, read_settings
from routecost.builds.table_appending import append_rows
from routecost.core.errors import Fault, InputError
from routecost.core.units import UnitError
from routecost.shop.price_log import PriceRow
from routecost.shop.schema import columns_of
from routecost.shop.shop import read_tables
from routecost.shop.table_reader import Placed, read_cell, read_table

NAME = "prices.csv"
SOURCE = "entered by hand"
"""Source of a price, if none is given."""


@dataclass(frozen=True)
class AddedPrice:
    """The row as it was read back from the file, and what it means for other prices."""

    placed: Placed[PriceRow]
    path: Path
    replaces_shipped: int
    """Number of example prices of the resource that its first own price replaces."""


def add_price(folder: str | Path, row: PriceRow) -> AddedPrice:
    """Append a price to the build's prices.csv, which is created if missing; nothing else in it changes.

    The same checks apply as for any table. Raises InputError with all faults; the file is then unchanged.
    """
    root = Path(folder)
    settings, path, faults = _settings(root), root / NAME, list[Fault]()
    old = path.read_bytes().decode("utf-8-sig", "replace").splitlines() if path.is_file() else []
    if any(line.strip() and not line.lstrip().startswith("#") for line in old):
        read_table(path, PriceRow, faults)
    texts = {f.name: value for f in fields(row) if isinstance(value := getattr(row, f.name), str)}
    # a row is one line, and lines that begin with # are comments
    one_line: dict[str, Any] = {name: " ".join(text.split()) for name, text in texts.items()}
    for name, text in one_line.items():
        if text.startswith("#"):
            what = f"{text!r} would be read as a comment"
            faults.append(Fault(NAME, f"a new row, column {name}", what, "do not begin it with #"))
    if faults:
        # a row after one that cannot be read might not be read either
        raise InputError(faults)
    files = [p.file for p in read_tables(root, []).prices if p.row.resource == row.resource]
    shipped = 0 if NAME in files else len(files)
    append_rows(root, settings.currency, {NAME: [replace(row, **one_line)]})
    return AddedPrice(read_table(path, PriceRow, faults)[-1], path, shipped)


def add_price_texts(folder: str | Path, texts: Mapping[str, str]) -> AddedPrice:
    """The same from texts by column, as typed; an empty currency means the build's own."""
    settings = _settings(Path(folder))
    cells = {header: text.strip() for header, text in texts.items()}
    cells["currency"] = cells.get("currency") or settings.currency
    cells["source"] = cells.get("source") or SOURCE
    values, faults = {}, list[Fault]()
    for c in columns_of(PriceRow):
        try:
            values[c.name] = read_cell(cells.get(c.header, ""), c)
        except UnitError as error:
            faults.append(Fault(NAME, f"a new row, column {c.header}", error.what, error.mend))
    if faults:
        raise InputError(faults)
    return add_price(folder, PriceRow(**values))


def _settings(root: Path) -> Settings:
    if not root.is_dir():
        raise InputError.of(str(root), "", "no such folder", "name a build's folder")
    faults: list[Fault] = []
    read = read_settings(root / "build.toml", faults)
    if read is None:
        raise InputError(faults)
    return read[0]
