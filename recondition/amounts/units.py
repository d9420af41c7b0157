"""Units of what a preparer measures, counts and buys, with exact factors.

Sources of the factors: the inch (25.4 mm) and the pound (0.45359237 kg) of 1959, the US
gallon of 231 cubic inches and the imperial gallon of 4.54609 litres, as in NIST Handbook 44,
appendix C; a day is 24 clock hours, never a working day. Bare "gallon", "pint", "quart" and
"fl oz" are refused: the US and the imperial measures differ by up to a fifth.
"""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass
from fractions import Fraction
from types import MappingProxyType
from typing import TYPE_CHECKING

from recondition.amounts.exact import as_fraction
from recondition.errors import Refused

if TYPE_CHECKING:
    from decimal import Decimal


class UnknownUnit(Refused):
    """No unit of that name is known."""


class AmbiguousUnit(UnknownUnit):
    """The name stands for several units, and guessing would give a wrong quantity."""


class UnitMismatch(Refused):
    """Two quantities do not measure the same thing, or are not in the same unit."""


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit: its code, what it measures, how many base units it is, and its name in words.

    Units convert only within a ``dimension``; gloss units of different angles, degrees
    Celsius and degrees Fahrenheit are dimensions of their own for that reason.
    """

    code: str
    dimension: str
    factor: Fraction
    words: str
    aliases: tuple[str, ...] = ()


def _unit(code: str, dimension: str, factor: str, words: str, aliases: str = "") -> Unit:
    """Return one row of the table; ``aliases`` are parted by commas."""
    names = tuple(alias.strip() for alias in aliases.split(",") if alias.strip())
    return Unit(code, dimension, Fraction(factor), words, names)


_TABLE = (
    _unit("s", "time", "1/60", "seconds", "sec, secs, second, seconds"),
    _unit("min", "time", "1", "minutes", "mins, minute, minutes"),
    _unit("h", "time", "60", "hours", "hr, hrs, hour, hours"),
    _unit("day", "time", "1440", "days of 24 hours", "days, d"),
    _unit("ml", "volume", "1", "millilitres", "millilitre, milliliter, milliliters, cc"),
    _unit("l", "volume", "1000", "litres", "litre, liter, liters, ltr"),
    _unit("floz_us", "volume", "29.5735295625", "US fluid ounces", "us fl oz, us fluid ounce"),
    _unit("pt_us", "volume", "473.176473", "US pints", "us pt, us pint"),
    _unit("qt_us", "volume", "946.352946", "US quarts", "us qt, us quart"),
    _unit("gal_us", "volume", "3785.411784", "US gallons", "us gal, us gallon"),
    _unit(
        "floz_imp",
        "volume",
        "28.4130625",
        "imperial fluid ounces",
        "imp fl oz, uk fl oz, imperial fluid ounce",
    ),
    _unit(
        "gal_imp",
        "volume",
        "4546.09",
        "imperial gallons",
        "imp gal, uk gal, imperial gallon",
    ),
    _unit("g", "mass", "1", "grams", "gram, gramme, grammes"),
    _unit("kg", "mass", "1000", "kilograms", "kilo, kilos, kilogram"),
    _unit("oz", "mass", "28.349523125", "ounces by weight", "ounce, ounces"),
    _unit("lb", "mass", "453.59237", "pounds by weight", "lbs, pound, pounds"),
    _unit("um", "length", "0.001", "micrometres", "µm, micron, microns, micrometre, micrometer"),
    _unit("mil", "length", "0.0254", "thousandths of an inch", "mils, thou"),
    _unit("mm", "length", "1", "millimetres", "millimetre, millimeter, millimeters"),
    _unit("cm", "length", "10", "centimetres", "centimetre, centimeter, centimeters"),
    _unit("in", "length", "25.4", "inches", 'inch, "'),
    _unit("ft", "length", "304.8", "feet", "foot"),
    _unit("m", "length", "1000", "metres", "metre, meter, meters"),
    _unit("km", "length", "1000000", "kilometres", "kilometre, kilometer, kilometers, kms"),
    _unit("mi", "length", "1609344", "miles", "mile"),
    _unit("mm2", "area", "1", "square millimetres", "sq mm, mm^2"),
    _unit("cm2", "area", "100", "square centimetres", "sq cm, cm^2"),
    _unit("ft2", "area", "92903.04", "square feet", "sq ft, ft^2, square foot, sqft"),
    _unit("m2", "area", "1000000", "square metres", "sq m, m^2, square meters, sqm"),
    _unit("piece", "count", "1", "pieces", "pc, pcs, ea, each"),
    _unit("pair", "count", "2", "pairs", "pr, prs"),
    _unit("set", "sets", "1", "sets", "sets"),
    _unit("use", "uses", "1", "uses of a reusable", "uses"),
    _unit("percent", "share", "1", "per cent", "%, pct"),
    _unit("GU20", "gloss at 20 degrees", "1", "gloss units at 20 degrees", "20 GU"),
    _unit("GU60", "gloss at 60 degrees", "1", "gloss units at 60 degrees", "60 GU"),
    _unit("GU85", "gloss at 85 degrees", "1", "gloss units at 85 degrees", "85 GU"),
    _unit("deg", "angle", "1", "degrees of angle", "°, degree, degrees"),
    _unit("C", "Celsius", "1", "degrees Celsius", "°C, deg C, celsius"),
    _unit("F", "Fahrenheit", "1", "degrees Fahrenheit", "°F, deg F, fahrenheit"),
    _unit("mg_l", "concentration", "1", "milligrams per litre", "mg/l, ppm"),
    _unit(
        "gr_gal_us",
        "concentration",
        "64798910000/3785411784",  # the grain of 64.79891 mg in the US gallon
        "grains per US gallon",
        "gpg, grains/gallon, grain/gal",
    ),
)

UNITS = MappingProxyType({unit.code: unit for unit in _TABLE})
"""Every unit by its code, in the order of the table."""

_EITHER_GALLON = "gal_us or gal_imp"
_EITHER_OUNCE = "floz_us or floz_imp (by volume), or oz (by weight)"
_GLOSS_ANGLE = "GU20, GU60 or GU85: a gloss unit means nothing without its angle"
_AMBIGUOUS = MappingProxyType(
    {
        **dict.fromkeys(("gal", "gals", "gallon", "gallons"), _EITHER_GALLON),
        **dict.fromkeys(("floz", "fluidounce", "fluidounces"), _EITHER_OUNCE),
        **dict.fromkeys(("pt", "pint", "pints"), "pt_us, or ml for an imperial pint"),
        **dict.fromkeys(("qt", "quart", "quarts"), "qt_us, or ml for an imperial quart"),
        **dict.fromkeys(("gu", "gloss", "glossunit", "glossunits"), _GLOSS_ANGLE),
    },
)


def _key(name: str) -> str:
    """Fold what does not matter in a unit's name: case, spaces, dots, dashes, raised digits."""
    folded = unicodedata.normalize("NFKC", name).casefold()
    return "".join(letter for letter in folded if letter not in " ._-\t\u00a0")


_BY_KEY = MappingProxyType(
    {_key(name): unit for unit in _TABLE for name in (unit.code, unit.words, *unit.aliases)},
)


def unit_named(text: str) -> Unit:
    """Return the unit by its code or by a name people write (hrs, pcs, litre, µm, US fl oz).

    Raises AmbiguousUnit where the name is used for several, else UnknownUnit.
    """
    key = _key(text)
    unit = _BY_KEY.get(key)
    if unit is not None:
        return unit
    if key in _AMBIGUOUS:
        what = f"The unit {text.strip()!r} can mean more than one."
        raise AmbiguousUnit(what, todo=f"Write {_AMBIGUOUS[key]}.")
    what = f"{text[:40]!r} is not a unit that is known."
    raise UnknownUnit(what, todo=f"Write one of: {', '.join(UNITS)}.")


def fahrenheit_to_celsius(fahrenheit: Decimal) -> Fraction:
    """Return degrees Celsius, (F - 32) x 5/9, exactly; TypeError for a float."""
    return (as_fraction(fahrenheit) - 32) * Fraction(5, 9)
