"""A line of the bill as the routes see it: what is wanted, how many, and the shape to ask for numbers."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, field
from typing import Literal

from routecost.core.arrays import Vector
from routecost.mesh.measuring.shape import Shape

Clarity = Literal["any", "translucent", "clear", "optical"]
FinishGrade = Literal["as-made", "smooth", "polished"]


@dataclass(frozen=True)
class Demands:
    """What the part must be able to do."""

    clarity: Clarity = "any"
    finish: FinishGrade = "as-made"
    finish_share: float = 1.0
    """Share of the surface that the finish and the clarity are asked of."""
    load_n: float = 0.0
    load_direction: Vector = (0.0, 0.0, 1.0)
    """In the part's own frame."""
    holds_liquid: bool = False
    service_degc: float = 25.0
    tolerance_mm: float | None = None
    largest_seam_mm: float | None = None
    """None: seams do not matter; 0: the part may not be split."""
    opaque: bool = False
    needed_by: dt.date | None = None


@dataclass(frozen=True)
class Quote:
    """A supplier's written price for one part exists; the price itself is in the price log."""

    supplier: str
    service: str
    """The sla-service whose resin and finish it refers to; empty for a supplier in no table."""
    finish: str
    copies: int
    resource: str
    """Priced resource: one unit is one copy."""
    lead_days: float | None = None


@dataclass(frozen=True, eq=False)
class Part:
    """One line of the bill of materials."""

    id: str
    description: str
    copies: int
    demands: Demands = field(default_factory=Demands)
    shape: Shape | None = None
    """None for lines that are simply bought."""
    buy: str = ""
    """Resource to buy instead of making, one each a copy."""
    routes: tuple[str, ...] = ()
    """Route ids allowed; empty: all."""
    up: Vector | None = None
    """A pose that the user fixed."""
    quotes: tuple[Quote, ...] = ()
    done: int = 0
    """Copies that need no more work: costs are stated for all copies, only the rest is planned."""
