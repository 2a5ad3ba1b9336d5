"""Meshes whose size suggests that their numbers are in another unit than the one they were read in."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from statistics import median

SMALL_MM = 12.0
"""A part that is smaller is asked about: hardly anything that small is made by hand, while an inch file of a part
between 38 and 300 mm read as mm is just that size (1.5 to 12 mm)."""
ODD_FACTOR = 8.0
"""A part so many times smaller or larger than the median of the others is asked about, if another unit brings it
within this range. Below the 10 between mm and cm, so that the smallest mistake of a unit is seen."""
LARGE_FACTOR = 3.0
"""A part that is so many times longer than the largest printer is asked about where another unit explains it: cut
into pieces it would need dozens of prints."""
LARGE_MM = 2000.0
"""A longer part is asked about even where no other unit explains it: it does not go through a workshop's door."""
PLAUSIBLE_MM = (20.0, 400.0)
"""Largest side of a usual part, where there are no others to compare with: what the hand holds and a desktop
printer makes in one or two pieces."""

_MM = {"mm": 1.0, "cm": 10.0, "in": 25.4, "m": 1000.0}
_NAMES = {"mm": "millimeters", "cm": "centimeters", "in": "inches", "m": "meters"}
_COMMON = ("in", "m", "mm", "cm")
"""The likelier ones first, where several fit: inches from CAD, meters from 3D graphics, mm, and cm last."""
COMMONER_FACTOR = 3.0
"""A size that is up to so many times farther from the middle of the range is no evidence against the likelier unit:
inches and cm differ by 2.54."""


@dataclass(frozen=True)
class PartSize:
    """A part's extents as read."""

    part: str
    extents_mm: tuple[float, float, float]
    unit: str
    """That its numbers were read in."""
    is_stated: bool
    """By the file or by the parts table: then nobody is asked. That a format has one unit states nothing: GLB
    files in mm are common, though its standard says meters."""

    @property
    def largest_mm(self) -> float:
        return max(self.extents_mm)


def size_warnings(sizes: Sequence[PartSize], printer_mm: float | None) -> Mapping[str, str]:
    """A warning that names the likely unit, by part; only for parts whose unit is not stated.

    `printer_mm` is the longest side of any printer's build volume, None where that is not known. A part is compared
    with the median of the others; where the unit of some is stated, with these alone, for they are sure. A part that
    is only odd, not tiny and not huge, is asked about where another unit explains its size.
    """
    found = {}
    for size in sizes:
        if size.is_stated or size.unit not in _MM or size.largest_mm <= 0.0:
            continue
        others = [s for s in sizes if s.part != size.part]
        others = [s for s in others if s.is_stated] or others
        usual = median(s.largest_mm for s in others) if others else None
        reason, unit = _reason(size.largest_mm, usual, printer_mm), _likely(size, usual)
        if reason and (unit or not SMALL_MM <= size.largest_mm <= LARGE_MM):
            found[size.part] = _text(size, reason, unit)
    return found


def extents_text(extents_mm: Sequence[float]) -> str:
    """
    >>> extents_text((120.0, 80.04, 6.0)), extents_text((0.0254, 4.25, 1234.5))
    ('120 x 80 x 6 mm', '0.0254 x 4.25 x 1234 mm')
    """
    return " x ".join(_figure(x) for x in extents_mm) + " mm"


def _figure(x: float) -> str:
    return f"{x:.0f}" if x >= 1000.0 else f"{x:.3g}"


def _reason(largest: float, usual: float | None, printer_mm: float | None) -> str:
    """Why a size is odd; empty where it is not."""
    if printer_mm is not None and largest > LARGE_FACTOR * printer_mm:
        return f"more than {LARGE_FACTOR:g} times the longest side of any printer, {printer_mm:g} mm"
    if largest > LARGE_MM:
        return f"more than {LARGE_MM:g} mm"
    if usual is not None and not usual / ODD_FACTOR <= largest <= usual * ODD_FACTOR:
        times = max(usual / largest, largest / usual)
        return f"{times:.3g} times {'smaller' if largest < usual else 'larger'} than the other parts (median)"
    return f"smaller than {SMALL_MM:g} mm" if largest < SMALL_MM else ""


def _likely(size: PartSize, usual: float | None) -> str:
    """The unit that makes the size a usual one; empty where none does."""
    in_file = size.largest_mm / _MM[size.unit]
    low, high = PLAUSIBLE_MM
    if usual is not None and low <= usual <= high:
        low, high = max(SMALL_MM, usual / ODD_FACTOR), usual * ODD_FACTOR
    fits = [unit for unit in _COMMON if unit != size.unit and low <= in_file * _MM[unit] <= high]

    def distance(unit: str) -> float:
        """From the middle of the range, as a logarithm."""
        return abs(math.log(in_file * _MM[unit] / math.sqrt(low * high)))

    nearest = min(map(distance, fits), default=0.0)
    return next((unit for unit in fits if distance(unit) <= nearest + math.log(COMMONER_FACTOR)), "")


def _text(size: PartSize, reason: str, unit: str) -> str:
    text = f"{extents_text(size.extents_mm)}, read in {size.unit} because the file states no unit: {reason}"
    if not unit:
        return f"{text}; check the unit, and write it into the column unit of the parts table"
    there = extents_text([x / _MM[size.unit] * _MM[unit] for x in size.extents_mm])
    return (
        f"{text}. In {_NAMES[unit]} it is {there}. If so, write {unit} into the column unit of the parts table, or "
        f'unit = "{unit}" into build.toml if that holds for all; if not, write {size.unit} into the column'
    )
