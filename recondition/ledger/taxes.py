"""Tax codes as a book keeps them, and the tax of one line.

No rate is built in: each stands in the book with its first day, how much of it comes back and
where it was read. General information; the local accountant decides.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING

from recondition.amounts import Money
from recondition.amounts.money import rounded
from recondition.errors import Refused
from recondition.fields import Words

if TYPE_CHECKING:
    from collections.abc import Iterable


@dataclass(frozen=True, slots=True, kw_only=True)
class TaxCode:
    """One rate of one code from a day on.

    ``rate`` is a fraction of the amount without tax; ``recoverable`` the share of tax paid that
    comes back (1 all of it, 0 none: then it is cost). ``charged_on`` are the kinds of line that
    it is charged on when they are billed to an owner. ``last_day`` ends it where no later row
    of the same code does.
    """

    code: str
    from_date: date
    rate: Decimal
    recoverable: Decimal
    source: Words
    last_day: date | None = None
    charged_on: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class LineTax:
    """The tax on one amount: all of it, and what of it comes back."""

    tax: Money
    recovered: Money

    @property
    def cost(self) -> Money:
        """What stays with the shop."""
        return self.tax - self.recovered


class NoTaxCode(Refused):
    """A tax code that has no rate on the day."""

    def __init__(self, code: str, day: str) -> None:
        """Name code and day."""
        super().__init__(
            f"tax code {code!r} has no rate on {day}",
            todo="Add it to the sheet 'tax codes' (or 'recondition tax add') with its first day "
            "and where the rate was read.",
        )


class BadTaxCode(Refused):
    """A tax code that says something impossible."""

    def __init__(self, why: str) -> None:
        """Say what is impossible."""
        super().__init__(f"the tax code cannot be used: {why}", todo="Correct the row.")


class TaxWithoutCode(Refused):
    """A tax amount on a line that names no tax code."""

    def __init__(self) -> None:
        """Say what is missing."""
        super().__init__(
            "the line has tax and no tax code, so nobody knows whether it comes back",
            todo="Name the tax code as in the sheet 'tax codes'.",
        )


def check_code(entry: TaxCode, line_kinds: Iterable[str]) -> None:
    """Refuse a code whose rate, share or days cannot be. Raises BadTaxCode."""
    if not 0 <= entry.rate < 1:
        raise BadTaxCode(why="its rate is not from 0 % to below 100 %")
    if not 0 <= entry.recoverable <= 1:
        raise BadTaxCode(why="what comes back is not from 0 % to 100 %")
    if entry.last_day is not None and entry.last_day < entry.from_date:
        raise BadTaxCode(why="its last day lies before its first")
    unknown = sorted(set(entry.charged_on) - set(line_kinds))
    if unknown:
        raise BadTaxCode(why=f"there is no kind of line {unknown[0]!r} that it could be charged on")


def in_force(codes: Iterable[TaxCode], code: str, day: date) -> TaxCode | None:
    """Give the row of a code that holds on a day, None where there is none."""
    rows = [c for c in codes if c.code == code and c.from_date <= day]
    if not rows:
        return None
    newest = max(rows, key=lambda row: row.from_date)
    return None if newest.last_day is not None and newest.last_day < day else newest


def tax_on(net: Money, code: TaxCode, stated: Money | None = None) -> LineTax:
    """Give the tax on an amount without tax: as stated on the invoice, else rate times it.

    Tax and what comes back of it are each rounded once.
    """
    tax = (
        stated if stated is not None else rounded(net.fraction * Fraction(code.rate), net.currency)
    )
    return LineTax(tax, rounded(tax.fraction * Fraction(code.recoverable), tax.currency))


def tax_within(gross: Money, rate: Decimal) -> Money:
    """Give the tax contained in an amount that includes it: gross x r / (1 + r), rounded once."""
    r = Fraction(rate)
    return rounded(gross.fraction * r / (1 + r), gross.currency)
