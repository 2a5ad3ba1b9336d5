"""A build: the user's folder, read and checked as a whole."""

from __future__ import annotations

import datetime as dt
import difflib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TypeVar

from routecost.builds.build_tables import LogRow, PartRow, QuoteRow, StockRow
from routecost.builds.parts_table import ReadPart, part_of
from routecost.builds.quotes import ReadQuotes, read_quotes
from routecost.builds.settings import Settings, ShopSettings, read_settings
from routecost.builds.size_check import size_warnings
from routecost.core.cache.store import AnswerCache
from routecost.core.errors import Fault, InputError
from routecost.core.units import UnitError, read_quantity
from routecost.core.wording import counted, short_repr
from routecost.costing.tariff import Tariff
from routecost.routes.process.operation import Route
from routecost.routes.process.part import Part
from routecost.routes.registry import routes_of
from routecost.shop.machines import Printer, Vessel
from routecost.shop.services import SlaService
from routecost.shop.shop import Shop, Tables, read_tables
from routecost.shop.table_reader import Placed, read_table, refuse_twins

CACHE_FOLDER = ".routecost"

T = TypeVar("T")


@dataclass(frozen=True, eq=False)
class Build:
    """Everything that a build's folder says. Make one with `load_build`."""

    folder: Path
    settings: Settings
    shop_settings: ShopSettings
    read_parts: tuple[ReadPart, ...]
    tables: Tables
    quotes: ReadQuotes
    stock: dict[str, float]
    """On the shelf, by resource, in the resource's unit."""
    routes: tuple[Route, ...]
    log: tuple[Placed[LogRow], ...] = ()
    """What really happened, in the order of the file."""

    def __repr__(self) -> str:
        facts = counted(len(self.read_parts), "part"), self.settings.currency, str(self.folder)
        return short_repr(self, self.settings.name, *facts)

    @property
    def day(self) -> dt.date:
        """The day whose prices hold when none is asked for."""
        return self.settings.as_of or dt.date.today()

    def shop(self, day: dt.date | None = None) -> Shop:
        """The shop as known on a day. Raises InputError with all faults of the tables."""
        faults: list[Fault] = []
        shop = self.tables.shop(day or self.day, faults)
        if faults:
            raise InputError(faults)
        return shop.with_owned(frozenset(self.shop_settings.owns))

    def tariff(self, day: dt.date | None = None) -> Tariff:
        """Prices on a day, with the maker's own rate. Raises InputError with all faults of the log."""
        faults: list[Fault] = []
        prices = self.tables.price_list(day or self.day, self.settings.currency, faults)
        if faults:
            raise InputError(faults)
        owned = frozenset(self.shop_settings.owns)
        return Tariff(prices, self.tables.resource_map, self.settings.own_rate, owned)

    def parts(
        self, day: dt.date | None = None, copies: int | Mapping[str, int] | None = None
    ) -> tuple[Part, ...]:
        """All lines of the bill, with the quotes that hold on the day.

        `copies` overrides the copies of every part, or of those that it names.
        """
        found = []
        for read in self.read_parts:
            named = copies.get(read.part.id) if isinstance(copies, Mapping) else copies
            wanted = named or read.part.copies
            quotes = self.quotes.on(read.part.id, day or self.day, wanted)
            found.append(replace(read.part, copies=wanted, quotes=quotes))
        return tuple(found)

    @property
    def warnings(self) -> list[Fault]:
        """What reading the meshes wants known: repairs, and sizes that suggest another unit."""
        sizes = size_warnings([read.size for read in self.read_parts if read.size], self._printer_mm)
        found = []
        for read in self.read_parts:
            if read.reading is not None:
                asked = [sizes[read.part.id]] if read.part.id in sizes else []
                texts = (*asked, *read.reading.notes.warnings, *read.reading.notes.repairs)
                found += [Fault(f"meshes/{Path(read.reading.file).name}", "", text, "") for text in texts]
        return found

    @property
    def _printer_mm(self) -> float | None:
        """The longest side of any printer's build volume."""
        # faults of the tables are reported where the shop is used
        shop = self.tables.shop(self.day, []).with_owned(frozenset(self.shop_settings.owns))
        sides = ((p.width_mm, p.depth_mm, p.height_mm) for p in shop.printers())
        return max((max(volume) for volume in sides), default=None)


def load_build(
    folder: str | Path, on_read: Callable[[str], None] | None = None, kept: AnswerCache | None = None
) -> Build:
    """Read a build's folder. Raises InputError with everything that is wrong with it, all at once.

    `on_read` is called with each part's id when its mesh has been read.
    """
    build, faults = inspect_build(folder, on_read, kept)
    if faults or build is None:
        raise InputError(faults)
    return build


