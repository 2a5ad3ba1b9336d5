"""Quantities with units, at the doors only: inside, plain floats in the unit that the name states.

Factors come from pint's registry (NIST SP 811 values). Counted things use `each`. A density bridges
volume and mass, here and nowhere else.
"""

from __future__ import annotations

import re
from functools import cache, lru_cache
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import pint

_NUMBER_AND_UNIT = re.compile(
    r"^\s*([+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][+-]?\d+)?)\s*(.*?)\s*$",
)
# spellings that shops print on packs and the registry does not know
_SPELLINGS = {
    "fl oz": "fluid_ounce",
    "fl. oz": "fluid_ounce",
    "fl. oz.": "fluid_ounce",
    "floz": "fluid_ounce",
    "gal": "gallon",
    "lbs": "pound",
    "pcs": "each",
    "pc": "each",
    "pieces": "each",
    "pair": "each",
    "pairs": "each",
    "sheets": "each",
    "sheet": "each",
    "ea": "each",
    "°c": "degC",
    "c": "degC",
    "°f": "degF",
    "%": "percent",
    "hours": "hour",
    "min": "minute",
    "d": "day",
    "cm2": "cm**2",
    "cm3": "cm**3",
    "mm2": "mm**2",
    "mm3": "mm**3",
    "m2": "m**2",
    "m3": "m**3",
    "cm²": "cm**2",
    "mm²": "mm**2",
    "m²": "m**2",
    "cm³": "cm**3",
    "mm³": "mm**3",
    "in2": "inch**2",
    "in3": "inch**3",
}
_WORDS = {"um": "micrometer", "min": "minute"}
"""Short words that the tables write in rates, such as g/min, for what columns spell out."""

_FACTORS = {
    "g": {"kg": 1000.0, "mg": 0.001, "lb": 453.5923700000001, "pound": 453.5923700000001,
          "oz": 28.349523125000005},
    "ml": {"ml": 1.0, "L": 1000.0, "cm**3": 1.0000000000000002, "fluid_ounce": 29.573529562499992,
           "gallon": 3785.411783999999},
    "mm": {"micrometer": 0.001, "cm": 10.0, "m": 1000.0, "in": 25.4, "inch": 25.4, "ft": 304.79999999999995},
    "cm": {"mm": 0.1, "m": 100.0},
    "cm**2": {"m**2": 10000.0},
    "hour": {"minute": 0.016666666666666666, "day": 24.0},
}  # fmt: skip
"""{unit wanted: {unit: factor}}: the commonest, so that tables that know no others do without the registry,
which takes a third of a second to make. Its own numbers, to the last digit: a test compares them."""


class UnitError(ValueError):
    """The text is no quantity, or its unit does not fit; `mend` says what to write instead."""

    def __init__(self, what: str, mend: str) -> None:
        super().__init__(f"{what}; {mend}")
        self.what, self.mend = what, mend


@cache
def registry() -> pint.UnitRegistry[Any]:
    """The one registry of the program; importing pint is slow, so it is made when first needed."""
    import pint

    made: pint.UnitRegistry[Any] = pint.UnitRegistry(cache_folder=None)
    made.define("each = [count] = ea")
    return made


def split_quantity(text: str) -> tuple[float, str]:
    """Magnitude and unit text of a written quantity; sums of packs of a kit are added.

    >>> split_quantity("2 lb")
    (2.0, 'lb')
    >>> split_quantity("16 fl oz + 16 fl oz")
    (32.0, 'fl oz')
    """
    pieces = text.split("+") if "e+" not in text.lower() else [text]
    total, unit = 0.0, ""
    for i, piece in enumerate(pieces):
        match = _NUMBER_AND_UNIT.match(piece)
        if match is None or (len(pieces) > 1 and not match[2]):
            raise UnitError(f"{text!r} is not a quantity", "write a number and a unit, such as 1 kg")
        value, this_unit = float(match[1].replace(",", ".")), match[2]
        if i == 0:
            total, unit = value, this_unit
        else:
            total += value if this_unit == unit else convert(value, this_unit, unit)
    return total, unit


