"""Ways to measure what was used, best first, and what each says about its own doubt."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction

from recondition.amounts import Quantity
from recondition.amounts.quantity import MAX_DECIMALS
from recondition.amounts.rounding import round_to
from recondition.amounts.units import UNITS
from recondition.errors import Refused
from recondition.materials.conversion import (
    NoContainerSize,
    dimension_of,
    exact_in_stock_unit,
    in_millilitres,
    in_stock_unit,
    kept,
)
from recondition.materials.products import Product
from recondition.materials.receiving import MixedBatch, StandardAmount


class Way(StrEnum):
    """How an amount was found (common practice, no source)."""

    WEIGHED = "weighed"
    DISPENSED = "dispensed"
    MIXED = "share of a mixed batch"
    LEVEL = "level mark"
    COUNTED = "counted"
    STANDARD = "standard amount"


@dataclass(frozen=True, slots=True, kw_only=True)
class Measure:
    """What was read off, so that the amount can be worked out again.

    ``gross_before`` and ``gross_after`` are weights with container, cap and trigger, ``tare``
    the empty weight, ``resolution`` the scale's step. ``density_g_ml`` turned grams into
    millilitres. ``strokes`` of ``per_stroke`` were dispensed. ``sprayed`` is the amount of
    ready mix. ``level_before`` and ``level_after`` are fractions of ``holds``. ``uncertainty``
    is in the unit of the amount, None where nobody can state it.
    """

    way: Way
    gross_before: Quantity | None = None
    gross_after: Quantity | None = None
    tare: Quantity | None = None
    resolution: Quantity | None = None
    density_g_ml: Decimal | None = None
    strokes: Decimal | None = None
    per_stroke: Quantity | None = None
    sprayed: Quantity | None = None
    level_before: Decimal | None = None
    level_after: Decimal | None = None
    holds: Quantity | None = None
    uncertainty: Quantity | None = None


MAX_SCALE_DECIMALS = 6
_SCALE_STEP_G = Decimal("0.1")
_TWO_READINGS = Decimal("1.4")  # two weighings, each with its own doubt; root of two, as told
_LEVEL_DOUBT = Fraction(1, 20)


class AfterAboveBefore(Refused):
    """A container that weighs, or stands, higher after the work than before."""

    def __init__(self, product: str, before: str, after: str) -> None:
        """Name the product and both readings."""
        super().__init__(
            f"the container of {product} stands at {after} after and {before} before",
            todo="Was it topped up, or is it another container or cap? Read both again; a top-up "
            "is weighed before the work.",
        )


class NothingUsed(Refused):
    """Two readings that are the same."""

    def __init__(self, product: str, reading: str) -> None:
        """Name the product and the reading."""
        super().__init__(
            f"the container of {product} stands at {reading} before and after: nothing was used",
            todo="Leave the line out, or read again on a finer scale.",
        )


class BelowTare(Refused):
    """A container that weighs less than when it is empty."""

    def __init__(self, product: str, gross: str, tare: str) -> None:
        """Name the product, the weight and the empty weight."""
        super().__init__(
            f"the container of {product} weighs {gross}, and {tare} when empty",
            todo="Is it another cap or trigger? Weigh the empty container as it is used, and "
            "enter that tare.",
        )


class TareNeeded(Refused):
    """A container is to be counted by weight and its empty weight is not known."""

    def __init__(self, product: str) -> None:
        """Name the product."""
        super().__init__(
            f"the empty weight of a container of {product} is not on record",
            todo="Weigh an empty one with its cap, and enter the tare with the container.",
        )


class NoStep(Refused):
    """A scale without a step."""

    def __init__(self, found: str) -> None:
        """Show the step."""
        super().__init__(
            f"a scale cannot have a step of {found}",
            todo="Give the smallest step it shows, as 0.1 g.",
        )


class LevelOutside(Refused):
    """A level that is not between empty and full."""

    def __init__(self, found: Decimal) -> None:
        """Show the level."""
        super().__init__(
            f"a container cannot be {found * 100:f} % full", todo="Give 0 for empty, 100 for full."
        )


class MoreThanMixed(Refused):
    """More of a mix is used than is left of it."""

    def __init__(self, wanted: str, left: str) -> None:
        """Name the amount and what is left."""
        super().__init__(
            f"{wanted} of the mix is used, and {left} of it is left",
            todo="Correct the amount, or note the batch that was mixed after it.",
        )


class HalfAtMost(Refused):
    """A count that is not of whole or half pieces."""

    def __init__(self, found: str) -> None:
        """Show the count."""
        super().__init__(f"{found} is not a count", todo="Count whole pieces, or halves.")


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """An amount in the product's stock unit, and the readings it comes from, completed."""

    quantity: Quantity
    measure: Measure


