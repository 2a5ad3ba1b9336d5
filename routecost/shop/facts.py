"""One row, one fact: the properties of materials, machines, services and the time standards.

A class of things (a filament, a printer, the standards of printing) declares its properties as columns
of a dataclass; the table has one row for each property with its value, unit, low, high and source.
"""

from __future__ import annotations

import datetime as dt
import difflib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache, lru_cache
from typing import Any, TypeVar

from routecost.core.errors import Fault
from routecost.core.units import UnitError, convert, short_unit
from routecost.shop.schema import Column, column, columns_of
from routecost.shop.table_reader import Placed, read_cell

T = TypeVar("T", bound="Thing")


@dataclass(frozen=True, kw_only=True)
class FactRow:
    """A row of materials.csv, machines.csv, services.csv or standards.csv."""

    kind: str = column("the class of the thing", header="class")
    thing: str = column("the thing's id; a priced resource of the same id belongs to it")
    property: str = column("the property, as declared for the class")
    value: str = column("the likely value")
    unit: str = column("unit of value, low and high; empty for counts, shares and words", default="")
    low: float | None = column("a low value that would not surprise", default=None)
    high: float | None = column("a high value that would not surprise", default=None)
    as_of: dt.date = column("the day from which the row holds")
    source: str = column("where the number comes from, or 'common practice, no source'")


@dataclass(frozen=True)
class Factor:
    """A factor of a quantity: the number, how a formula shows it, and the facts it is proportional to."""

    number: float
    text: str
    facts: tuple[str, ...] = ()
    divides: bool = False


@dataclass(frozen=True, kw_only=True)
class Thing:
    """Base of the classes whose properties are facts."""

    id: str

    def ref(self, *properties: str) -> tuple[str, ...]:
        """Names of facts, for a usage to say what it rests on."""
        cls: Any = type(self)
        return _refs(cls, self.id, properties)

    def rate(self, prop: str, words: str = "") -> Factor:
        """A property as a factor; it divides where quantities move inversely with it (`Column.power`)."""
        cls: Any = type(self)
        return _rate(cls, self.id, prop, getattr(self, prop), words)


@cache  # every usage of every plan names its facts
def _refs(cls: Any, thing: str, properties: tuple[str, ...]) -> tuple[str, ...]:
    unknown = set(properties) - {c.name for c in columns_of(cls)}
    assert not unknown, f"{cls.__name__} has no {unknown}"
    return tuple(f"{thing}.{p}" for p in properties)


@lru_cache(maxsize=4096)  # for the same reason; values vary while a threshold is sought
def _rate(cls: Any, thing: str, prop: str, value: float, words: str) -> Factor:
    (c,) = (c for c in columns_of(cls) if c.name == prop)
    is_share = (c.unit, c.low, c.high) == ("", 0, 1)
    number = f"{100.0 * value:.3g} %" if is_share else f"{value:g}"
    text = " ".join(word for word in (number, short_unit(c.unit), words) if word)
    return Factor(value, text, (f"{thing}.{prop}",), divides=c.power < 0)


@dataclass(frozen=True)
class Fact:
    """What is known of one number or word: in the declared unit, with its spread and source."""

    ref: str
    value: Any
    low: float | None
    high: float | None
    unit: str
    as_of: dt.date
    source: str
    place: str
    meaning: str
    power: int
    """How a quantity that rests on it moves with it; see `Column.power`."""

    @property
    def shown(self) -> str:
        """Value with unit and spread, as a person reads it."""
        unit = f" {self.unit}" if self.unit else ""
        if not isinstance(self.value, float | int) or isinstance(self.value, bool):
            return f"{self.value}{unit}"
        spread = f" ({self.low:g} to {self.high:g})" if None not in (self.low, self.high) else ""
        return f"{self.value:g}{unit}{spread}"


