"""Volumes as people write them, ``750 ml`` or ``2 US fl oz``, in exact millilitres.

The units are those of NIST Handbook 44, appendix C, in ``amounts.units``.
"""

from __future__ import annotations

import re
import unicodedata
from fractions import Fraction

from recondition.amounts.units import UNITS, AmbiguousUnit, Unit, UnknownUnit, unit_named
from recondition.errors import Refused

# As many digits as a quantity has; a comma or a sign is no part of a number on a label.
NUMBER = r"[0-9]{1,18}(?:\.[0-9]{1,30})?"
UNIT_NAME = r"[a-z][a-z ._]*?"
_VOLUME = re.compile(rf"(?P<number>{NUMBER}) ?(?P<unit>{UNIT_NAME})")
_SYSTEMS = {"us": "us", "imp": "imp", "imperial": "imp", "uk": "imp"}
_STEMS = {
    **dict.fromkeys(("floz", "fluidounce"), "floz"),
    **dict.fromkeys(("gal", "gallon"), "gal"),
    **dict.fromkeys(("pt", "pint"), "pt"),
    **dict.fromkeys(("qt", "quart"), "qt"),
}
_MEASURE = re.compile(
    r"(?:(?P<system>us|imp|imperial|uk) )?"
    r"(?P<measure>fl ?oz|fluid ounces?|gal(?:lon)?s?|pts?|pints?|qts?|quarts?)"
)


class NotAVolume(Refused):
    """An amount for mixing that is no volume."""

    def __init__(self, found: str) -> None:
        """Show the amount and how volumes are written."""
        codes = ", ".join(code for code, unit in UNITS.items() if unit.dimension == "volume")
        what = f"{found[:40]!r} is not a volume, and dilution goes by volume."
        todo = f"Write a number and one of {codes}. Measure a cap or a pump stroke once in ml."
        super().__init__(what, todo=f"{todo} A weight needs the density.")


def folded(text: str) -> str:
    """Fold what does not matter in a label: case, spaces, wide letters."""
    return " ".join(unicodedata.normalize("NFKC", text).casefold().split())


def volume_ml(text: str) -> Fraction:
    """Read a volume such as ``750 ml`` or ``1 US gallon`` in exact millilitres.

    Raises NotAVolume, AmbiguousUnit.
    """
    found = _VOLUME.fullmatch(folded(text))
    if not found:
        raise NotAVolume(text.strip())
    return Fraction(found["number"]) * volume_unit(found["unit"]).factor


def volume_unit(name: str, beside: str = "") -> Unit:
    """Return the unit of a volume; US or imperial may be said at the unit ``beside`` it.

    ``name`` is folded. Raises NotAVolume; AmbiguousUnit where neither is said.
    """
    code = _measure_code(name, beside)
    try:
        unit = unit_named(code or name)
    except AmbiguousUnit:
        raise
    except UnknownUnit:
        raise NotAVolume(name) from None
    if unit.dimension != "volume":
        raise NotAVolume(name)
    return unit


def _measure_code(name: str, beside: str) -> str:
    """Return ``gal_us`` for ``US gallon``, or for ``gallon`` beside a US measure; else nothing."""
    own, other = (_MEASURE.fullmatch(text.replace(".", "")) for text in (name, beside))
    if not own:
        return ""
    said = own["system"] or (other["system"] if other else None)
    measure = own["measure"].removesuffix("s").replace(" ", "")
    return f"{_STEMS[measure]}_{_SYSTEMS[said]}" if said else ""
