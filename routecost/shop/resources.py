"""What can be drawn and priced: each resource's unit and kind are declared once."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from routecost.shop.schema import column

Kind = Literal["material", "consumable", "energy", "service", "bought", "tool", "upkeep", "own-time"]
KINDS = ("material", "consumable", "energy", "service", "bought", "tool", "upkeep")


@dataclass(frozen=True)
class Resource:
    """A row of resources.csv."""

    resource: str = column("its id")
    description: str = column("what it is, in a few words")
    unit: str = column(
        "the unit in which it is drawn", choices=("g", "ml", "each", "cm^2", "cm^3", "cm", "hour", "kWh")
    )
    kind: str = column("which part of the bill it belongs to; a tool is drawn by its wear", choices=KINDS)
    density_g_ml: float | None = column(
        "density, where packs may be sold by volume or by mass",
        header="density",
        unit="g/mL",
        low=0.05,
        high=25,
        default=None,
    )
    shelf_life_days: float | None = column(
        "how long an opened pack keeps", header="shelf_life", unit="day", low=1, default=None
    )
    source: str = column("where density and shelf life come from", default="")


@dataclass(frozen=True)
class CautionRow:
    """A row of cautions.csv: what to mind at an operation that can hurt someone."""

    caution: str = column("its id, named by operations")
    topic: str = column("what it is about, in a few words")
    text: str = column("the caution, short")
    source: str = column("where it comes from")
