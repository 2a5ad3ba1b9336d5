"""Checks of a function's domain. The text says what was given and what would do."""

from __future__ import annotations

from math import inf


def above_zero(name: str, value: float, unit: str = "") -> None:
    """
    >>> above_zero("wall", -1.2, "mm")
    Traceback (most recent call last):
    ValueError: wall is -1.2 mm; give a finite number above 0 mm
    """
    if not 0.0 < value < inf:
        raise ValueError(_text(name, value, unit, f"give a finite number above 0{_space(unit)}"))


def not_negative(name: str, value: float, unit: str = "") -> None:
    """
    >>> not_negative("gap", 0.0, "mm")
    """
    if not 0.0 <= value < inf:
        raise ValueError(_text(name, value, unit, f"give a finite number of 0{_space(unit)} or more"))


def share(name: str, value: float) -> None:
    """A share of a whole, 0 and 1 included.

    >>> share("resale share", 20)
    Traceback (most recent call last):
    ValueError: resale share is 20; give a share from 0 to 1 (20 percent is 0.2)
    """
    if not 0.0 <= value <= 1.0:
        raise ValueError(_text(name, value, "", "give a share from 0 to 1 (20 percent is 0.2)"))


def percent(name: str, value: float, below: float = 100.0) -> None:
    """From 0 up to, and without, `below`."""
    if not 0.0 <= value < below:
        raise ValueError(_text(name, value, "percent", f"give a percentage from 0 to below {below:g}"))


def _text(name: str, value: float, unit: str, mend: str) -> str:
    return f"{name} is {value:g}{_space(unit)}; {mend}"


def _space(unit: str) -> str:
    return f" {unit}" if unit else ""
