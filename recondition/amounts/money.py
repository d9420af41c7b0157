"""Money: a whole number of a currency's minor unit (cents, pence, yen), never a float."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING

from recondition.amounts.currencies import minor_digits
from recondition.amounts.exact import (
    Exact,
    as_fraction,
    decimal_from_text,
    decimal_from_units,
    require_exact,
)
from recondition.amounts.rounding import round_half_away
from recondition.errors import Refused

if TYPE_CHECKING:
    from collections.abc import Iterable

# The largest integer that both SQLite and PostgreSQL keep in one column.
MAX_MINOR = 2**63 - 1
# A power of ten beyond MAX_MINOR on one side and beyond any currency's decimals on the other.
MAX_EXPONENT = 60


class NotAnAmount(Refused):
    """The text or number cannot be read as an amount of money."""


class TooFineForCurrency(Refused):
    """The amount has more decimals than its currency."""


class AmountTooLarge(Refused):
    """The amount does not fit into the 64-bit integer that a book stores."""


class CurrencyMismatch(Refused):
    """Two amounts in different currencies were added or compared."""


@dataclass(frozen=True, slots=True)
class Money:
    """An amount as ``minor``, a count of the minor unit of ``currency`` (ISO 4217 code).

    Raises TypeError where ``minor`` is not an int, UnknownCurrency, and AmountTooLarge
    beyond 64 bits.
    """

    minor: int
    currency: str

    def __post_init__(self) -> None:
        """Refuse what could not be stored exactly."""
        if isinstance(self.minor, bool) or not isinstance(self.minor, int):
            msg = f"minor units are a whole number (int), not {type(self.minor).__name__}"
            raise TypeError(msg)
        minor_digits(self.currency)
        if abs(self.minor) > MAX_MINOR:
            raise _too_large(self.currency)

    @classmethod
    def of(cls, amount: str | Decimal | int, currency: str) -> Money:
        """Return the money for ``amount`` in major units (dollars), exactly as given.

        Text is plain decimal, ``-1234.50``, and may have fewer decimals than the currency
        but not more, zeros included: ``12.500`` dollars may be meant as twelve thousand
        five hundred. A Decimal is taken by its value. Nothing is rounded. Raises
        NotAnAmount, TooFineForCurrency, AmountTooLarge, UnknownCurrency; TypeError for a
        float.
        """
        digits = minor_digits(currency)
        number = _number(amount, currency)
        decimals_written = _decimals(number) if isinstance(amount, str) else 0
        minor = Fraction(number) * 10**digits
        if decimals_written > digits or minor.denominator != 1:
            what = f"{amount} has more decimals than {currency}, which has {digits}."
            todo = f"Write the amount with at most {digits} decimals."
            raise TooFineForCurrency(what, todo=todo)
        return Money(int(minor), currency)

    @classmethod
    def zero(cls, currency: str) -> Money:
        """Return nothing, in ``currency``."""
        return Money(0, currency)

    @property
    def fraction(self) -> Fraction:
        """The exact amount in major units, for further arithmetic."""
        return Fraction(self.minor, 10 ** minor_digits(self.currency))

    @property
    def number(self) -> Decimal:
        """The exact amount in major units with the currency's decimals."""
        return decimal_from_units(self.minor, minor_digits(self.currency))

    def __str__(self) -> str:
        """Return ``1234.50``: plain decimal with the currency's decimals."""
        return f"{self.number:f}"

    @property
    def text(self) -> str:
        """``1234.50 USD``."""
        return f"{self} {self.currency}"

    @property
    def grouped(self) -> str:
        """``1,234.50``, for people."""
        return f"{self.number:,f}"

    def __bool__(self) -> bool:
        """Tell whether there is any amount, owed or owing."""
        return self.minor != 0

    def __add__(self, other: Money) -> Money:
        """Add; raises CurrencyMismatch."""
        return Money(self.minor + _minor_in(self.currency, other), self.currency)

    def __sub__(self, other: Money) -> Money:
        """Subtract; raises CurrencyMismatch."""
        return Money(self.minor - _minor_in(self.currency, other), self.currency)

    def __neg__(self) -> Money:
        """Return the amount that reverses this one exactly."""
        return Money(-self.minor, self.currency)

    def __abs__(self) -> Money:
        """Return the amount without its sign."""
        return Money(abs(self.minor), self.currency)

    def __lt__(self, other: Money) -> bool:
        """Compare; raises CurrencyMismatch."""
        return self.minor < _minor_in(self.currency, other)

    def __le__(self, other: Money) -> bool:
        """Compare; raises CurrencyMismatch."""
        return self.minor <= _minor_in(self.currency, other)

    def __gt__(self, other: Money) -> bool:
        """Compare; raises CurrencyMismatch."""
        return self.minor > _minor_in(self.currency, other)

    def __ge__(self, other: Money) -> bool:
        """Compare; raises CurrencyMismatch."""
        return self.minor >= _minor_in(self.currency, other)

    def times(self, factor: Exact) -> Money:
        """Multiply and round once, half away from zero; TypeError for a float."""
        return Money(round_half_away(as_fraction(factor) * self.minor), self.currency)


def total(monies: Iterable[Money], currency: str) -> Money:
    """Add up amounts that are all in ``currency``; none give zero.

    Raises CurrencyMismatch, and AmountTooLarge only for the sum itself.
    """
    return Money(sum(_minor_in(currency, money) for money in monies), currency)


def rounded(value: Exact, currency: str) -> Money:
    """Return ``value``, in major units, as money: rounded once, half away from zero."""
    minor = round_half_away(as_fraction(value) * 10 ** minor_digits(currency))
    return Money(minor, currency)


def _minor_in(currency: str, money: Money) -> int:
    """Return the minor units of ``money`` once it is known to be in ``currency``."""
    if not isinstance(money, Money):
        msg = f"money goes with money, not with {type(money).__name__}"
        raise TypeError(msg)
    if money.currency != currency:
        what = f"{money.text} is not in {currency}."
        todo = "Convert it first, at a rate whose source is kept."
        raise CurrencyMismatch(what, todo=todo)
    return money.minor


def _number(amount: str | Decimal | int, currency: str) -> Decimal:
    """Return a finite Decimal of a sane size, or raise NotAnAmount or AmountTooLarge."""
    if isinstance(amount, str):
        number = decimal_from_text(amount)
    else:
        require_exact(amount)
        number = Decimal(amount)
    if number is None or not number.is_finite() or number.adjusted() < -MAX_EXPONENT:
        what = f"{amount!r} is not an amount of money."
        todo = "Write digits with a decimal point, for example 1234.50."
        raise NotAnAmount(what, todo=todo)
    # Checked before any arithmetic: 1E+999999999 would fill the memory.
    if number.adjusted() > MAX_EXPONENT:
        raise _too_large(currency)
    return number


def _decimals(number: Decimal) -> int:
    """Return how many decimals are written."""
    exponent = number.as_tuple().exponent
    return -exponent if isinstance(exponent, int) else 0


def _too_large(currency: str) -> AmountTooLarge:
    """Return the refusal of an amount beyond 64 bits."""
    what = f"The amount in {currency} is larger than a book can hold."
    todo = "Look for a number that was typed twice or without its decimal point."
    return AmountTooLarge(what, todo=todo)
