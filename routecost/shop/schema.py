"""How a table's columns are declared: a frozen dataclass whose fields say type, unit, need and meaning.

Reading, checking, error texts and the printed documentation all follow from the declaration.
"""

from __future__ import annotations

import dataclasses
import datetime as dt
import types
import typing
from dataclasses import MISSING, dataclass, field
from typing import Any


@dataclass(frozen=True)
class Column:
    """One declared column: `header` in the file, `name` in Python."""

    name: str
    header: str
    kind: type
    """str, float, int, bool or datetime.date; a float with a unit is written as a quantity."""
    unit: str
    required: bool
    default: Any
    meaning: str
    choices: tuple[str, ...]
    low: float | None
    high: float | None
    power: int
    """How a quantity that names it moves with it: 1 in proportion, -1 inversely, 0 in another way."""

    @property
    def wants(self) -> str:
        """What may stand in the column, in words."""
        if self.choices:
            return "one of " + ", ".join(self.choices)
        if self.kind is bool:
            return "yes or no"
        if self.kind is dt.date:
            return "a date such as 2026-03-31"
        if self.kind is str:
            return "text"
        number = "a whole number" if self.kind is int else "a number"
        if self.unit:
            number = f"a quantity such as 1 {self.unit}"
        bounds = {
            (True, True): f" from {self.low:g} to {self.high:g}" if None not in (self.low, self.high) else "",
            (True, False): f", at least {self.low:g}" if self.low is not None else "",
            (False, True): f", at most {self.high:g}" if self.high is not None else "",
            (False, False): "",
        }[self.low is not None, self.high is not None]
        return number + bounds


def column(
    meaning: str,
    *,
    header: str = "",
    unit: str = "",
    choices: tuple[str, ...] = (),
    low: float | None = None,
    high: float | None = None,
    default: Any = MISSING,
    power: int = 1,
) -> Any:
    """Declares a column of a table. Without a default the column is required."""
    extra = {"meaning": meaning, "header": header, "unit": unit, "choices": choices, "low": low, "high": high}
    extra["power"] = power
    return field(default=default, metadata=extra)


def columns_of(table: type) -> tuple[Column, ...]:
    """The declared columns of a table, in order.

    >>> @dataclass(frozen=True)
    ... class Screw:
    ...     size: str = column("thread and length")
    ...     length_mm: float = column("under the head", header="length", unit="mm", low=0)
    >>> [(c.header, c.wants) for c in columns_of(Screw)]
    [('size', 'text'), ('length', 'a quantity such as 1 mm, at least 0')]
    """
    if table in _declared:
        return _declared[table]
    hints = typing.get_type_hints(table)
    found = []
    for f in dataclasses.fields(table):
        if "meaning" not in f.metadata:
            continue
        m = f.metadata
        required = f.default is MISSING
        found.append(
            Column(
                name=f.name,
                header=m["header"] or f.name,
                kind=_plain_type(hints[f.name]),
                unit=m["unit"],
                required=required,
                default=None if required else f.default,
                meaning=m["meaning"],
                choices=m["choices"],
                low=m["low"],
                high=m["high"],
                power=m["power"],
            )
        )
    _declared[table] = tuple(found)
    return _declared[table]


_declared: dict[type, tuple[Column, ...]] = {}
# a declaration never changes, and every draw that names its facts asks for it


def _plain_type(hint: Any) -> type:
    """The type of a hint; `float | None` counts as float."""
    if isinstance(hint, types.UnionType):
        (hint,) = (arm for arm in typing.get_args(hint) if arm is not type(None))
    assert isinstance(hint, type), hint
    return hint
