"""Boxes around parts: silicone of a mold block or skin, and whether a mold goes into a pot."""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot

from routecost.routes.physics.domain import above_zero, not_negative


@dataclass(frozen=True)
class Block:
    """The inside of a mold box, and the silicone that fills it around the part."""

    width_mm: float
    depth_mm: float
    height_mm: float
    silicone_mm3: float

    @property
    def wall_area_mm2(self) -> float:
        """Inside of the four walls and the floor: board for the box."""
        walls = 2.0 * (self.width_mm + self.depth_mm) * self.height_mm
        return walls + self.width_mm * self.depth_mm


def block(
    part_volume_mm3: float,
    width_mm: float,
    depth_mm: float,
    height_mm: float,
    side_margin_mm: float,
    below_mm: float,
    above_mm: float,
) -> Block:
    """The mold block around a part: its box with margins, less the part. Keys and mix loss come on top.

    Width, depth, height: the part's box as it lies in the mold. An open mold with the flat face up has
    `above_mm` 0.

    >>> block(20_000, 40, 30, 20.0, 12, 10, 10)
    Block(width_mm=64.0, depth_mm=54.0, height_mm=40.0, silicone_mm3=118240.0)
    """
    above_zero("width", width_mm, "mm")
    above_zero("depth", depth_mm, "mm")
    above_zero("height", height_mm, "mm")
    above_zero("volume of the part", part_volume_mm3, "mm³")
    for name, margin in (("side", side_margin_mm), ("lower", below_mm), ("upper", above_mm)):
        not_negative(f"{name} margin", margin, "mm")
    box = width_mm * depth_mm * height_mm
    if part_volume_mm3 > box * (1.0 + 1e-6):  # measured values may differ in the last digits
        raise ValueError(
            f"a part of {part_volume_mm3:g} mm³ is larger than its box of {box:g} mm³; "
            "give volume and box of the same part in mm"
        )
    w, d, h = (
        width_mm + 2.0 * side_margin_mm,
        depth_mm + 2.0 * side_margin_mm,
        height_mm + below_mm + above_mm,
    )
    return Block(w, d, h, max(0.0, w * d * h - part_volume_mm3))


def brushed_skin_mm3(area_mm2: float, thickness_mm: float) -> float:
    """Silicone of a brushed skin: area × thickness. Right while the skin is thin against the part's curves.

    >>> brushed_skin_mm3(10_000, 9)
    90000.0
    """
    not_negative("area", area_mm2, "mm²")
    above_zero("thickness of the skin", thickness_mm, "mm")
    return float(area_mm2 * thickness_mm)


def fits_pot(
    width_mm: float, depth_mm: float, height_mm: float, pot_diameter_mm: float, pot_height_mm: float
) -> bool:
    """Whether an upright box goes into an upright cylinder: diagonal within diameter, height within height.

    >>> fits_pot(60, 80, 100, 100, 120), fits_pot(60, 81, 100, 100, 120)
    (True, False)
    """
    for name, value in (("width", width_mm), ("depth", depth_mm), ("height", height_mm)):
        above_zero(name, value, "mm")
    above_zero("diameter of the pot", pot_diameter_mm, "mm")
    above_zero("height of the pot", pot_height_mm, "mm")
    return hypot(width_mm, depth_mm) <= pot_diameter_mm and height_mm <= pot_height_mm
