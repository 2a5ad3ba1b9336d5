"""Plans as JSON text and back. Alternatives are made of the same few steps, so each step stands in it once.

    {"Draw": {"resource": [...], "quantity": [...], ...}, "Reason": ..., "ProcessPlan": ..., "order": [...]}

Every kind is a table with a column for each field; where a field is made of another kind, row numbers stand in it.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from dataclasses import fields
from functools import cache
from types import NoneType
from typing import Any, Literal, NamedTuple, get_args, get_origin, get_type_hints

from routecost.routes.process.operation import Operation, ProcessPlan, Reason, Usage, Verdict

_KINDS: tuple[Any, ...] = (Usage, Reason, Operation, Verdict, ProcessPlan)
"""Each is made of those before it."""


def text_of(plans: Sequence[ProcessPlan]) -> str:
    """The plans as text; numbers come back bit for bit."""
    tables: dict[Any, list[list[Any]]] = {kind: [[] for _ in _codes(kind)] for kind in _KINDS}
    number_of: dict[int, int] = {}  # by identity: most steps are shared already
    alike: dict[tuple[Any, str], int] = {}

    def number(value: Any) -> int:
        if id(value) not in number_of:
            kind: Any = type(value)
            row = [code.write(getattr(value, name), number) for name, code in _codes(kind).items()]
            # alike is what is written alike: 1 equals 1.0, and 0.0 equals -0.0
            number_of[id(value)] = alike.setdefault((kind, repr(row)), len(tables[kind][0]))
            if number_of[id(value)] == len(tables[kind][0]):
                for column, cell in zip(tables[kind], row, strict=True):
                    column.append(cell)
        return number_of[id(value)]

    order = [number(plan) for plan in plans]
    found = {kind.__name__: dict(zip(_codes(kind), tables[kind], strict=True)) for kind in _KINDS}
    return json.dumps({**found, "order": order}, default=lambda scalar: scalar.item(), separators=(",", ":"))


def plans_of_text(text: str) -> list[ProcessPlan]:
    """The plans again; what they share is one object. ValueError, TypeError, LookupError or AttributeError
    where the text is none of `text_of`."""
    found, made = json.loads(text), dict[Any, list[Any]]()
    for kind in _KINDS:
        table = found[kind.__name__]
        columns = [code.read(table[name], made) for name, code in _codes(kind).items()]
        made[kind] = [kind(*row) for row in zip(*columns, strict=True)]
    return [made[ProcessPlan][i] for i in found["order"]]


class _Code(NamedTuple):
    """How a field is written and read."""

    write: Callable[[Any, Callable[[Any], int]], Any]
    """The cell of a value, given what numbers rows."""
    read: Callable[[list[Any], dict[Any, list[Any]]], list[Any]]
    """The values of a column, given the rows that are made already."""


@cache
def _codes(kind: Any) -> dict[str, _Code]:
    hints = get_type_hints(kind)
    return {f.name: _code(hints[f.name]) for f in fields(kind)}


def _code(hint: Any) -> _Code:
    of = next(iter(get_args(hint)), None)
    if hint in (str, int, float, bool, dict[str, str]) or get_origin(hint) is Literal:
        return _Code(lambda value, number: value, lambda column, made: column)
    if hint == tuple[str, ...]:
        return _Code(lambda value, number: value, lambda column, made: [tuple(cell) for cell in column])
    if hint == frozenset[str]:
        return _Code(lambda value, number: sorted(value), lambda column, made: [frozenset(c) for c in column])
    if hint in _KINDS:
        return _Code(
            lambda value, number: number(value), lambda column, made: [made[hint][i] for i in column]
        )
    if of in _KINDS and get_args(hint)[1:] == (NoneType,):
        return _Code(
            lambda value, number: None if value is None else number(value),
            lambda column, made: [None if i is None else made[of][i] for i in column],
        )
    if of in _KINDS and get_origin(hint) is tuple and get_args(hint)[1:] == (Ellipsis,):
        return _Code(
            lambda value, number: [number(item) for item in value],
            lambda column, made: [tuple([made[of][i] for i in cell]) for cell in column],
        )
    raise TypeError(f"a field of type {hint} cannot be kept")
