"""The shop on a day: materials, machines, services, standards, resources and cautions. Facts, not prices."""

from __future__ import annotations

import datetime as dt
import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from functools import cached_property
from pathlib import Path
from typing import Any, TypeVar

from routecost.core.errors import Fault, InputError
from routecost.shop.facts import Fact, FactRow, Thing, facts_on, things_of
from routecost.shop.machines import MACHINE_CLASSES, Printer
from routecost.shop.materials import MATERIAL_CLASSES
from routecost.shop.price_log import ExchangeRow, PriceList, PriceRow, price_list
from routecost.shop.resources import CautionRow, Resource
from routecost.shop.services import SERVICE_CLASSES
from routecost.shop.standards import STANDARD_CLASSES
from routecost.shop.table_reader import Placed, read_table, refuse_twins

T = TypeVar("T", bound=Thing)
R = TypeVar("R")

FACT_TABLES: dict[str, dict[str, type[Thing]]] = {
    "materials.csv": MATERIAL_CLASSES,
    "machines.csv": MACHINE_CLASSES,
    "services.csv": SERVICE_CLASSES,
    "standards.csv": STANDARD_CLASSES,
}
ROW_TABLES: dict[str, type] = {
    "resources.csv": Resource,
    "prices.csv": PriceRow,
    "exchange.csv": ExchangeRow,
    "cautions.csv": CautionRow,
}


@dataclass(frozen=True, eq=False)
class Shop:
    """What is known of materials, machines, services and work on one day."""

    day: dt.date
    things: Mapping[type[Thing], tuple[Thing, ...]]
    facts: Mapping[str, Fact]
    """By `thing.property`."""
    resources: Mapping[str, Resource]
    cautions: Mapping[str, CautionRow]
    owned: frozenset[str] = frozenset()
    """Machines and vessels that stand in the shop."""

    @cached_property
    def fingerprint(self) -> str:
        """32 hex digits that change with anything in the shop."""
        seen = [getattr(self, f.name) for f in fields(self)]
        # the order of things is the order of alternatives; a set has none that lasts
        text = repr([sorted(x) if isinstance(x, frozenset) else x for x in seen])
        return hashlib.sha256(text.encode()).hexdigest()[:32]

    def all(self, cls: type[T]) -> tuple[T, ...]:
        """Every thing of a class, in the order of the tables."""
        return self.things.get(cls, ())  # type: ignore[return-value]

    def the(self, cls: type[T]) -> T:
        """The one thing of a class of standards."""
        found = self.all(cls)
        if len(found) != 1:
            what = f"there are {len(found)} sets of {cls.__name__}"
            raise InputError.of("standards.csv", "", what, "keep exactly one set of each class")
        return found[0]

    def one(self, cls: type[T], id: str) -> T:
        """The thing of that id."""
        for thing in self.all(cls):
            if thing.id == id:
                return thing
        raise KeyError(id)

    def printers(self) -> tuple[Any, ...]:
        """Printers in the shop; where none is named as owned, all that the tables know."""
        every = self.all(Printer)
        return tuple(p for p in every if p.id in self.owned) or every

    def with_owned(self, owned: frozenset[str]) -> Shop:
        return replace(self, owned=owned)

    def with_values(self, values: Mapping[str, Any]) -> Shop:
        """The same shop with other values of some facts (`thing.property`): for asking what if."""
        changed: dict[str, dict[str, Any]] = {}
        for ref, value in values.items():
            thing, _, prop = ref.rpartition(".")
            changed.setdefault(thing, {})[prop] = value

        def with_changes(thing: Thing) -> Thing:
            # things of two classes may share an id
            own = {k: v for k, v in changed.get(thing.id, {}).items() if hasattr(thing, k)}
            return replace(thing, **own) if own else thing

        things = {cls: tuple(map(with_changes, found)) for cls, found in self.things.items()}
        facts = {ref: replace(self.facts[ref], value=value) for ref, value in values.items()}
        return replace(self, things=things, facts={**self.facts, **facts})