def weighed(
    product: Product,
    before: Quantity,
    after: Quantity,
    *,
    resolution: Quantity | None = None,
    tare: Quantity | None = None,
) -> Measured:
    """Give what left a container between two weighings with the same cap or trigger.

    Grams become the stock unit by the density. The amount has as many decimals as the step of
    the scale in grams; its uncertainty is 1.4 times that step (two readings; common practice,
    no source), rounded up to one decimal more. Raises NoStep, AfterAboveBefore, NothingUsed,
    BelowTare, DensityNeeded.
    """
    step = resolution.to("g") if resolution is not None else Fraction(_SCALE_STEP_G)
    if step <= 0:
        raise NoStep(str(resolution))
    if after > before:
        raise AfterAboveBefore(product.name, str(before), str(after))
    used = before.to("g") - after.to("g")
    if not used:
        raise NothingUsed(product.name, str(before))
    if tare is not None and after.to("g") < tare.to("g") - step:
        raise BelowTare(product.name, str(after), str(tare))
    decimals = _decimals(step)
    exact = exact_in_stock_unit(Quantity(round_to(used, MAX_DECIMALS), "g"), product)
    doubt = exact_in_stock_unit(
        Quantity(round_to(step * Fraction(_TWO_READINGS), MAX_DECIMALS), "g"), product
    )
    measure = Measure(
        way=Way.WEIGHED,
        gross_before=before,
        gross_after=after,
        tare=tare,
        resolution=Quantity(round_to(step, MAX_DECIMALS), "g"),
        density_g_ml=product.density_g_ml if dimension_of(product.unit) == "volume" else None,
        uncertainty=_told(doubt, product.unit, decimals + 1, up=True),
    )
    return Measured(quantity=_told(exact, product.unit, decimals), measure=measure)


def dispensed(product: Product, volume: Quantity) -> Measured:
    """Give an amount that was poured or drawn up. Raises what ``in_stock_unit`` names."""
    return Measured(quantity=in_stock_unit(volume, product), measure=Measure(way=Way.DISPENSED))


def dispensed_strokes(product: Product, strokes: Decimal, per_stroke: Quantity) -> Measured:
    """Give what a number of pump strokes gave."""
    whole = Quantity(strokes * per_stroke.number, per_stroke.unit)
    measure = Measure(way=Way.DISPENSED, strokes=strokes, per_stroke=per_stroke)
    return Measured(quantity=in_stock_unit(whole, product), measure=measure)


def of_mix(
    mixed: MixedBatch,
    product: Product,
    sprayed: Quantity,
    *,
    used_before: Fraction,
    taken_before: Fraction,
) -> Measured:
    """Give the concentrate in an amount of a mixed batch, to 0.1 ml.

    ``used_before`` is the mix used so far and ``taken_before`` the concentrate booked for it,
    both in millilitres. The use that empties the mix takes all the concentrate that is left,
    so that the parts add up to what was mixed. Raises MoreThanMixed, NothingUsed.
    """
    concentrate = in_millilitres(mixed.concentrate, product)
    whole = concentrate + mixed.water.to("ml")
    amount = sprayed.to("ml")
    left = whole - used_before
    if amount <= 0:
        raise NothingUsed(product.name, str(sprayed))
    if amount > left:
        raise MoreThanMixed(str(sprayed), f"{round_to(left, 1)} ml")
    share = Fraction(round_to(amount * concentrate / whole, 1))
    rest = concentrate - taken_before
    part = rest if amount == left else min(share, rest)
    exact = exact_in_stock_unit(Quantity(round_to(part, MAX_DECIMALS), "ml"), product)
    measure = Measure(way=Way.MIXED, sprayed=sprayed)
    return Measured(quantity=kept(exact, product.unit), measure=measure)


