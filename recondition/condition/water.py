"""Reading the water: how drops stand, what that means, and how hard the water is.

Drop: theta = 2 atan(2h/w) of a spherical cap (geometry; for drops of a few microlitres).
Two conventions name the result differently: the common one parts at 90 degrees; ASTM
D7334-08(2022), 5.5, calls under 45 hydrophilic, over 90 hydrophobic, and has a class between.
A spread of about 3 degrees between measurements is normal.

Hardness: mg/l as CaCO3 = 2.497 Ca + 4.118 Mg (Standard Methods 2340 B; the section number is
from memory). Classes after the USGS: to 60 soft, to 120 moderately hard, to 180 hard, above
very hard; between its printed whole numbers the upper bound decides here.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from recondition.amounts import Quantity
from recondition.condition.findings import When
from recondition.errors import Refused
from recondition.fields import Id, Words

CALCIUM, MAGNESIUM = Decimal("2.497"), Decimal("4.118")
SPREAD_USUAL_DEG = Decimal(3)
NEAR_90_DEG = Decimal(10)
DROP_MAX_UL = Decimal(10)  # "a few microlitres" (common practice, no source)
_MM_MAX = Decimal(20)
_MG_MAX = Decimal(5000)


@dataclass(frozen=True, slots=True, kw_only=True)
class DropReading:
    """Heights and widths of drops at one place, in millimetres, drop by drop.

    ``soap_rinsed`` says that soap was rinsed off before: soap lowers the surface tension, so
    that without it the reading is no evidence. ``words`` say what was seen; a buyer may read
    them.
    """

    vehicle: Id
    panel: str
    heights: tuple[Decimal, ...]
    widths: tuple[Decimal, ...]
    soap_rinsed: bool
    read_on: date
    place: str | None = None
    step: str | None = None
    when: When | None = None
    read_by: Id | None = None
    documents: tuple[Id, ...] = ()
    words: Words | None = None
    private_note: Words | None = None

    def check(self) -> None:
        """Refuse what is no drop, or no evidence. Raises SoapNotRinsed, NotADrop."""
        if not self.soap_rinsed:
            raise SoapNotRinsed
        if len(self.heights) != len(self.widths) or not self.heights:
            what = f"{len(self.heights)} heights and {len(self.widths)} widths"
            raise NotADrop(what, "one height and one width for each drop")
        for pair in zip(self.heights, self.widths, strict=True):
            for value in pair:
                if not 0 < value <= _MM_MAX:
                    found = f"{value} mm"
                    raise NotADrop(found, f"millimetres from above 0 to {_MM_MAX}")


@dataclass(frozen=True, slots=True, kw_only=True)
class WaterHardness:
    """The hardness of a tap's water: from calcium and magnesium, or from a strip.

    All in mg/l (the strip as CaCO3; a grain per US gallon is converted).
    """

    tap: str
    read_on: date
    calcium: Quantity | None = None
    magnesium: Quantity | None = None
    strip: Quantity | None = None
    read_by: Id | None = None

    def check(self) -> None:
        """Refuse a hardness given in no way or in two. Raises NotAHardness."""
        pair = (self.calcium is None, self.magnesium is None)
        if pair[0] != pair[1] or pair[0] == (self.strip is None):
            raise NotAHardness
        if not 0 <= self.mg_l <= _MG_MAX:
            raise NotAHardness

    @property
    def mg_l(self) -> Decimal:
        """Hardness as mg/l of CaCO3."""
        if self.strip is not None:
            return _mg_l(self.strip)
        return hardness(_mg_l(self.calcium), _mg_l(self.magnesium))


class SoapNotRinsed(Refused):
    """A reading of drops on a surface with soap on it."""

    def __init__(self) -> None:
        """Say why it is no evidence."""
        super().__init__(
            "the soap was not rinsed off, so the drops say nothing: soap lowers the surface "
            "tension of the water",
            todo="Rinse, let it drain, set new drops and read again.",
        )


class NotADrop(Refused):
    """A drop's height or width that none has, or one without the other."""

    def __init__(self, found: str, wanted: str) -> None:
        """Show what was given and what is wanted."""
        super().__init__(f"the drops have {found}", todo=f"Give {wanted}.")


class NotAHardness(Refused):
    """A hardness that is not given, given twice, or beyond any tap."""

    def __init__(self) -> None:
        """Say what is wanted."""
        super().__init__(
            "the hardness is not given in one way",
            todo=f"Give calcium and magnesium, or the strip, from 0 to {_MG_MAX} mg/l.",
        )