@dataclass(frozen=True, eq=False)
class Tables:
    """All rows of the shipped tables and of a build's own, ready to be asked for any day."""

    facts: Mapping[str, tuple[Placed[FactRow], ...]]
    resources: tuple[Placed[Resource], ...]
    prices: tuple[Placed[PriceRow], ...]
    exchange: tuple[Placed[ExchangeRow], ...]
    cautions: tuple[Placed[CautionRow], ...]

    def shop(self, day: dt.date, faults: list[Fault]) -> Shop:
        """The shop as it was known on a day."""
        known: dict[str, dict[str, Fact]] = {}
        things: dict[type[Thing], tuple[Thing, ...]] = {}
        for file, classes in FACT_TABLES.items():
            rows = self.facts[file]
            facts = facts_on(rows, day, classes, faults)
            for kind, cls in classes.items():
                things[cls] = things_of(cls, kind, rows, facts, faults)
            known |= facts
        return Shop(
            day=day,
            things=things,
            facts={fact.ref: fact for properties in known.values() for fact in properties.values()},
            resources=self.resource_map,
            cautions={placed.row.caution: placed.row for placed in self.cautions},
        )

    @property
    def resource_map(self) -> dict[str, Resource]:
        return {placed.row.resource: placed.row for placed in self.resources}

    def price_list(self, day: dt.date, currency: str, faults: list[Fault]) -> PriceList:
        return price_list(self.prices, self.exchange, self.resource_map, day, currency, faults)


def shipped_folder() -> Path:
    """Where the shipped tables are: inside the installed package, or at the top of a checkout."""
    package = Path(__file__).resolve().parents[1]
    inside = package / "price_tables"
    return inside if inside.is_dir() else package.parent / "price_tables"


def read_tables(own: Path | None, faults: list[Fault], shipped: Path | None = None) -> Tables:
    """The shipped tables, overridden row by row by those of the same names in the folder `own`.

    A fact is overridden by class, thing and property; a resource and a caution by id; the prices of a
    resource from its first own row on, so that an example never wins. Faults are added, not raised.
    """
    base = shipped or shipped_folder()

    def both(name: str, table: type[R]) -> tuple[list[Placed[R]], list[Placed[R]]]:
        ours = read_table(base / name, table, faults, f"price_tables/{name}")
        theirs = read_table(own / name, table, faults) if own and (own / name).exists() else []
        return ours, theirs

    def merged(name: str, table: type[R], *key: str) -> tuple[Placed[R], ...]:
        ours, theirs = both(name, table)

        def key_of(placed: Placed[R]) -> tuple[object, ...]:
            return tuple(getattr(placed.row, k) for k in key)

        replaced = {key_of(placed) for placed in theirs}
        return (*(p for p in ours if key_of(p) not in replaced), *theirs)

    def unique(name: str, table: type[R], key: str) -> tuple[Placed[R], ...]:
        ours, theirs = both(name, table)
        theirs = refuse_twins(theirs, (key,), faults)
        replaced = {getattr(p.row, key) for p in theirs}
        kept = [p for p in refuse_twins(ours, (key,), faults) if getattr(p.row, key) not in replaced]
        return (*kept, *theirs)

    return Tables(
        facts={name: merged(name, FactRow, "kind", "thing", "property") for name in FACT_TABLES},
        resources=unique("resources.csv", Resource, "resource"),
        prices=_own_from_their_first_day(*both("prices.csv", PriceRow)),
        exchange=merged("exchange.csv", ExchangeRow, "currency", "in_currency"),
        cautions=unique("cautions.csv", CautionRow, "caution"),
    )


def _own_from_their_first_day(
    shipped: list[Placed[PriceRow]], own: list[Placed[PriceRow]]
) -> tuple[Placed[PriceRow], ...]:
    """The build's own prices, and the shipped ones until the day before a resource's first own price."""
    first: dict[str, dt.date] = {}
    for placed in own:
        row = placed.row
        first[row.resource] = min(row.as_of, first.get(row.resource, row.as_of))
    kept = []
    for placed in shipped:
        row, begins = placed.row, first.get(placed.row.resource)
        if begins is None:
            kept.append(placed)
        elif row.as_of < begins:
            last = begins - dt.timedelta(1)
            kept.append(replace(placed, row=replace(row, expires=min(row.expires or last, last))))
    return (*kept, *own)