def inspect_build(
    folder: str | Path, on_read: Callable[[str], None] | None = None, kept: AnswerCache | None = None
) -> tuple[Build | None, list[Fault]]:
    """The build, if it can be read at all, and all its faults."""
    root = Path(folder)
    faults: list[Fault] = []
    if not root.is_dir():
        what = "is a file, not a folder" if root.exists() else "there is no such folder"
        mend = f"name a build's folder, or start one with `routecost new {folder}`"
        return None, [Fault(str(folder), "", what, mend)]
    read = read_settings(root / "build.toml", faults)
    settings, shop_settings = read or (Settings(name="", own_rate=0.0), ShopSettings())
    tables = read_tables(root, faults)
    # facts and prices are checked on the newest day, so that rows of any date are looked at
    shop = tables.shop(dt.date.max, faults)
    _check_owned(shop_settings, shop, faults)
    routes = routes_of(shop_settings.routes, root, faults)

    rows = refuse_twins(_part_rows(root, faults), ("part",), faults)
    quote_rows = _optional(root / "quotes.csv", QuoteRow, faults)
    quotes = read_quotes(
        quote_rows, {placed.row.part for placed in rows}, {s.id for s in shop.all(SlaService)}, faults
    )
    tables = replace(
        tables,
        resources=(*tables.resources, *quotes.resources),
        prices=(*tables.prices, *quotes.prices),
    )
    if read is not None:
        tables.price_list(dt.date.max, settings.currency, faults)
    stock = _stock(root, tables, faults)
    log = _log(root, {placed.row.part for placed in rows}, {route.id for route in routes}, faults)
    store = kept or AnswerCache.in_folder(root / CACHE_FOLDER)
    known_routes, known_resources = {route.id for route in routes}, set(tables.resource_map)
    parts = [
        part_of(placed, root, settings.unit, store, known_routes, known_resources, faults, on_read)
        for placed in rows
    ]
    if read is None:
        return None, faults
    build = Build(
        folder=root,
        settings=settings,
        shop_settings=shop_settings,
        read_parts=tuple(p for p in parts if p is not None),
        tables=tables,
        quotes=quotes,
        stock=stock,
        routes=routes,
        log=log,
    )
    return build, faults


def _part_rows(root: Path, faults: list[Fault]) -> list[Placed[PartRow]]:
    csv, xlsx = root / "parts.csv", root / "parts.xlsx"
    if csv.exists() and xlsx.exists():
        faults.append(Fault("parts.xlsx", "", "there is a parts.csv too", "keep one of the two"))
    before = len(faults)
    rows = read_table(xlsx if xlsx.exists() and not csv.exists() else csv, PartRow, faults)
    if not rows and len(faults) == before:
        faults.append(Fault("parts.csv", "", "there are no parts in it", "add a row for each part"))
    return rows


def _optional(path: Path, table: type[T], faults: list[Fault]) -> Sequence[Placed[T]]:
    return read_table(path, table, faults) if path.exists() else []


def _check_owned(shop_settings: ShopSettings, shop: Shop, faults: list[Fault]) -> None:
    known = [thing.id for thing in (*shop.all(Printer), *shop.all(Vessel))]
    for name in shop_settings.owns:
        if name not in known:
            mend = "the machines are " + ", ".join(known) + "; add your own to machines.csv"
            faults.append(Fault("build.toml", "[shop] key owns", f"unknown machine {name!r}", mend))


def _stock(root: Path, tables: Tables, faults: list[Fault]) -> dict[str, float]:
    path = root / "stock.csv"
    if not path.exists():
        return {}
    found: dict[str, float] = {}
    for placed in read_table(path, StockRow, faults):
        row, resource = placed.row, tables.resource_map.get(placed.row.resource)
        if resource is None:
            what = f"unknown resource {row.resource!r}"
            faults.append(placed.fault("resource", what, "name one of resources.csv, or declare it there"))
            continue
        try:
            amount = read_quantity(row.amount, resource.unit, resource.density_g_ml)
        except UnitError as error:
            faults.append(placed.fault("amount", error.what, error.mend))
            continue
        if amount < 0:
            faults.append(placed.fault("amount", f"{row.amount!r} is below zero", "write what is left"))
        found[row.resource] = found.get(row.resource, 0.0) + amount
    return found


def _log(root: Path, parts: set[str], routes: set[str], faults: list[Fault]) -> tuple[Placed[LogRow], ...]:
    """Whether a step is one of its route is only known once the part is planned."""
    placed = _optional(root / "log.csv", LogRow, faults)
    for entry in placed:
        row = entry.row
        for header, name, known in (("part", row.part, parts), ("route", row.route, routes)):
            if name not in known:
                close = difflib.get_close_matches(name, known, 1)
                mend = (
                    f"did you mean {close[0]}?" if close else f"the {header}s are {', '.join(sorted(known))}"
                )
                faults.append(entry.fault(header, f"unknown {header} {name!r}", mend))
    return tuple(placed)
