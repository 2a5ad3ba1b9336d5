"""A plan saved in the build's folder with the prices, facts and meshes it is based on, to be revisited later."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Container
from dataclasses import dataclass
from pathlib import Path

from routecost.core.cache.codec import plain_of, value_of
from routecost.core.errors import InputError
from routecost.core.files import write_for_user
from routecost.planning.choosing.plan_request import PlanRequest

NAME = "plan.json"
FIGURES = ("hour_worth", "budget", "own_hours", "printer_hours")
BEFORE = "plan.before.json"
"""The previous saved plan."""


@dataclass(frozen=True)
class SavedChoice:
    """The chosen option of one part."""

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
    """An offer that the plan buys from."""

    resource: str
    supplier: str
    pack: str
    """As the offer names it."""
    pack_quantity: float
    """In the resource's unit."""
    pack_price: float
    """What is paid for it, in the plan's currency."""
    packs: int
    """0 for what is paid as used."""
    unit: str
    as_of: str


@dataclass(frozen=True)
class SavedRequest:
    """The request; `figures` holds those that were set, an empty date is none."""

    by: str
    figures: tuple[tuple[str, float], ...]
    finish_by: str
    pins: tuple[tuple[str, str], ...]
    without: tuple[str, ...]
    as_designed: bool
    copies: int
    """Of each part; 0: those of the parts table."""

    @classmethod
    def of(cls, request: PlanRequest) -> SavedRequest:
        figures = {name: getattr(request, name) for name in FIGURES}
        return cls(
            by=request.by,
            figures=tuple((name, float(value)) for name, value in figures.items() if value is not None),
            finish_by=request.finish_by.isoformat() if request.finish_by else "",
            pins=tuple(request.pins.items()),
            without=tuple(request.without),
            as_designed=request.as_designed,
            copies=request.copies or 0,
        )

    def to_request(self, parts: Container[str]) -> PlanRequest:
        """The request again, limited to parts that still exist.

        >>> SavedRequest.of(PlanRequest(budget=50.0, without=("lid",))).to_request({"foot"})
        PlanRequest(by='full', hour_worth=None, budget=50.0, own_hours=None, printer_hours=None, finish_by=None,
        pins={}, without=(), as_designed=False, copies=None)
        """
        return PlanRequest(
            by=self.by,
            finish_by=dt.date.fromisoformat(self.finish_by) if self.finish_by else None,
            pins={part: route for part, route in self.pins if part in parts},
            without=tuple(part for part in self.without if part in parts),
            as_designed=self.as_designed,
            copies=self.copies or None,
            **{name: value for name, value in self.figures if name in FIGURES},
        )


@dataclass(frozen=True)
class SavedPlan:
    """Everything needed to revisit a plan."""

    format: int
    day: str
    """Whose prices held, ISO 8601; so the other days."""
    start: str
    currency: str
    request: SavedRequest
    value: float
    outlay: float
    full: float
    own_hours: float
    finish: str
    choices: tuple[SavedChoice, ...]
    prices: tuple[SavedPrice, ...]
    facts: tuple[tuple[str, float], ...]
    """Values by `thing.property` that the chosen plans are based on."""
    stock: tuple[tuple[str, float], ...]

    @property
    def saved_on(self) -> dt.date:
        return dt.date.fromisoformat(self.day)


FORMAT = 2


def write_saved(folder: Path, plan: SavedPlan) -> Path:
    """Write the file, and keep a different previous one beside it. Raises InputError."""
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
        dates = (found.day, found.start, *((found.request.finish_by,) if found.request.finish_by else ()))
        for day in dates:
            dt.date.fromisoformat(day)
        if found.format != FORMAT:
            raise ValueError
    except (ValueError, TypeError, KeyError):
        raise InputError.of(str(path), "", "is damaged, or of another version", mend) from None
    return found


def saved_or_none(folder: Path) -> SavedPlan | None:
    """The saved plan, or None where none can be read."""
    try:
        return read_saved(folder)
    except InputError:
        return None
