"""Reading cells that hold numbers: plain numbers, money, shares, percents, quantities.

Text follows the book's decimal mark; numbers that a spreadsheet stored come as binary
floats and are read at the 15 digits that the spreadsheet itself keeps and shows.
"""

from __future__ import annotations

import re
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING

from recondition.amounts import Money, Quantity
from recondition.amounts.currencies import CODES, minor_digits
from recondition.amounts.money import AmountTooLarge, TooFineForCurrency
from recondition.amounts.quantity import NotAQuantity
from recondition.amounts.rounding import round_half_away
from recondition.amounts.units import UNITS, UnknownUnit, unit_named
from recondition.errors import Refused
from recondition.intake.cells import (
    Cell,
    DamagedBySpreadsheet,
    NoCurrencyNamed,
    NotANumber,
    OutOfBounds,
    TooFine,
    UnitNotReadable,
    tidy,
)
from recondition.intake.signs import without_currency
from recondition.intake.texts import DIGITS_KEPT, stored

if TYPE_CHECKING:
    from recondition.book.settings import Settings
    from recondition.intake.spec import ColumnSpec

TEXT_LENGTH_MAX = 60
# Binary numbers end at about 1E-324; a smaller one would fill the memory as a fraction.
SMALLEST_MAX = 400
# What both databases keep as a whole number.
WHOLE_MAX = 1_000_000_000
# Units that are counted, never measured: half of one is another thing.
COUNTED = frozenset({"piece", "pair", "set"})
# How far a stored amount may lie from a whole minor unit and still be the spreadsheet's noise.
NOISE_MAX = Fraction(1, 10**9)

_BLANK = " \u00a0\u2009\u202f"
_GROUPS = {"point": rf"[,{_BLANK}'\u2019]", "comma": rf"[.{_BLANK}'\u2019]"}
_MARKS = {"point": ".", "comma": ","}
_NUMBER = {
    name: re.compile(
        rf"(?P<sign>[+\-\u2212]?)\s*"
        rf"(?P<whole>[0-9]{{1,3}}(?:(?P<group>{_GROUPS[name]})[0-9]{{3}})(?:(?P=group)[0-9]{{3}})*"
        rf"|[0-9]+)?(?:{re.escape(mark)}(?P<decimals>[0-9]+))?"
    )
    for name, mark in _MARKS.items()
}
_SCIENTIFIC = re.compile(r"[+-]?[0-9]+(?:[.,][0-9]+)?[eE][+-]?[0-9]+")
_WITH_UNIT = re.compile(
    rf"(?P<number>[+\-\u2212]?[0-9.,'\u2019{_BLANK}]*[0-9])\s*(?P<unit>.*)", re.DOTALL
)


def plain(text: str, settings: Settings) -> str:
    """Turn a typed number into plain decimal text, ``-1234.50``; raises NotANumber."""
    stripped = tidy(text)
    match = _NUMBER[settings.decimal_mark].fullmatch(stripped)
    if match is None or not (match["whole"] or match["decimals"]) or len(text) > TEXT_LENGTH_MAX:
        raise _not_a_number(stripped, settings)
    whole = "".join(sign for sign in match["whole"] or "0" if sign.isdigit())
    decimals = f".{match['decimals']}" if match["decimals"] else ""
    return ("-" if match["sign"] in ("-", "\u2212") else "") + whole + decimals


def _not_a_number(text: str, settings: Settings) -> NotANumber | DamagedBySpreadsheet:
    """Say why a text is no number here."""
    if _SCIENTIFIC.fullmatch(text):
        what = "The number stands in scientific notation, so digits may be lost."
        return DamagedBySpreadsheet(what, todo="Write it out in digits.")
    example = "12.5" if settings.decimal_mark == "point" else "12,5"
    other = "comma" if settings.decimal_mark == "point" else "point"
    if _NUMBER[other].fullmatch(text):
        what = f"That is no number with a decimal {settings.decimal_mark}, as this book has it."
        todo = f"Write it like {example}, or put 'decimal mark' = {other} on the sheet settings."
        return NotANumber(what, todo=todo)
    what = "That is not a number."
    return NotANumber(what, todo=f"Write digits only, like {example}.")


