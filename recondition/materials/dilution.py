"""Dilution: what a label says about mixing a product with water, and the millilitres of it.

Kept are the parts of product and the parts of water, two exact numbers, beside the text as
printed. A label often has more than one reading: ``1:10`` is one part product to ten parts
water in this trade, and elsewhere one part in ten of the whole mix; ``10:1`` is mostly
written for ten parts water. All readings are given, none is chosen here. Dilution is by
volume; volumes are in millilitres, exact until they are poured.

The customs are common practice, no source; the units are those of NIST Handbook 44,
appendix C, in ``amounts.units``.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction

from recondition.amounts.exact import Exact, as_fraction, decimal_from_units
from recondition.amounts.quantity import Quantity
from recondition.amounts.rounding import round_half_away
from recondition.amounts.units import UNITS, AmbiguousUnit, Unit, UnknownUnit, unit_named
from recondition.errors import Refused

UNDERSTOOD = (
    "1:10, 1+10, 1 to 10, 1 in 10, 10 %, 20 ml per litre of water, 20 ml per litre of mix, "
    "2 fl oz per US gallon of water, 1 part product + 10 parts water, or neat"
)


class NotADilution(Refused):
    """The text on the label is no dilution that is understood."""

    def __init__(self, label: str) -> None:
        """Show the text and what is understood."""
        what = f"{label.strip()[:40]!r} is not a dilution that is understood."
        super().__init__(what, todo=f"Write it as {UNDERSTOOD}; with a decimal point.")


class NoProduct(Refused):
    """A dilution with no product in it."""

    def __init__(self, label: str) -> None:
        """Say that nothing would be mixed."""
        what = f"{label.strip()!r} has no product in it: the parts of product are 0."
        super().__init__(what, todo="Read the label again; a product used as it is, is neat.")


class MoreThanTheMix(Refused):
    """More product than the whole that it is said to be a part of."""

    def __init__(self, label: str) -> None:
        """Say that a part cannot be larger than the whole."""
        what = f"{label.strip()!r} puts more product into the mix than the whole mix holds."
        super().__init__(what, todo="Write the part first: 1 in 10, or at most 100 %.")


class NotAVolume(Refused):
    """An amount for mixing that is no volume."""

    def __init__(self, found: str) -> None:
        """Show the amount and how volumes are written."""
        codes = ", ".join(code for code, unit in UNITS.items() if unit.dimension == "volume")
        what = f"{found[:40]!r} is not a volume, and dilution goes by volume."
        todo = f"Write a number and one of {codes}. Measure a cap or a pump stroke once in ml."
        super().__init__(what, todo=f"{todo} A weight needs the density.")


class NothingToMix(Refused):
    """A batch, or a product in hand, of no volume."""

    def __init__(self) -> None:
        """Say what a batch needs."""
        super().__init__("A batch of 0 ml mixes nothing.", todo="Give a volume above zero.")


class BatchTooSmall(Refused):
    """A batch so small that a part of it cannot be told in tenths of a millilitre."""

    def __init__(self, part: str, dilution: Dilution) -> None:
        """Name the part that would be poured as nothing."""
        what = f"At {dilution.text} this batch takes less than 0.1 ml of {part}."
        super().__init__(what, todo="Mix more at once, or dilute in two steps.")


class NotAReading(Refused):
    """The label does not read in the way that was named."""

    def __init__(self, label: str, reads: Reads, found: tuple[Reading, ...]) -> None:
        """Name the readings that there are."""
        what = f"{label.strip()!r} cannot be read as {reads}."
        super().__init__(what, todo=f"It reads as {' or '.join(one.reads for one in found)}.")


@dataclass(frozen=True, slots=True)
class Mix:
    """An exact batch, in millilitres."""

    product_ml: Fraction
    water_ml: Fraction

    @property
    def total_ml(self) -> Fraction:
        """The whole batch."""
        return self.product_ml + self.water_ml


@dataclass(frozen=True, slots=True)
class Poured:
    """A batch as it is measured out, in tenths of a millilitre that add up to the total."""

    product_ml: Decimal
    water_ml: Decimal
    total_ml: Decimal


@dataclass(frozen=True, slots=True)
class Dilution:
    """Parts of product (above zero) and of water (zero where neat), and the label's text.

    Raises TypeError unless the parts are Decimals, NotAQuantity where they are beyond any
    measure, NoProduct where there is no product, ValueError where water is negative.
    """

    product_parts: Decimal
    water_parts: Decimal
    label: str

    def __post_init__(self) -> None:
        """Check the parts and bring them into their one form, as quantities have it."""
        for name in ("product_parts", "water_parts"):
            object.__setattr__(self, name, Quantity(getattr(self, name), "ml").number)
        if self.product_parts <= 0:
            raise NoProduct(self.label)
        if self.water_parts < 0:
            msg = f"parts of water cannot be negative: {self.water_parts}"
            raise ValueError(msg)

    @property
    def text(self) -> str:
        """The dilution in words that have one reading; ``readings`` takes them back."""
        if not self.water_parts:
            return "neat"
        return f"{_parts(self.product_parts)} product + {_parts(self.water_parts)} water"

    @property
    def share(self) -> Fraction:
        """How much of the mix is product: 1/11 for one part to ten."""
        product, water = as_fraction(self.product_parts), as_fraction(self.water_parts)
        return product / (product + water)

    def for_total(self, total_ml: Exact) -> Mix:
        """Return the batch that makes ``total_ml``; raises NothingToMix unless above zero."""
        total = _above_zero(total_ml)
        product = total * self.share
        return Mix(product, total - product)

    def for_product(self, product_ml: Exact) -> Mix:
        """Return the batch that ``product_ml`` of concentrate makes; raises NothingToMix."""
        product = _above_zero(product_ml)
        return Mix(product, product / self.share - product)

    def poured(self, mix: Mix) -> Poured:
        """Round a batch for measuring: 0.1 ml, half away from zero, water the difference.

        Raises BatchTooSmall where product or water would be poured as nothing.
        """
        total, product = (round_half_away(ml * 10) for ml in (mix.total_ml, mix.product_ml))
        if not product:
            part = "product"
            raise BatchTooSmall(part, self)
        if total == product and self.water_parts:
            part = "water"
            raise BatchTooSmall(part, self)
        tenths = (product, total - product, total)
        return Poured(*(decimal_from_units(units, 1) for units in tenths))


class Reads(StrEnum):
    """The ways in which labels are read."""

    PRODUCT_TO_WATER = "product-to-water"
    WATER_TO_PRODUCT = "water-to-product"
    ONE_IN = "one-in"
    OF_WATER = "of-water"
    OF_MIX = "of-mix"


@dataclass(frozen=True, slots=True)
class Reading:
    """One way to read a label; ``ordinary`` where it is this trade's (common practice)."""

    reads: Reads
    dilution: Dilution
    ordinary: bool = False


