"""A plan kept in the build's folder with what it rested on, to be looked at again when things have moved."""

from __future__ import annotations

import datetime as dt
import json
from dataclasses import dataclass
from pathlib import Path

from routecost.errors import InputError
from routecost.files import write_for_user
from routecost.parts.kept import plain_of, value_of

NAME = "plan.json"
BEFORE = "plan.before.json"
"""The saved plan before the last one: saving loses nothing at once."""


@dataclass(frozen=True)
class SavedChoice:
    """One part as it was planned."""

    part: str
    route: str
    alternative: str
    chosen: tuple[tuple[str, str], ...]
    copies: int
    mesh: str
    """Content hash; empty for a part that is simply bought."""
    volume_mm3: float


@dataclass(frozen=True)
class SavedPrice:
    """A price that the plan rested on."""

    resource: str
    unit_price: float
    unit: str
    supplier: str
    pack: str
    as_of: str


@dataclass(frozen=True)
class SavedAsk:
    """What was asked for; an empty date is none, limits stand only where they were set."""

    by: str
    hour_worth: float
    limits: tuple[tuple[str, float], ...]
    finish_by: str
    pins: tuple[tuple[str, str], ...]
    without: tuple[str, ...]
    as_designed: bool

    def limit(self, name: str) -> float | None:
        return dict(self.limits).get(name)


@dataclass(frozen=True)
class SavedPlan:
    """Everything that a later look needs."""

    format: int
    day: str
    """Whose prices held, ISO 8601; so the other days."""
    start: str
    currency: str
    asked: SavedAsk
    value: float
    outlay: float
    full: float
    own_hours: float
    finish: str
    choices: tuple[SavedChoice, ...]
    prices: tuple[SavedPrice, ...]
    facts: tuple[tuple[str, float], ...]
    """`thing.property` of numbers that the chosen plans rest on."""
    stock: tuple[tuple[str, float], ...]

    @property
    def saved_on(self) -> dt.date:
        return dt.date.fromisoformat(self.day)


FORMAT = 1


def write_saved(folder: Path, plan: SavedPlan) -> Path:
    """Write it whole; another one that was there is kept beside it. Raises InputError."""
    path = folder / NAME
    text = json.dumps(plain_of(plan), indent=1) + "\n"
    if path.is_file() and (old := path.read_bytes()) != text.encode():
        write_for_user(folder / BEFORE, old)
    write_for_user(path, text)
    return path


def read_saved(folder: Path) -> SavedPlan:
    """The saved plan of a build. Raises InputError where there is none or it is damaged."""
    path = folder / NAME
    mend = f"make one with `routecost plan {folder}`"
    try:
        text = path.read_text(encoding="utf-8")
    except FileNotFoundError:
        raise InputError.of(str(path), "", "there is no saved plan yet", mend) from None
    except (OSError, UnicodeDecodeError) as error:
        raise InputError.of(str(path), "", f"cannot be read ({error})", mend) from None
    try:
        found: SavedPlan = value_of(SavedPlan, json.loads(text))
        dates = (found.day, found.start, *((found.asked.finish_by,) if found.asked.finish_by else ()))
        for day in dates:
            dt.date.fromisoformat(day)
        if found.format != FORMAT:
            raise ValueError
    except (ValueError, TypeError, KeyError):
        raise InputError.of(str(path), "", "is damaged, or of another version", mend) from None
    return found
