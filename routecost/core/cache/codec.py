"""Values as plain JSON and back: numbers, text, tuples and dataclasses of these, nested at will."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from functools import cache
from typing import Any, get_args, get_origin, get_type_hints


def plain_of(value: Any) -> Any:
    """A value as lists, objects and scalars that JSON can hold without loss.

    >>> plain_of((1.5, (True, 2)))
    [1.5, [True, 2]]
    """
    if is_dataclass(value) and not isinstance(value, type):
        return {f.name: plain_of(getattr(value, f.name)) for f in fields(value)}
    if isinstance(value, tuple | list):
        return [plain_of(item) for item in value]
    if value is None or isinstance(value, str | bool):
        return value
    if hasattr(value, "item"):  # a numpy scalar
        value = value.item()
    if isinstance(value, bool | int):
        return value
    if isinstance(value, float):
        return float(value)
    raise TypeError(
        f"{type(value).__name__} cannot be stored; use numbers, text, tuples and dataclasses of these"
    )


def value_of(kind: Any, plain: Any) -> Any:
    """The typed value again; TypeError or ValueError where `plain` is not of that kind.

    >>> value_of(tuple[float, ...], [1, 2.5])
    (1.0, 2.5)
    """
    if isinstance(kind, type) and is_dataclass(kind):
        hints = _hints(kind)
        if not isinstance(plain, dict) or plain.keys() != hints.keys():
            raise TypeError(f"not the fields of {kind}")
        return kind(**{name: value_of(hint, plain[name]) for name, hint in hints.items()})
    if get_origin(kind) is tuple:
        if not isinstance(plain, list):
            raise TypeError(f"{plain!r} is no tuple")
        items = get_args(kind)
        if len(items) == 2 and items[1] is Ellipsis:
            return tuple(value_of(items[0], item) for item in plain)
        return tuple(value_of(item_kind, item) for item_kind, item in zip(items, plain, strict=True))
    if kind is float and isinstance(plain, int | float) and not isinstance(plain, bool):
        return float(plain)
    if kind in (int, bool, str) and type(plain) is kind:
        return plain
    raise TypeError(f"{plain!r} is not {kind}")


def plain_params(value: Any) -> Any:
    """Parameters of a question, so that equal ones read the same: 20 as 20.0, -0.0 as 0.0, numpy scalars as
    numbers, arrays as lists.

    >>> plain_params({"up": (0, -0.0, 1)})
    {'up': [0.0, 0.0, 1.0]}
    """
    if isinstance(value, Mapping):
        return {str(key): plain_params(item) for key, item in value.items()}
    if hasattr(value, "tolist"):
        value = value.tolist()
    if isinstance(value, tuple | list):
        return [plain_params(item) for item in value]
    if isinstance(value, int | float) and not isinstance(value, bool):
        return float(value) + 0.0
    return plain_of(value)


@cache
def _hints(kind: type) -> dict[str, Any]:
    hints = get_type_hints(kind)
    return {f.name: hints[f.name] for f in fields(kind)}