def readings(label: str) -> tuple[Reading, ...]:
    """Return every reading of a label's dilution, the ordinary one first; one where it is plain.

    Raises NotADilution, NoProduct, MoreThanTheMix, NotAVolume; AmbiguousUnit where neither
    US nor imperial is said; NotAQuantity for numbers beyond any measure.
    """
    folded = " ".join(unicodedata.normalize("NFKC", label).casefold().split())
    if folded in {"neat", "undiluted"}:
        return (_reading(Reads.PRODUCT_TO_WATER, Fraction(1), Fraction(0), label),)
    for pattern, read in _FORMS:
        found = pattern.fullmatch(folded)
        if found:
            return read(label.strip(), found)
    raise NotADilution(label)


def settled(label: str, found: tuple[Reading, ...], reads: Reads | None) -> Reading | None:
    """Return the reading that was named, or the only one; None while it is open.

    Raises NotAReading where the label has no such reading.
    """
    if reads is None:
        return found[0] if len(found) == 1 else None
    for one in found:
        if one.reads is reads:
            return one
    raise NotAReading(label, reads, found)


def strength_apart(found: tuple[Reading, ...]) -> Fraction:
    """Return by what share the strongest reading is stronger than the weakest: 1/8 for 1:8."""
    shares = [one.dilution.share for one in found]
    return max(shares) / min(shares) - 1


def volume_ml(text: str) -> Fraction:
    """Read a volume such as ``750 ml`` or ``1 US gallon`` in exact millilitres.

    Raises NotAVolume, AmbiguousUnit.
    """
    folded = " ".join(unicodedata.normalize("NFKC", text).casefold().split())
    found = _VOLUME.fullmatch(folded)
    if not found:
        raise NotAVolume(text.strip())
    return Fraction(found["number"]) * _volume_unit(found["unit"], "").factor


def _parts(number: Decimal) -> str:
    """Write ``1 part`` or ``10 parts``."""
    return f"{number:f} part{'' if number == 1 else 's'}"


def _above_zero(ml: Exact) -> Fraction:
    """Return the volume as a fraction; raises NothingToMix unless it is above zero."""
    exact = as_fraction(ml)
    if exact <= 0:
        raise NothingToMix
    return exact