def exact(value: float | Decimal) -> Decimal:
    """Give a stored number exactly as the spreadsheet shows it, at its 15 digits.

    Raises DamagedBySpreadsheet where the number has more digits than it can keep.
    """
    number = Decimal(format(value, f".{DIGITS_KEPT}g")) if isinstance(value, float) else value
    number = Decimal(number)
    if not number.is_finite() or not -SMALLEST_MAX <= number.adjusted() < DIGITS_KEPT:
        what = f"A spreadsheet keeps {DIGITS_KEPT} digits of a number; the rest is lost."
        raise DamagedBySpreadsheet(what, todo="Format the cell as text and type it again.")
    return number


def _typed(cell: Cell) -> str | Decimal:
    """Give what a cell holds as text or as a number; a date or a yes is neither."""
    value = stored(cell).value
    if isinstance(value, str):
        return value
    if isinstance(value, bool) or not isinstance(value, int | float | Decimal):
        what = "A date, a time or a yes stands where a number belongs."
        raise NotANumber(what, todo="Format the cell as a number and type it again.")
    return exact(value)


def _decimal(cell: Cell, settings: Settings) -> Decimal:
    """Read any number."""
    typed = _typed(cell)
    return typed if isinstance(typed, Decimal) else Decimal(plain(typed, settings))


def number(cell: Cell, column: ColumnSpec, settings: Settings) -> Decimal:
    """Read hours, days and the like: zero or more."""
    found = _decimal(cell, settings)
    if found < 0:
        what = f"The {column.heading} cannot be below zero."
        raise OutOfBounds(what, todo="Write zero or more.")
    return found


def whole(cell: Cell, column: ColumnSpec, settings: Settings) -> int:
    """Read a whole number, zero or more."""
    found = number(cell, column, settings)
    if found != found.to_integral_value():
        what = "That is not a whole number."
        raise OutOfBounds(what, todo="Write it without decimals.")
    if found > WHOLE_MAX:
        what = f"A count is {WHOLE_MAX:,} at most."
        raise OutOfBounds(what, todo="Look for a number that was typed twice.")
    return int(found)


def money(cell: Cell, column: ColumnSpec, settings: Settings) -> Money:
    """Read an amount in the book's currency, with or without its sign or code."""
    found = _money(cell, settings)
    if column.at_least is not None and found < Money.of(column.at_least, settings.currency):
        least = "nothing" if column.at_least == 0 else f"{column.at_least:,}"
        what = f"The {column.heading} cannot be below {least}."
        raise OutOfBounds(what, todo="Write zero or more, without a minus or brackets.")
    return found


def foreign_money(cell: Cell, column: ColumnSpec, settings: Settings) -> Money:
    """Read an amount that names its own currency, before or after it: ``58000.00 EUR``."""
    text = tidy(str(cell.value))
    named = [word for word in (text[:3], text[-3:]) if word.upper() in CODES]
    if not named:
        what = f"The {column.heading} does not name its currency."
        raise NoCurrencyNamed(what, todo="Write it with its ISO 4217 code, such as 58000.00 EUR.")
    code = named[0].upper()
    own = replace(settings, currency=code)
    return money(Cell(text), replace(column, at_least=0), own)


def amount(text: str, settings: Settings, where: str) -> Money:
    """Read an amount as it is typed anywhere, with the book's decimal mark and in its currency.

    ``where`` names what was typed. Raises NotANumber, NotAnAmount and their like.
    """
    try:
        return _money(Cell(text), settings)
    except Refused as refused:
        refused.where = refused.where or where
        raise


def _money(cell: Cell, settings: Settings) -> Money:
    """Read any amount in the book's currency."""
    typed = _typed(cell)
    currency = settings.currency
    without_currency("", cell.number_format, currency)
    try:
        if isinstance(typed, Decimal):
            return _from_stored(typed, currency)
        bare = tidy(typed)
        if len(bare) > TEXT_LENGTH_MAX:
            raise _not_a_number(bare, settings)
        bare = without_currency(bare, "General", currency)
        return Money.of(plain(bare, settings), currency)
    except TooFineForCurrency as refused:
        raise _too_fine(currency) from refused
    except AmountTooLarge as refused:
        raise OutOfBounds(refused.what, todo=refused.todo) from refused