@lru_cache(maxsize=4096)
def unit_name(unit: str) -> str:
    """The registry's spelling of a unit text.

    >>> unit_name("fl oz"), unit_name("min/cm^2")
    ('fluid_ounce', 'minute/cm**2')
    """
    plain = " ".join(unit.split())
    if plain.lower() in _SPELLINGS:
        return _SPELLINGS[plain.lower()]
    words = re.sub(r"[^\W\d_]+", lambda word: _WORDS.get(word[0], word[0]), plain)
    return words.replace("^", "**").replace("²", "**2").replace("³", "**3")


@lru_cache(maxsize=4096)
def factor(unit: str, to: str) -> float:
    """How many `to` are in one `unit`, for units without an offset.

    >>> round(factor("gal", "L"), 9)
    3.785411784
    >>> factor("in", "mm")
    25.4
    """
    if unit_name(unit) == unit_name(to):
        return 1.0
    return convert(1.0, unit, to)


def convert(value: float, unit: str, to: str, density_g_ml: float | None = None) -> float:
    """A value in another unit; with a density, volume and mass turn into each other.

    Source of the factors: NIST SP 811 appendix B, as pint carries them.

    >>> round(convert(2, "lb", "g"), 5)
    907.18474
    >>> round(convert(32, "fl oz", "g", density_g_ml=1.1), 3)
    1040.988
    """
    here, there = unit_name(unit), unit_name(to)
    if here == there:
        return value
    if not here:
        raise UnitError("the unit is missing", f"write one that turns into {to}")
    if here in _FACTORS.get(there, {}):
        return value * _FACTORS[there][here]
    if there == "g" and density_g_ml is not None and here in _FACTORS["ml"]:
        return value * density_g_ml * _FACTORS["ml"][here]
    return _by_registry(value, unit, to, density_g_ml)


@lru_cache(maxsize=4096)
def _by_registry(value: float, unit: str, to: str, density_g_ml: float | None) -> float:
    import pint

    here, there = unit_name(unit), unit_name(to)
    try:
        quantity = registry().Quantity(value, here)
        target = registry().Unit(there)
        if quantity.check(target):
            return float(quantity.to(target).magnitude)
        if density_g_ml is not None:
            density = registry().Quantity(density_g_ml, "g/mL")
            if quantity.check("[volume]") and registry().Quantity(1, target).check("[mass]"):
                return float((quantity * density).to(target).magnitude)
            if quantity.check("[mass]") and registry().Quantity(1, target).check("[volume]"):
                return float((quantity / density).to(target).magnitude)
    except (pint.errors.PintError, AttributeError, TypeError, ValueError, AssertionError):
        raise UnitError(f"{unit!r} is not a known unit", f"write one that turns into {to}") from None
    bridge = " (volume and mass need a density)" if {"[length] ** 3", "[mass]"} & {
        str(quantity.dimensionality), str(registry().Quantity(1, target).dimensionality)
    } else ""  # fmt: skip
    raise UnitError(f"{unit!r} does not turn into {to!r}{bridge}", f"write a unit that turns into {to}")


def read_quantity(text: str, to: str, density_g_ml: float | None = None) -> float:
    """A written quantity as a number in the unit `to`.

    >>> read_quantity("1.5 in", "mm")
    38.099...
    >>> read_quantity("12", "mm")
    Traceback (most recent call last):
    routecost.core.units.UnitError: '12' has no unit; write it as 12 mm
    """
    value, unit = split_quantity(text)
    if not unit:
        raise UnitError(f"{text.strip()!r} has no unit", f"write it as {text.strip()} {to}")
    return convert(value, unit, to, density_g_ml)


def short_unit(unit: str) -> str:
    """A declared unit as formulas write it.

    >>> short_unit("minute/cm**2"), short_unit("hour")
    ('min/cm²', 'h')
    """
    short = {"minute": "min", "hour": "h", "micrometer": "µm", "**2": "²", "**3": "³"}
    for long, written in short.items():
        unit = unit.replace(long, written)
    return unit