def _reading(reads: Reads, product: Fraction, water: Fraction, label: str) -> Reading:
    """Return a reading whose parts were worked out, in the smallest whole numbers."""
    if not product:
        raise NoProduct(label)
    ratio = water / product
    parts = (Decimal(ratio.denominator), Decimal(ratio.numerator))
    return Reading(reads, Dilution(*parts, label.strip()))


def _in_whole(reads: Reads, part: Fraction, whole: Fraction, label: str) -> Reading:
    """Return the reading of ``part`` in ``whole``, water making up the rest."""
    if part > whole:
        raise MoreThanTheMix(label)
    return _reading(reads, part, whole - part, label)


def _as_ratio(label: str, found: re.Match[str]) -> tuple[Reading, ...]:
    """Read two bare numbers. The smaller is mostly the product, whichever comes first.

    A plus sign adds parts up, so it has no reading as one in so many (from memory).
    """
    first, second = Decimal(found["first"]), Decimal(found["second"])
    as_written = Dilution(first, second, label)
    if first == second or not second:
        return (Reading(Reads.PRODUCT_TO_WATER, as_written, ordinary=True),)
    small, large = min(first, second), max(first, second)
    name = Reads.PRODUCT_TO_WATER if first < second else Reads.WATER_TO_PRODUCT
    ways = [Reading(name, Dilution(small, large, label), ordinary=True)]
    if found["sign"] != "+":
        ways.append(_in_whole(Reads.ONE_IN, Fraction(small), Fraction(large), label))
    if first > second:
        ways.append(Reading(Reads.PRODUCT_TO_WATER, as_written))
    return tuple(ways)


def _as_parts(label: str, found: re.Match[str]) -> tuple[Reading, ...]:
    """Read parts that are named."""
    named = Dilution(Decimal(found["product"]), Decimal(found["water"]), label)
    return (Reading(Reads.PRODUCT_TO_WATER, named),)


def _as_part_of_whole(label: str, found: re.Match[str]) -> tuple[Reading, ...]:
    """Read ``1 in 10``."""
    part, whole = Fraction(found["part"]), Fraction(found["whole"])
    return (_in_whole(Reads.ONE_IN, part, whole, label),)


def _as_percent(label: str, found: re.Match[str]) -> tuple[Reading, ...]:
    """Read per cent by volume of the mix."""
    return (_in_whole(Reads.OF_MIX, Fraction(found["percent"]), Fraction(100), label),)


def _as_volumes(label: str, found: re.Match[str]) -> tuple[Reading, ...]:
    """Read a volume of product to a volume of water, or of mix, or of what is not said."""
    unit, per_unit = found["unit"], found["per_unit"]
    product = Fraction(found["number"]) * _volume_unit(unit, per_unit).factor
    base = Fraction(found["per"] or 1) * _volume_unit(per_unit, unit).factor
    if not base:
        raise NotADilution(label)
    ways = []
    if found["of"] != "mix":
        ways.append(_reading(Reads.OF_WATER, product, base, label))
    if found["of"] == "mix" or (not found["of"] and product <= base):
        ways.append(_in_whole(Reads.OF_MIX, product, base, label))
    return tuple(ways)


def _volume_unit(name: str, beside: str) -> Unit:
    """Return the unit of a volume; US or imperial may be said at the unit ``beside`` it."""
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

# As many digits as a quantity has; a comma or a sign is no part of a number on a label.
_NUMBER = r"[0-9]{1,18}(?:\.[0-9]{1,30})?"
_UNIT = r"[a-z][a-z ._]*?"
_VOLUME = re.compile(rf"(?P<number>{_NUMBER}) ?(?P<unit>{_UNIT})")
_RATIO = rf"(?P<first>{_NUMBER}) ?(?P<sign>:|\+|to) ?(?P<second>{_NUMBER})"
_FORMS = (
    (re.compile(_RATIO), _as_ratio),
    (
        re.compile(
            rf"(?P<product>{_NUMBER}) parts? (?:of )?product (?:\+|to|and) "
            rf"(?P<water>{_NUMBER}) parts? (?:of )?water"
        ),
        _as_parts,
    ),
    (re.compile(rf"(?P<part>{_NUMBER}) in (?P<whole>{_NUMBER})"), _as_part_of_whole),
    (
        re.compile(rf"(?P<percent>{_NUMBER}) ?(?:%|per ?cent)(?: by volume)?(?: of (?:the )?mix)?"),
        _as_percent,
    ),
    (
        re.compile(
            rf"(?P<number>{_NUMBER}) ?(?P<unit>{_UNIT})(?: per | ?/ ?)"
            rf"(?:(?P<per>{_NUMBER}) ?)?(?P<per_unit>{_UNIT})(?:(?: of)?(?: the)? (?P<of>water|mix))?"
        ),
        _as_volumes,
    ),
)
