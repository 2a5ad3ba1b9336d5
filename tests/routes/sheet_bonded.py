"""A route of a user's own, in one file: boxes of clear sheet, cut to size and bonded with solvent.

Put it into the build's folder, name it under `routes` in build.toml, and declare and price `acrylic-sheet`
(cm^2) and `solvent-cement` (g) in resources.csv and prices.csv beside it.
"""

from __future__ import annotations

from collections.abc import Iterable
from math import sqrt

from routecost.routes.process.operation import Operation, ProcessPlan, Reason, Usage, Verdict, own_time
from routecost.routes.process.part import Part
from routecost.routes.steps.joining import trials
from routecost.routes.steps.running import protection
from routecost.routes.steps.verdicts import haze_reason, heat_reason, present
from routecost.shop.shop import Shop

# own choices; common practice, no source
SHEET_MM = 3.0
OFF_BY_MM = 0.4  # a wall that differs by more is not this sheet
PANELS = 6
WASTE = 0.25  # offcuts and saw cuts, as a share of the panels
CUT_MIN_PER_M = 8.0  # mark, score or saw, scrape the edge
BOND_MIN_PER_M = 12.0  # tape up, check square, run the solvent in
CEMENT_G_PER_M = 2.5
SET_UP_MIN = 20.0
CURE_H = 24.0
HAZE_PERCENT = 1.0
SOFTENS_DEGC = 85.0
DENSITY_G_CM3 = 1.19


class SheetBonded:
    id = "sheet-bonded"
    name = "sheet, cut and bonded"

    def plans(self, part: Part, shop: Shop) -> Iterable[ProcessPlan]:
        if part.shape is None:
            return
        n, cm3 = part.copies, part.shape.solid.volume_mm3 / 1000.0
        panels_cm2 = n * cm3 / (SHEET_MM / 10.0)
        # six like panels: four edges each are cut, and every edge of the box joins two of them
        cut_m = PANELS * 4 * sqrt(panels_cm2 / n / PANELS) / 100.0 * n
        bond_m = cut_m / 2.0
        cut_min = SET_UP_MIN + cut_m * CUT_MIN_PER_M
        bonding = own_time(bond_m * BOND_MIN_PER_M, f"{bond_m:.2f} m x {BOND_MIN_PER_M:g} min")
        cut = Operation(
            "cut the panels",
            (
                own_time(cut_min, f"{SET_UP_MIN:g} min and {cut_m:.2f} m x {CUT_MIN_PER_M:g} min"),
                Usage(
                    "acrylic-sheet", panels_cm2 * (1 + WASTE), f"{panels_cm2:.0f} cm² and {WASTE:.0%} waste"
                ),
                Usage("blade", cut_m / 5.0, f"one for 5 m of {cut_m:.2f} m"),
            ),
            cautions=("blade", "dust"),
        )
        bond = Operation(
            "bond the panels",
            (
                bonding,
                Usage("solvent-cement", bond_m * CEMENT_G_PER_M, f"{bond_m:.2f} m x {CEMENT_G_PER_M:g} g"),
                Usage("tape", bond_m * 100.0, f"{bond_m:.2f} m of edges"),
                *protection(shop, bonding, vapour=True),
            ),
            waiting_min=CURE_H * 60.0,
            cautions=("solvent",),
        )
        yield ProcessPlan(
            route=self.id,
            part=part.id,
            copies=n,
            alternative=f"{SHEET_MM:g} mm sheet",
            operations=(cut, bond, *trials(shop, part)),
            verdict=Verdict(
                present(
                    _wall_reason(part),
                    haze_reason(part.demands, HAZE_PERCENT, "clear sheet", shop),
                    heat_reason(part.demands, SOFTENS_DEGC, "acrylic sheet", shop),
                )
            ),
            mass_g=n * cm3 * DENSITY_G_CM3,
        )


def _wall_reason(part: Part) -> Reason:
    assert part.shape is not None
    wall = part.shape.walls.typical_mm
    if abs(wall - SHEET_MM) > OFF_BY_MM:
        return Reason("ruled out", f"walls of {wall:.1f} mm; the sheet is {SHEET_MM:g} mm")
    return Reason("suits", f"walls of {wall:.1f} mm are those of the sheet")


ROUTE = SheetBonded()
