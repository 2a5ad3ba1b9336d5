"""Pressure pots: which resin needs one for a clear casting, and how many molds go into it."""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot

from routecost.routes.physics.boxes import Block
from routecost.routes.process.operation import Reason
from routecost.routes.process.part import Demands
from routecost.shop.machines import Vessel
from routecost.shop.materials import CastingResin
from routecost.shop.shop import Shop
from routecost.shop.standards import CastingStandards

CLEAR = ("clear", "optical")


@dataclass(frozen=True)
class Pot:
    """Where molds cure under pressure."""

    vessel: Vessel
    per_load: int
    """Molds that go into it together."""


def pot_for(
    box: Block, resin: CastingResin, demands: Demands, shop: Shop
) -> tuple[Pot | None, tuple[Reason, ...]]:
    """A clear casting of a resin that traps bubbles cures under pressure: its mold has to go into a pot."""
    if not (demands.clarity in CLEAR and resin.needs_pressure):
        return None, ()
    s = shop.the(CastingStandards)
    size = f"{box.width_mm:.0f} x {box.depth_mm:.0f} x {box.height_mm:.0f} mm"
    vessels = [v for v in shop.all(Vessel) if v.purpose == "pressure"]
    pots = [Pot(v, n) for v in vessels if (n := molds_in_pot(box, v, s.mold_gap_mm)) > 0]
    if not pots:
        names = ", ".join(
            f"{v.id} ({v.inner_diameter_mm:g} mm wide, {v.inner_height_mm:g} mm high)" for v in vessels
        )
        text = (
            f"{resin.id} is clear only under pressure; a mold of {size} does not go into {names or 'any pot'}"
        )
        return None, (Reason("ruled out", text),)
    pot = min(pots, key=lambda p: p.vessel.id not in shop.owned)
    if pot.vessel.id in shop.owned:
        return pot, (Reason("suits", f"a mold of {size} goes into {pot.vessel.id}"),)
    return pot, (Reason("changes", f"needs a {pot.vessel.id}, which is not in the shop"),)


def molds_in_pot(box: Block, pot: Vessel, gap_mm: float) -> int:
    """Equal molds that stand in a round pot, in rows and on shelves with a gap between; 0 if none fits.

    Rows only: now and then one more would fit.

    >>> pot = Vessel(id="pot", purpose="pressure", inner_diameter_mm=240, inner_height_mm=220, life_cycles=1000,
    ...              cycle_min=6, energy_kwh=0.1)
    >>> molds_in_pot(Block(60, 80, 40, 0), pot, 10), molds_in_pot(Block(150, 190, 100, 0), pot, 10)
    (16, 0)
    """
    if box.height_mm > pot.inner_height_mm:
        return 0
    shelves = int((pot.inner_height_mm + gap_mm) / (box.height_mm + gap_mm))
    widest = int((pot.inner_diameter_mm + gap_mm) / (min(box.width_mm, box.depth_mm) + gap_mm))
    on_one = max(
        (
            a * b
            for a in range(1, widest + 1)
            for b in range(1, widest + 1)
            if hypot(_row_mm(a, box.width_mm, gap_mm), _row_mm(b, box.depth_mm, gap_mm))
            <= pot.inner_diameter_mm
        ),
        default=0,
    )
    return on_one * shelves


def _row_mm(number: int, length_mm: float, gap_mm: float) -> float:
    return number * length_mm + (number - 1) * gap_mm
