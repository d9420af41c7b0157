"""Dilution: parts of product and of water, and the millilitres that make a batch.

Kept are the two numbers of parts, exact, beside the label's text as printed; ``labels`` reads
it. Volumes are in millilitres, exact until they are poured. Stock and cost count the product
only: water has no stock.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from recondition.amounts.exact import Exact, as_fraction, decimal_from_units
from recondition.amounts.quantity import Quantity
from recondition.amounts.rounding import round_half_away
from recondition.errors import Refused


class NoProduct(Refused):
    """A dilution with no product in it."""

    def __init__(self, label: str) -> None:
        """Say that nothing would be mixed."""
        what = f"{label.strip()!r} has no product in it: the parts of product are 0."
        super().__init__(what, todo="Read the label again; a product used as it is, is neat.")


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


def _parts(number: Decimal) -> str:
    """Write ``1 part`` or ``10 parts``."""
    return f"{number:f} part{'' if number == 1 else 's'}"


def _above_zero(ml: Exact) -> Fraction:
    """Return the volume as a fraction; raises NothingToMix unless it is above zero."""
    exact = as_fraction(ml)
    if exact <= 0:
        raise NothingToMix
    return exact