def facts_on(
    rows: Iterable[Placed[FactRow]], day: dt.date, classes: Mapping[str, type[Thing]], faults: list[Fault]
) -> dict[str, dict[str, Fact]]:
    """The newest row not after the day of every property, or its first: {thing id: {property: Fact}}."""
    rows_of: dict[tuple[str, str, str], list[Placed[FactRow]]] = {}
    for placed in rows:
        row = placed.row
        of_key = rows_of.setdefault((row.kind, row.thing, row.property), [])
        twin = next((other for other in of_key if other.row.as_of == row.as_of), None)
        if twin is not None:
            what = f"{row.thing} / {row.property} of {row.as_of} stands already in row {twin.number}"
            faults.append(placed.fault("property", what, "keep one of the two, or date the newer one later"))
        of_key.append(placed)
    found: dict[str, dict[str, Fact]] = {}
    for (_kind, thing, prop), of_key in rows_of.items():
        of_key.sort(key=lambda placed: placed.row.as_of)
        # what was first known later held before, too: a density does not begin on a day
        holds = ([placed for placed in of_key if placed.row.as_of <= day] or of_key[:1])[-1]
        for placed in of_key:
            fact = _fact(placed, classes, faults)
            if placed is holds and fact is not None:
                found.setdefault(thing, {})[prop] = fact
    return found


def _fact(placed: Placed[FactRow], classes: Mapping[str, type[Thing]], faults: list[Fault]) -> Fact | None:
    row = placed.row
    cls = classes.get(row.kind)
    if cls is None:
        close = difflib.get_close_matches(row.kind, classes, 1)
        mend = f"did you mean {close[0]}?" if close else "classes here are " + ", ".join(classes)
        faults.append(placed.fault("class", f"unknown class {row.kind!r}", mend))
        return None
    declared = {c.name: c for c in columns_of(cls)}
    c = declared.get(row.property)
    if c is None:
        close = difflib.get_close_matches(row.property, declared, 1)
        mend = f"did you mean {close[0]}?" if close else f"a {row.kind} has " + ", ".join(declared)
        faults.append(placed.fault("property", f"unknown property {row.property!r}", mend))
        return None
    try:
        return _converted(placed, c)
    except UnitError as error:
        faults.append(placed.fault("value", error.what, error.mend))
        return None


def _converted(placed: Placed[FactRow], c: Column) -> Fact:
    row = placed.row
    value = read_cell(row.value, replace(c, unit="", low=None, high=None, required=True))
    low, high = row.low, row.high
    if c.kind in (float, int):
        if c.unit and not row.unit:
            raise UnitError(f"{row.property} has no unit", f"write {c.unit}, or one that turns into it")
        if row.unit and not c.unit:
            raise UnitError(f"{row.property} takes no unit, but {row.unit!r} is given", "leave it empty")
        if c.unit:
            value = convert(value, row.unit, c.unit)
            low = None if low is None else convert(low, row.unit, c.unit)
            high = None if high is None else convert(high, row.unit, c.unit)
        if (c.low is not None and value < c.low) or (c.high is not None and value > c.high):
            raise UnitError(f"{row.value!r} is out of range", f"write {c.wants}")
        # 1e-9: converting units must not make an equal low look larger
        slack = 1e-9 * abs(value)
        if (low is not None and low > value + slack) or (high is not None and high < value - slack):
            raise UnitError(f"{row.value} is not between low and high", "order them low, value, high")
    return Fact(
        ref=f"{row.thing}.{row.property}",
        value=value,
        low=low,
        high=high,
        unit=c.unit,
        as_of=row.as_of,
        source=row.source,
        place=placed.place,
        meaning=c.meaning,
        power=c.power,
    )


def things_of(
    cls: type[T],
    kind: str,
    rows: Sequence[Placed[FactRow]],
    facts: Mapping[str, Mapping[str, Fact]],
    faults: list[Fault],
) -> tuple[T, ...]:
    """Every thing of a class, in the order of the tables; a missing required property is a fault."""
    made = []
    for thing in dict.fromkeys(p.row.thing for p in rows if p.row.kind == kind):
        known = facts.get(thing, {})
        file = next(p.file for p in rows if p.row.thing == thing)
        values = {name: fact.value for name, fact in known.items()}
        unread = {p.row.property for p in rows if p.row.thing == thing} - values.keys()
        lacking = [c for c in columns_of(cls) if c.required and c.name not in values]
        # a property whose row is at fault has been told already
        missing = [c for c in lacking if c.name not in unread]
        if missing:
            names = ", ".join(c.name for c in missing)
            what = f"property {names} is missing" if len(missing) == 1 else f"properties {names} are missing"
            wants = "; ".join(f"{c.name}: {c.wants} ({c.meaning})" for c in missing[:3])
            faults.append(
                Fault(file, f"{kind} {thing}", what, f"write {wants}" + "; ..." * (len(missing) > 3))
            )
        if not lacking:
            declared = {c.name for c in columns_of(cls)}
            made.append(cls(id=thing, **{k: v for k, v in values.items() if k in declared}))
    return tuple(made)
