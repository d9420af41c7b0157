"""Quantity: an exact decimal number with its unit."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from recondition.amounts.exact import decimal_from_text, decimal_from_units, require_exact
from recondition.amounts.units import UNITS, Unit, UnitMismatch, UnknownUnit, unit_named
from recondition.errors import Refused

# Bounds that no measured thing reaches; they keep the exact arithmetic small.
MAX_WHOLE_DIGITS = 18
MAX_DECIMALS = 30


class NotAQuantity(Refused):
    """The text or number cannot be read as a quantity."""


@dataclass(frozen=True, slots=True)
class Quantity:
    """``number`` of ``unit``, where ``unit`` is a code of the units table.

    The number is kept in one form (no trailing zeros, no exponent, no negative zero), so
    equal quantities in one unit are equal as text too. Raises TypeError unless the number
    is a Decimal, NotAQuantity where it is not finite or beyond 18 whole digits or 30
    decimals, UnknownUnit for anything but a code.
    """

    number: Decimal
    unit: str

    def __post_init__(self) -> None:
        """Check both parts and bring the number into its one form."""
        if not isinstance(self.number, Decimal):
            msg = f"a quantity is a Decimal, not {type(self.number).__name__}"
            raise TypeError(msg)
        if self.unit not in UNITS:
            what = f"{self.unit!r} is not the code of a unit."
            raise UnknownUnit(what, todo=f"Use one of: {', '.join(UNITS)}.")
        object.__setattr__(self, "number", _one_form(self.number))

    @classmethod
    def of(cls, number: str | Decimal | int, unit: str) -> Quantity:
        """Return the quantity, with ``unit`` by its code or a name people write.

        Raises NotAQuantity, UnknownUnit, AmbiguousUnit; TypeError for a float.
        """
        if isinstance(number, str):
            read = decimal_from_text(number)
            if read is None:
                raise _not_a_quantity(number)
        else:
            require_exact(number)
            read = Decimal(number)
        return cls(read, unit_named(unit).code)

    @property
    def fraction(self) -> Fraction:
        """The exact number in the quantity's own unit."""
        return Fraction(self.number)

    @property
    def number_text(self) -> str:
        """The number as plain decimal, ``2.5``, without the unit."""
        return f"{self.number:f}"

    def __str__(self) -> str:
        """Return ``2.5 h``."""
        return f"{self.number_text} {self.unit}"

    def __bool__(self) -> bool:
        """Tell whether there is any."""
        return bool(self.number)

    def to(self, unit: str) -> Fraction:
        """Return the exact number in another unit of the same dimension.

        Raises UnitMismatch where the two do not measure the same thing, UnknownUnit.
        """
        wanted = unit_named(unit)
        return self._base_in(wanted) / wanted.factor

    def __add__(self, other: Quantity) -> Quantity:
        """Add in one unit; raises UnitMismatch."""
        return _from_fraction(self.fraction + self._number_of(other), self.unit)

    def __sub__(self, other: Quantity) -> Quantity:
        """Subtract in one unit; raises UnitMismatch."""
        return _from_fraction(self.fraction - self._number_of(other), self.unit)

    def __neg__(self) -> Quantity:
        """Return the quantity that undoes this one exactly."""
        return Quantity(self.number.copy_negate(), self.unit)

    # Order compares what is measured (90 min > 1 h); equality compares number and unit, as
    # stored, so 60 min and 1 h are neither equal nor smaller nor larger.

    def __lt__(self, other: Quantity) -> bool:
        """Compare by measure; raises UnitMismatch."""
        return self._difference(other) < 0

    def __le__(self, other: Quantity) -> bool:
        """Compare by measure; raises UnitMismatch."""
        return self._difference(other) <= 0

    def __gt__(self, other: Quantity) -> bool:
        """Compare by measure; raises UnitMismatch."""
        return self._difference(other) > 0

    def __ge__(self, other: Quantity) -> bool:
        """Compare by measure; raises UnitMismatch."""
        return self._difference(other) >= 0

    def _base_in(self, wanted: Unit) -> Fraction:
        """Return the number of base units, once ``wanted`` measures the same thing."""
        own = UNITS[self.unit]
        if own.dimension != wanted.dimension:
            what = f"{self} cannot be told in {wanted.words}."
            todo = (
                f"Give both in units of one kind: {own.words} are {own.dimension}, "
                f"{wanted.words} {wanted.dimension}."
            )
            raise UnitMismatch(what, todo=todo)
        return self.fraction * own.factor

    def _difference(self, other: Quantity) -> Fraction:
        """Return this minus the other in base units."""
        _require_quantity(other)
        theirs = UNITS[other.unit]
        return self._base_in(theirs) - other.fraction * theirs.factor

    def _number_of(self, other: Quantity) -> Fraction:
        """Return the other's number once it is known to be in the same unit."""
        _require_quantity(other)
        if other.unit != self.unit:
            what = f"{self} and {other} are in different units."
            raise UnitMismatch(what, todo="Give both in the same unit.")
        return other.fraction


def _require_quantity(other: object) -> None:
    """Raise TypeError for anything but a quantity."""
    if not isinstance(other, Quantity):
        msg = f"a quantity goes with a quantity, not with {type(other).__name__}"
        raise TypeError(msg)


def _one_form(number: Decimal) -> Decimal:
    """Return the number without trailing zeros, exponent or negative zero."""
    sign, digits, exponent = number.as_tuple()
    if not isinstance(exponent, int):
        raise _not_a_quantity(number)
    if not number:
        return Decimal(0)
    kept = len(digits)
    while digits[kept - 1] == 0:
        kept -= 1
    places = -(exponent + len(digits) - kept)
    if number.adjusted() >= MAX_WHOLE_DIGITS or places > MAX_DECIMALS:
        raise _not_a_quantity(number)
    return Decimal((sign, digits[:kept] + (0,) * max(0, -places), min(0, -places)))


def _from_fraction(value: Fraction, unit: str) -> Quantity:
    """Return the quantity for a sum of decimals, whose denominator divides a power of ten."""
    units = value * 10**MAX_DECIMALS
    return Quantity(decimal_from_units(units.numerator, MAX_DECIMALS), unit)


def _not_a_quantity(number: object) -> NotAQuantity:
    """Return the refusal of something that is no sensible number."""
    what = f"{number!s:.40} is not a quantity."
    todo = "Write digits with a decimal point, for example 2.5, and the unit beside it."
    return NotAQuantity(what, todo=todo)
