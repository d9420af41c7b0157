"""One cell as a file or a command gives it, and every way in which it can be wrong."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import ClassVar

from recondition.errors import Refused

CellValue = str | int | float | Decimal | bool | datetime | date | time | timedelta | None

FOUND_LENGTH_MAX = 60

# What people's keyboards and other programs leave around a text without meaning it.
STRAY = "".join(
    chr(code)
    for first, last in (
        (0x09, 0x0D), (0x20, 0x20), (0xA0, 0xA0), (0x2000, 0x200B), (0x202F, 0x202F),
        (0x205F, 0x205F), (0x3000, 0x3000), (0xFEFF, 0xFEFF),
    )
    for code in range(first, last + 1)
)  # fmt: skip

# What a spreadsheet shows in place of a value that it could not work out.
ERRORS = frozenset(
    {"#DIV/0!", "#N/A", "#NAME?", "#NULL!", "#NUM!", "#REF!", "#VALUE!", "#SPILL!", "#CALC!"}
)


@dataclass(frozen=True, slots=True)
class Cell:
    """A cell's stored value and the number format it is shown in.

    ``formula_without_value`` tells of a formula whose result the file does not hold.
    """

    value: CellValue
    number_format: str = "General"
    formula_without_value: bool = False

    @property
    def blank(self) -> bool:
        """Whether nothing stands in it but stray blanks."""
        if self.formula_without_value:
            return False
        return self.value is None or (isinstance(self.value, str) and not tidy(self.value))

    @property
    def found(self) -> str:
        """The text to show in a message, shortened."""
        if self.formula_without_value:
            return "a formula"
        if isinstance(self.value, datetime) and self.value.time() == time():
            return self.value.date().isoformat()
        text = str(self.value) if self.value is not None else ""
        if isinstance(self.value, bool):
            text = text.upper()
        text = "".join(sign if sign.isprintable() else "\ufffd" for sign in tidy(text))
        return text if len(text) <= FOUND_LENGTH_MAX else text[: FOUND_LENGTH_MAX - 3] + "..."


def tidy(text: str) -> str:
    """Take off the blanks around a text, the ones that cannot be seen too."""
    return text.strip(STRAY)


class CellRefused(Refused):
    """A cell cannot be read; ``kind`` names the mistake where mistakes are counted."""

    kind: ClassVar[str] = "cell not readable"


class RequiredEmpty(CellRefused):
    """Nothing stands where something is needed."""

    kind = "required cell empty"


class FormulaWithoutValue(CellRefused):
    """A formula whose result was never stored in the file."""

    kind = "formula without a stored value"


class FormulaError(CellRefused):
    """A formula that the spreadsheet itself could not work out."""

    kind = "formula with an error"


class DamagedBySpreadsheet(CellRefused):
    """A spreadsheet changed what was typed, and the change cannot be undone."""

    kind = "damaged by a spreadsheet"


class ControlCharacter(CellRefused):
    """A character that cannot be seen and does not belong there."""

    kind = "control character"


class TooLong(CellRefused):
    """A text is longer than a name can be."""

    kind = "text too long"


class BadRef(CellRefused):
    """A ref holds blanks, commas or semicolons, which separate refs elsewhere."""

    kind = "ref not usable"


class NotInList(CellRefused):
    """A word that is not one of those allowed."""

    kind = "not one of the list"


class NotYesOrNo(CellRefused):
    """Neither yes nor no."""

    kind = "neither yes nor no"


class NotANumber(CellRefused):
    """Text that is no number under the book's decimal mark."""

    kind = "number not readable"


class OutOfBounds(CellRefused):
    """A number outside what the column can mean."""

    kind = "number out of bounds"


class NoCurrencyNamed(CellRefused):
    """A foreign amount without its currency."""

    kind = "currency missing"


class OtherCurrencySign(CellRefused):
    """An amount with the sign or code of another currency than the book's."""

    kind = "other currency"


class TooFine(CellRefused):
    """An amount with more decimals than its currency."""

    kind = "too many decimals"


class UnitNotReadable(CellRefused):
    """An amount without its unit, or with one that is not known or does not fit."""

    kind = "unit not readable"


class NotADate(CellRefused):
    """Text or a number that is no date under the book's date order."""

    kind = "date not readable"


class BadRate(CellRefused):
    """A rate in slices that cannot be read, or whose slices are out of order."""

    kind = "rate not readable"


class NamedTwice(CellRefused):
    """The same thing stands twice in one list."""

    kind = "named twice"


class BadFile(CellRefused):
    """A file that is not there, or lies outside the folder of the import."""

    kind = "file not found"