def _from_stored(typed: Decimal, currency: str) -> Money:
    """Give the money nearest to a stored number if only binary noise parts the two."""
    exact_minor = Fraction(typed) * 10 ** minor_digits(currency)
    minor = round_half_away(exact_minor)
    if abs(exact_minor - minor) > NOISE_MAX * 10 ** minor_digits(currency):
        raise _too_fine(currency)
    return Money(minor, currency)


def _too_fine(currency: str) -> TooFine:
    """Give the refusal of an amount that its currency cannot hold."""
    digits = minor_digits(currency)
    what = f"The amount has more decimals than {currency}, which has {digits}."
    return TooFine(what, todo=f"Write it with at most {digits} decimals; nothing is rounded here.")


def percent(cell: Cell, _column: ColumnSpec, settings: Settings) -> Decimal:
    """Read a percentage: 3.5 and 3.5% are both three and a half percent."""
    typed = _typed(cell)
    if isinstance(typed, Decimal):
        return typed.scaleb(2) if "%" in cell.number_format else typed
    return Decimal(plain(tidy(typed).removesuffix("%"), settings))


def fraction(cell: Cell, settings: Settings) -> Decimal | None:
    """Read a rate from 0 to 1, as 0.06 or 6%; None where it is neither."""
    typed = _typed(cell)
    if isinstance(typed, Decimal):
        found = typed
    elif tidy(typed).endswith("%"):
        found = Decimal(plain(tidy(typed)[:-1], settings)).scaleb(-2)
    else:
        found = Decimal(plain(typed, settings))
    return found if 0 <= found <= 1 else None


def share(cell: Cell, _column: ColumnSpec, settings: Settings) -> Decimal:
    """Read a share from 0 to 1; 90% is 0.9, and a bare 90 is refused."""
    todo = "Write 90 percent as 0.9 or as 90%."
    try:
        found = fraction(cell, settings)
    except NotANumber as refused:
        raise NotANumber(refused.what, todo=todo) from None
    if found is None:
        what = f"The {_column.heading} lies between 0 and 1."
        raise OutOfBounds(what, todo=todo)
    return found


def quantity(cell: Cell, column: ColumnSpec, settings: Settings) -> Quantity:
    """Read an amount with its unit, ``35 ml``; a bare number takes the column's unit, if any."""
    typed = _typed(cell)
    if isinstance(typed, Decimal):
        amount, unit = typed, ""
    else:
        match = _WITH_UNIT.fullmatch(tidy(typed))
        if match is None:
            raise _not_a_number(tidy(typed), settings)
        amount, unit = Decimal(plain(match["number"], settings)), match["unit"]
    if column.at_least is not None and amount < column.at_least:
        what = f"An amount is {column.at_least} or more."
        raise OutOfBounds(what, todo="Write how much it was.")
    if column.at_least is None and amount <= 0:
        what = "An amount is more than zero."
        raise OutOfBounds(what, todo="Write how much it was.")
    return _with_unit(amount, tidy(unit) or column.unit, column)


def _with_unit(amount: Decimal, unit: str, column: ColumnSpec) -> Quantity:
    """Put number and unit together; raises UnitNotReadable."""
    if not unit:
        todo = f"Write the unit after the number, like {column.example or '35 ml'}."
        what = "The unit is missing."
        raise UnitNotReadable(what, todo=todo)
    try:
        found = Quantity(amount, unit_named(unit).code)
    except UnknownUnit as refused:
        raise UnitNotReadable(refused.what, todo=refused.todo) from refused
    except NotAQuantity as refused:
        raise OutOfBounds(refused.what, todo="Write fewer digits.") from refused
    if found.unit in COUNTED and amount != amount.to_integral_value():
        what = f"There is no part of a {found.unit}: {UNITS[found.unit].words} are counted whole."
        raise OutOfBounds(what, todo="Write a whole number, or a unit that is measured.")
    if column.unit == "h" and UNITS[found.unit].dimension != "time":
        what = "Hours are counted in units of time."
        raise UnitNotReadable(what, todo="Write 2.5, or 150 min.")
    return found
