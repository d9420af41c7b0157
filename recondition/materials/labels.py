"""Reads a dilution as labels print it, in every way in which it can be meant.

``1:10`` is one part product to ten parts water in this trade, and elsewhere one part in ten
of the whole mix; ``10:1`` is mostly written for ten parts water. All readings are given, none
is chosen here. These customs are common practice, no source.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction

from recondition.errors import Refused
from recondition.materials.dilution import Dilution, NoProduct
from recondition.materials.volumes import NUMBER, UNIT_NAME, folded, volume_unit

UNDERSTOOD = (
    "1:10, 1+10, 1 to 10, 1 in 10, 10 %, 20 ml per litre of water, 20 ml per litre of mix, "
    "2 fl oz per US gallon of water, 1 part product + 10 parts water, or neat"
)


class NotADilution(Refused):
    """The text on the label is no dilution that is understood."""

    def __init__(self, label: str) -> None:
        """Show the text and what is understood."""
        what = f"{label.strip()[:40]!r} is not a dilution that is understood."
        super().__init__(what, todo=f"Write {UNDERSTOOD}. Fractions take a decimal point.")


class MoreThanTheMix(Refused):
    """More product than the whole that it is said to be a part of."""

    def __init__(self, label: str) -> None:
        """Say that a part cannot be larger than the whole."""
        what = f"{label.strip()!r} puts more product into the mix than the whole mix holds."
        super().__init__(what, todo="Write the part first: 1 in 10, or at most 100 %.")


class NotAReading(Refused):
    """The label does not read in the way that was named."""

    def __init__(self, label: str, reads: Reads, found: tuple[Reading, ...]) -> None:
        """Name the readings that there are."""
        what = f"{label.strip()!r} cannot be read as {reads}."
        super().__init__(
            what, todo=f"Name a reading it has: {', '.join(one.reads for one in found)}."
        )


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
    text = folded(label)
    if text in {"neat", "undiluted"}:
        return (_reading(Reads.PRODUCT_TO_WATER, Fraction(1), Fraction(0), label),)
    for pattern, read in _FORMS:
        found = pattern.fullmatch(text)
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
    product = Fraction(found["number"]) * volume_unit(unit, per_unit).factor
    base = Fraction(found["per"] or 1) * volume_unit(per_unit, unit).factor
    if not base:
        raise NotADilution(label)
    ways = []
    if found["of"] != "mix":
        ways.append(_reading(Reads.OF_WATER, product, base, label))
    if found["of"] == "mix" or (not found["of"] and product <= base):
        ways.append(_in_whole(Reads.OF_MIX, product, base, label))
    return tuple(ways)


_RATIO = rf"(?P<first>{NUMBER}) ?(?P<sign>:|\+|to) ?(?P<second>{NUMBER})"
_FORMS = (
    (re.compile(_RATIO), _as_ratio),
    (
        re.compile(
            rf"(?P<product>{NUMBER}) parts? (?:of )?product (?:\+|to|and) "
            rf"(?P<water>{NUMBER}) parts? (?:of )?water"
        ),
        _as_parts,
    ),
    (re.compile(rf"(?P<part>{NUMBER}) in (?P<whole>{NUMBER})"), _as_part_of_whole),
    (
        re.compile(rf"(?P<percent>{NUMBER}) ?(?:%|per ?cent)(?: by volume)?(?: of (?:the )?mix)?"),
        _as_percent,
    ),
    (
        re.compile(
            rf"(?P<number>{NUMBER}) ?(?P<unit>{UNIT_NAME})(?: per | ?/ ?)"
            rf"(?:(?P<per>{NUMBER}) ?)?(?P<per_unit>{UNIT_NAME})"
            r"(?:(?: of)?(?: the)? (?P<of>water|mix))?"
        ),
        _as_volumes,
    ),
)
