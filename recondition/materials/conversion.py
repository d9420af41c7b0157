"""Amounts as they are read off, in the unit that a product's stock is counted in."""

from __future__ import annotations

from fractions import Fraction

from recondition.amounts import Quantity
from recondition.amounts.quantity import MAX_DECIMALS
from recondition.amounts.rounding import round_to
from recondition.amounts.units import UNITS
from recondition.errors import Refused
from recondition.materials.products import Product

_PIECES = ("count", "sets")


class DensityNeeded(Refused):
    """A weight is to be told as a volume, or the reverse, without the density."""

    def __init__(self, product: str, found: str, wanted: str) -> None:
        """Name the product, the amount and the unit it is wanted in."""
        super().__init__(
            f"{found} of {product} cannot be told in {wanted} without its density",
            todo="Enter the density from section 9 of the safety data sheet ('recondition product "
            f"add' again, with --density-g-ml); where the sheet has none, measure in {wanted}.",
        )


class NoContainerSize(Refused):
    """Full containers of a product whose container size is not known."""

    def __init__(self, product: str, found: str) -> None:
        """Name the product and the amount."""
        super().__init__(
            f"{found} of {product} is an unknown amount: its container size is not on record",
            todo="Enter the container size with the product, or give the amount itself.",
        )


class ExpectedUsesNeeded(Refused):
    """Pieces of a reusable whose expected uses are not known."""

    def __init__(self, product: str) -> None:
        """Name the product."""
        super().__init__(
            f"{product} is counted in uses, and how many uses one piece has is not on record",
            todo="Enter its expected uses with the product, or give the amount in uses.",
        )


class OtherUnit(Refused):
    """An amount of a product in another kind of unit than its stock is counted in."""

    def __init__(self, product: str, unit: str, found: str) -> None:
        """Name the product, its unit and the amount given."""
        super().__init__(
            f"the unit of {product} is {unit}, and {found} is another kind of amount",
            todo=f"Give the amount with the unit {unit}, or one that converts to it.",
        )


def dimension_of(unit: str) -> str:
    """Name what a unit measures: volume, mass, count, uses."""
    return UNITS[unit].dimension


def exact_in_stock_unit(quantity: Quantity, product: Product) -> Fraction:
    """Give an amount in the product's stock unit, exactly.

    Weight and volume convert by the product's density, full containers by its container
    size, pieces of a reusable by its expected uses. Raises DensityNeeded, NoContainerSize,
    ExpectedUsesNeeded, OtherUnit.
    """
    own, wanted = dimension_of(quantity.unit), dimension_of(product.unit)
    if own == wanted:
        return quantity.to(product.unit)
    if {own, wanted} == {"mass", "volume"}:
        return _by_density(quantity, product)
    if own in _PIECES and wanted in ("mass", "volume"):
        if product.container_size is None:
            raise NoContainerSize(product.name, str(quantity))
        return quantity.to("piece" if own == "count" else quantity.unit) * exact_in_stock_unit(
            product.container_size, product
        )
    if own in _PIECES and wanted == "uses":
        if product.expected_uses is None:
            raise ExpectedUsesNeeded(product.name)
        pieces = quantity.to("piece" if own == "count" else quantity.unit)
        return pieces * product.expected_uses
    raise OtherUnit(product.name, product.unit, str(quantity))


def _by_density(quantity: Quantity, product: Product) -> Fraction:
    """Turn grams into millilitres or the reverse, in the stock unit. Raises DensityNeeded."""
    if product.density_g_ml is None:
        raise DensityNeeded(product.name, str(quantity), product.unit)
    density = Fraction(product.density_g_ml)
    if dimension_of(quantity.unit) == "mass":
        return quantity.to("g") / density / UNITS[product.unit].factor
    return quantity.to("ml") * density / UNITS[product.unit].factor


def in_stock_unit(quantity: Quantity, product: Product, *, decimals: int = 3) -> Quantity:
    """Give an amount in the product's stock unit, as it is kept.

    An amount with no finite decimal form (a weight over a density) is rounded here, once,
    half away from zero, to ``decimals`` of the stock unit. Raises as ``exact_in_stock_unit``.
    """
    return kept(exact_in_stock_unit(quantity, product), product.unit, decimals=decimals)


def kept(exact: Fraction, unit: str, *, decimals: int = 3) -> Quantity:
    """Give an exact amount as a quantity; rounded only where it has no finite decimal form."""
    rest = exact.denominator
    for prime in (2, 5):
        while rest % prime == 0:
            rest //= prime
    scale = 10**MAX_DECIMALS
    finite = rest == 1 and (exact * scale).denominator == 1
    return Quantity(round_to(exact, MAX_DECIMALS if finite else decimals), unit)


def in_millilitres(quantity: Quantity, product: Product) -> Fraction:
    """Give an amount of a product in millilitres, exactly. Raises DensityNeeded, OtherUnit."""
    own = dimension_of(quantity.unit)
    if own == "volume":
        return quantity.to("ml")
    if own != "mass":
        raise OtherUnit(product.name, "ml", str(quantity))
    if product.density_g_ml is None:
        raise DensityNeeded(product.name, str(quantity), "ml")
    return quantity.to("g") / Fraction(product.density_g_ml)
