"""Units against published exact factors, and the names people write."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest

from recondition.amounts.units import (
    UNITS,
    AmbiguousUnit,
    UnknownUnit,
    fahrenheit_to_celsius,
    unit_named,
)
from tests.check_values import check_values

# The published table's wording beside the codes here; the square foot, the cubic inch,
# force, pressure and grains are in that table and are no units of ours.
PUBLISHED_NAMES = {
    "inch": "in",
    "mil (0.001 inch)": "mil",
    "foot": "ft",
    "US gallon": "gal_us",
    "US fluid ounce": "floz_us",
    "US pint (liquid)": "pt_us",
    "US quart (liquid)": "qt_us",
    "imperial gallon": "gal_imp",
    "imperial fluid ounce": "floz_imp",
    "avoirdupois ounce": "oz",
    "avoirdupois pound": "lb",
    "micrometre": "um",
    "millilitre": "ml",
    "litre": "l",
    "gram": "g",
    "kilogram": "kg",
    "mm": "mm",
    "m": "m",
}
FACTORS = {
    (PUBLISHED_NAMES[row["from"]], PUBLISHED_NAMES[row["to"]]): Fraction(row["factor"])
    for row in check_values("units_exact")
    if row["from"] in PUBLISHED_NAMES and row["to"] in PUBLISHED_NAMES
}


def test_the_published_factors_are_found() -> None:
    """Eleven rows of the table are about units of ours."""
    assert len(FACTORS) == 11


@pytest.mark.parametrize(("pair", "factor"), FACTORS.items())
def test_published_factor(pair: tuple[str, str], factor: Fraction) -> None:
    """NIST Handbook 44, appendix C, and the 1959 inch and pound: exact, so equal."""
    source, target = (UNITS[code] for code in pair)
    assert source.dimension == target.dimension
    assert source.factor / target.factor == factor


def test_definitions_that_tie_units_together() -> None:
    """231 cubic inches, 128 and 160 fluid ounces, 16 ounces (NIST Handbook 44, appendix C)."""
    cubic_inch_ml = UNITS["in"].factor ** 3 / 1000
    assert UNITS["gal_us"].factor == 231 * cubic_inch_ml
    assert UNITS["gal_us"].factor == 128 * UNITS["floz_us"].factor
    assert UNITS["gal_us"].factor == 4 * UNITS["qt_us"].factor == 8 * UNITS["pt_us"].factor
    assert UNITS["gal_imp"].factor == 160 * UNITS["floz_imp"].factor
    assert UNITS["lb"].factor == 16 * UNITS["oz"].factor
    assert UNITS["mi"].factor == 5280 * UNITS["ft"].factor
    assert UNITS["day"].factor == 24 * UNITS["h"].factor


@pytest.mark.parametrize(
    ("name", "code"),
    [
        ("hrs", "h"),
        ("Hours", "h"),
        (" pcs. ", "piece"),
        ("liter", "l"),
        ("L", "l"),
        ("ML", "ml"),
        ("\u00b5m", "um"),  # the micro sign
        ("\u03bcm", "um"),  # the Greek letter
        ("micron", "um"),
        ("US fl. oz.", "floz_us"),
        ("Imperial gallons", "gal_imp"),
        ("m\u00b2", "m2"),
        ("%", "percent"),
        ("°C", "C"),
        ("deg F", "F"),
        ("°", "deg"),
        ("gu 60", "GU60"),
        ("mg/L", "mg_l"),
    ],
)
def test_names_people_write(name: str, code: str) -> None:
    """Common practice, no source."""
    assert unit_named(name).code == code


def test_every_name_means_one_unit() -> None:
    """No alias of one unit hides the code, the words or an alias of another."""
    for unit in UNITS.values():
        for name in (unit.code, unit.words, *unit.aliases):
            assert unit_named(name) is unit, name


@pytest.mark.parametrize(
    ("name", "choice"),
    [("fl oz", "floz_imp"), ("gallon", "gal_us"), ("pint", "pt_us"), ("GU", "GU60")],
)
def test_a_name_for_several_is_not_guessed(name: str, choice: str) -> None:
    """US and imperial measures differ, and a gloss unit needs its angle (ISO 2813)."""
    with pytest.raises(AmbiguousUnit) as refused:
        unit_named(name)
    assert choice in refused.value.todo


@pytest.mark.parametrize("name", ["", "furlong", "hh"])
def test_unknown_unit(name: str) -> None:
    """The refusal lists what there is."""
    with pytest.raises(UnknownUnit) as refused:
        unit_named(name)
    assert "floz_us" in refused.value.todo


@pytest.mark.parametrize("row", check_values("temperature_examples"))
def test_published_temperatures(row: dict[str, str]) -> None:
    """OpenStax Contemporary Mathematics, module m00073, and the definition of the scale."""
    assert fahrenheit_to_celsius(Decimal(row["fahrenheit"])) == Fraction(row["celsius"])


def test_a_float_temperature_is_refused() -> None:
    """98.6 as a float is not 98.6."""
    with pytest.raises(TypeError):
        fahrenheit_to_celsius(98.6)  # type: ignore[arg-type]
