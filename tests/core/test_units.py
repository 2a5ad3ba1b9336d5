"""Units through the one door, against NIST SP 811 appendix B and Handbook 44 appendix C."""

from __future__ import annotations

import subprocess
import sys

import pytest
from hypothesis import given
from hypothesis import strategies as st

from routecost.core.units import (
    _FACTORS,
    UnitError,
    _by_registry,
    convert,
    read_quantity,
    split_quantity,
    unit_name,
)

# read: gallon, pound, ounce, kWh; from memory: inch; derived: the others
NIST = [
    ("1 in", "mm", 25.4),
    ("1 gal", "L", 3.785411784),
    ("1 fl oz", "mL", 29.5735295625),
    ("1 lb", "g", 453.59237),
    ("1 oz", "g", 28.349523125),
    ("1 ft^3", "L", 28.316846592),
    ("1 psi", "Pa", 6894.757293),
    ("1 kWh", "MJ", 3.6),
]


@pytest.mark.parametrize(("text", "unit", "value"), NIST)
def test_factors_of_nist(text: str, unit: str, value: float) -> None:
    assert read_quantity(text, unit) == pytest.approx(value, rel=1e-9)


def test_a_fluid_ounce_is_no_ounce() -> None:
    """32 fl oz of resin at 1.1 g/mL: 1040.99 g (derived), not 907 g."""
    assert read_quantity("32 fl oz", "g", density_g_ml=1.1) == pytest.approx(32 * 29.5735295625 * 1.1)
    assert read_quantity("16 fl oz + 16 fl oz", "g", density_g_ml=1.1) == pytest.approx(
        32 * 29.5735295625 * 1.1
    )
    assert read_quantity("32 oz", "g") == pytest.approx(907.18474)


def test_seven_gallons_of_water_weigh_close_to_sixty_pounds() -> None:
    """Close to 60 lb: common practice, no source. Derived with water at 20 °C, 998.207 kg/m³ (Tanaka et al.,
    Metrologia 38 (2001) 301, from memory): 7 x 3.785411784 x 0.998207 / 0.45359237 = 58.313 lb."""
    pounds = read_quantity("7 gal", "lb", density_g_ml=0.998207)
    assert pounds == pytest.approx(58.313, abs=0.001)
    assert pounds == pytest.approx(60, rel=0.03)


def test_an_inch_model_read_as_millimetres() -> None:
    assert convert(1.0, "in^3", "mm^3") == pytest.approx(16_387.064)
    assert convert(1.0, "in^2", "mm^2") == pytest.approx(645.16)


@given(st.floats(1e-3, 1e6), st.sampled_from(["g", "kg", "lb", "oz"]), st.floats(0.1, 20))
def test_mass_to_volume_and_back(value: float, unit: str, density: float) -> None:
    ml = convert(value, unit, "mL", density)
    assert convert(ml, "mL", unit, density) == pytest.approx(value, rel=1e-9)


@pytest.mark.parametrize(
    ("text", "unit", "words"),
    [
        ("12", "mm", "has no unit"),
        ("twelve mm", "mm", "not a quantity"),
        ("1 kg", "mm", "does not turn into"),
        ("1 kg", "ml", "need a density"),
        ("3 parsnip", "mm", "not a known unit"),
        ("", "mm", "not a quantity"),
        ("1 kg + 2", "g", "not a quantity"),
    ],
)
def test_what_is_no_quantity_is_told(text: str, unit: str, words: str) -> None:
    with pytest.raises(UnitError) as caught:
        read_quantity(text, unit)
    assert words in str(caught.value)
    assert caught.value.mend


def test_decimal_comma_and_spacing() -> None:
    assert split_quantity(" 1,5   kg ") == (1.5, "kg")


@given(
    st.sampled_from([(here, there) for there, known in _FACTORS.items() for here in known]),
    st.floats(1e-6, 1e6),
)
def test_known_factors_are_those_of_the_registry_to_the_last_digit(
    pair: tuple[str, str], value: float
) -> None:
    here, there = pair
    assert convert(value, here, there) == _by_registry(value, here, there, None)


@given(st.sampled_from(sorted(_FACTORS["ml"])), st.floats(1e-6, 1e6), st.floats(0.05, 25))
def test_known_volumes_weigh_what_they_do_in_the_registry(unit: str, value: float, density: float) -> None:
    assert convert(value, unit, "g", density) == _by_registry(value, unit, "g", density)


@pytest.mark.parametrize("text", ["um", "min", "g/min", "min/cm^2", "um/min", "1/min"])
def test_spelling_a_rate_out_leaves_it_the_same_unit(text: str) -> None:
    from routecost.core.units import registry

    assert registry().Unit(unit_name(text)) == registry().parse_units(text.replace("^", "**"))


def test_the_shipped_tables_need_no_registry() -> None:
    code = (
        "import sys\n"
        "from datetime import date\n"
        "from routecost.shop.shop import read_tables\n"
        "tables = read_tables(None, [])\n"
        "tables.shop(date.max, [])\n"
        "tables.price_list(date.max, 'EUR', [])\n"
        "assert 'pint' not in sys.modules"
    )
    subprocess.run([sys.executable, "-c", code], check=True)