def angle(height: Decimal, width: Decimal) -> Decimal:
    """Give the contact angle of one drop in degrees; both lengths in one unit.

    Worked out in binary floating point, since nothing is posted from it; good to 12 places.
    """
    return Decimal(repr(math.degrees(2 * math.atan(2 * height / width))))


def volume_ul(height_mm: Decimal, width_mm: Decimal) -> Decimal:
    """Give the volume of a cap in microlitres: pi h (3 a^2 + h^2) / 6, a half the width."""
    half = width_mm / 2
    return Decimal(repr(math.pi)) * height_mm * (3 * half * half + height_mm * height_mm) / 6


@dataclass(frozen=True, slots=True)
class Drops:
    """The angle of several drops: mean and standard deviation (None of a single drop).

    ``largest_ul`` is the volume of the largest: the formula holds for a few microlitres, and
    a bigger drop flattens and reads low.
    """

    mean_deg: Decimal
    spread_deg: Decimal | None
    count: int
    largest_ul: Decimal

    @property
    def too_large(self) -> bool:
        """Whether a drop is larger than the formula is good for."""
        return self.largest_ul > DROP_MAX_UL

    @property
    def margin_deg(self) -> Decimal:
        """The spread, or the usual one where that is larger."""
        return max(self.spread_deg or Decimal(0), SPREAD_USUAL_DEG)


def drops(heights: Sequence[Decimal], widths: Sequence[Decimal]) -> Drops:
    """Give the angle of drops and its spread."""
    found = [angle(h, w) for h, w in zip(heights, widths, strict=True)]
    mean = sum(found, Decimal(0)) / len(found)
    largest = max(volume_ul(h, w) for h, w in zip(heights, widths, strict=True))
    if len(found) == 1:
        return Drops(mean, None, 1, largest)
    squares = sum(((value - mean) ** 2 for value in found), Decimal(0))
    return Drops(mean, (squares / (len(found) - 1)).sqrt(), len(found), largest)


def names(mean_deg: Decimal) -> dict[str, str]:
    """Name an angle in both conventions."""
    right, half = Decimal(90), Decimal(45)
    common = "hydrophobic" if mean_deg > right else "hydrophilic"
    between = "hydrophobic" if mean_deg > right else "in between"
    astm = "hydrophilic" if mean_deg < half else between
    if mean_deg == right:
        common = "on the line"
    return {"parting at 90 degrees": common, "ASTM D7334 (45 and 90)": astm}


def meaning(read: Drops) -> str:
    """Say what drops mean for the next step (trade rule, common practice, no source).

    "Near 90" is taken as within 10 degrees or the spread, whichever is wider: our own bound.
    """
    near = max(NEAR_90_DEG, read.margin_deg)
    if read.mean_deg > 90 + near:
        said = "a water-repelling layer is there: take it off before any levelling of the paint"
    elif read.mean_deg >= 90 - near:
        said = "a water-repelling layer is wearing out: take the rest off before levelling"
    else:
        said = "assume that no water-repelling layer is there"
    large = " A drop is so large that it flattens and reads low." if read.too_large else ""
    return f"{said}. Beading alone is no proof of protection; clean bare paint beads too.{large}"


def hardness(calcium_mg_l: Decimal, magnesium_mg_l: Decimal) -> Decimal:
    """Give the hardness as mg/l of CaCO3 from calcium and magnesium in mg/l."""
    return CALCIUM * calcium_mg_l + MAGNESIUM * magnesium_mg_l


_CLASSES = ((60, "soft"), (120, "moderately hard"), (180, "hard"))


def hardness_class(mg_l: Decimal) -> str:
    """Name a hardness after the USGS."""
    return next((name for upto, name in _CLASSES if mg_l <= upto), "very hard")


def spot_risk(mg_l: Decimal) -> str:
    """Say what a hardness means for drying (common practice, no source)."""
    found = hardness_class(mg_l)
    if found == "soft":
        return "little risk of spots; dry all the same"
    if found == "moderately hard":
        return "spots where it dries: dry at once, panel by panel"
    return (
        "spots that bite into paint and glass: dry at once, never in sun or on a hot panel, last "
        "rinse with softened or deionised water"
    )


def _mg_l(quantity: Quantity | None) -> Decimal:
    """Give a concentration in mg/l."""
    value = (quantity or Quantity(Decimal(0), "mg_l")).to("mg_l")
    return Decimal(value.numerator) / Decimal(value.denominator)