def by_level(
    product: Product, before: Decimal, after: Decimal, *, holds: Quantity | None = None
) -> Measured:
    """Give what left a container between two level marks, as fractions of full.

    The uncertainty is 5 percent of a full container (common practice, no source). Raises
    LevelOutside, AfterAboveBefore, NothingUsed, NoContainerSize.
    """
    for level in (before, after):
        if not 0 <= level <= 1:
            raise LevelOutside(level)
    marks = [f"{(level * 100).normalize():f} %" for level in (before, after)]
    if after > before:
        raise AfterAboveBefore(product.name, *marks)
    if after == before:
        raise NothingUsed(product.name, marks[0])
    full = holds or product.container_size
    if full is None:
        raise NoContainerSize(product.name, marks[0])
    exact = exact_in_stock_unit(full, product)
    measure = Measure(
        way=Way.LEVEL,
        level_before=before,
        level_after=after,
        holds=full,
        uncertainty=_told(exact * _LEVEL_DOUBT, product.unit, 1, up=True),
    )
    used = exact * Fraction(before - after)
    return Measured(quantity=_told(used, product.unit, 1), measure=measure)


def counted(product: Product, quantity: Quantity) -> Measured:
    """Give whole or half pieces or uses. Raises HalfAtMost, OtherUnit."""
    amount = in_stock_unit(quantity, product)
    if (amount.fraction * 2).denominator != 1:
        raise HalfAtMost(str(quantity))
    return Measured(quantity=amount, measure=Measure(way=Way.COUNTED))


def standard(product: Product, amount: StandardAmount, times: Decimal = Decimal(1)) -> Measured:
    """Give the shop's standard amount; it counts as assumed and enters no statistics."""
    whole = Quantity(amount.quantity.number * times, amount.quantity.unit)
    return Measured(quantity=in_stock_unit(whole, product), measure=Measure(way=Way.STANDARD))


def net_of(product: Product, gross: Quantity, tare: Quantity | None) -> Decimal:
    """Give what is in a container by its weight, in the stock unit. Raises TareNeeded, BelowTare.

    One decimal, as a common scale reads (0.1 g).
    """
    if tare is None:
        raise TareNeeded(product.name)
    net = gross.to("g") - tare.to("g")
    if net < 0:
        raise BelowTare(product.name, str(gross), str(tare))
    exact = exact_in_stock_unit(Quantity(round_to(net, MAX_DECIMALS), "g"), product)
    return _told(exact, product.unit, 1).number


def _told(exact: Fraction, unit: str, decimals: int, *, up: bool = False) -> Quantity:
    """Give an amount as a bench tells it: to decimals of a gram or a millilitre.

    A product that is counted in litres or kilograms keeps those decimals of the smaller unit.
    """
    known = UNITS[unit]
    small = known.factor if known.dimension in ("mass", "volume") else Fraction(1)
    rounded = _up(exact * small, decimals) if up else round_to(exact * small, decimals)
    return kept(Fraction(rounded) / small, unit)


def _decimals(step: Fraction) -> int:
    """Count the decimals that a scale with this step reads: 1 for 0.1 g, 2 for 0.05 g."""
    decimals = 0
    while (step * 10**decimals).denominator != 1 and decimals < MAX_SCALE_DECIMALS:
        decimals += 1
    return decimals


def _up(exact: Fraction, decimals: int) -> Decimal:
    """Round a doubt up, never down."""
    rounded = round_to(exact, decimals)
    step = Decimal(1).scaleb(-decimals)
    return rounded if Fraction(rounded) >= exact else rounded + step
