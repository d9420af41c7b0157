"""Reading cells that hold text: names, numbers of chassis and invoices, words, choices."""

from __future__ import annotations

import difflib
import re
import unicodedata
from datetime import date, time, timedelta
from decimal import Decimal
from typing import TYPE_CHECKING

from recondition.amounts.units import UnknownUnit, unit_named
from recondition.condition.findings import SEVERITY_WORDS
from recondition.intake.cells import (
    ERRORS,
    STRAY,
    BadRef,
    Cell,
    ControlCharacter,
    DamagedBySpreadsheet,
    FormulaError,
    FormulaWithoutValue,
    NotInList,
    NotYesOrNo,
    OutOfBounds,
    TooLong,
    UnitNotReadable,
    tidy,
)

if TYPE_CHECKING:
    from recondition.book.settings import Settings
    from recondition.intake.spec import ColumnSpec

CODE_LENGTH_MAX = 300
REF_LENGTH_MAX = 60
WORDS_LENGTH_MAX = 20_000
# A spreadsheet keeps 15 digits of a number and puts zeros for the rest.
DIGITS_KEPT = 15

_SCIENTIFIC = re.compile(r"[+-]?\d(?:[.,]\d+)?[eE]\+\d{1,3}")
_ZEROS = re.compile(r'(?:"(?P<before>[^"]*)")?(?P<zeros>0+)(?:"(?P<after>[^"]*)")?')
_TURNING = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
_YES = frozenset({"yes", "y", "true", "1", "x"})
_NO = frozenset({"no", "n", "false", "0"})


def stored(cell: Cell) -> Cell:
    """Give the cell back if it has a value; raises FormulaWithoutValue, FormulaError."""
    if cell.formula_without_value:
        what = "The formula has no stored value."
        todo = "Open the file in a spreadsheet and save it, or put the value in its place."
        raise FormulaWithoutValue(what, todo=todo)
    if isinstance(cell.value, str) and tidy(cell.value) in ERRORS:
        what = "The spreadsheet could not work this formula out."
        raise FormulaError(what, todo="Mend the formula, or put the value in its place.")
    return cell


def as_text(cell: Cell) -> str:
    """Give a cell's text as it was typed; raises DamagedBySpreadsheet where that is lost."""
    value = stored(cell).value
    if isinstance(value, str):
        text = tidy(value).replace("\u00a0", " ")
        if _SCIENTIFIC.fullmatch(text):
            what = "A spreadsheet turned a long number into scientific notation."
            raise _damaged(what)
        return text
    if isinstance(value, bool):
        what = "A spreadsheet turned the text into true or false."
        raise _damaged(what)
    if isinstance(value, int | float | Decimal):
        return _text_of_number(value, cell.number_format)
    if isinstance(value, date | time | timedelta):
        what = "A spreadsheet turned the text into a date or a time."
        raise _damaged(what)
    return ""


def _text_of_number(value: float | Decimal, number_format: str) -> str:
    """Give the text behind a number that stands where text belongs."""
    number = Decimal(repr(value)) if isinstance(value, float) else Decimal(value)
    digits = len(number.normalize().as_tuple().digits)
    if not number.is_finite() or number.adjusted() >= DIGITS_KEPT or digits > DIGITS_KEPT:
        what = f"A spreadsheet keeps {DIGITS_KEPT} digits of a number; the rest is lost."
        raise _damaged(what)
    if number != number.to_integral_value():
        return f"{number:f}"
    shown = _ZEROS.fullmatch(number_format)
    if shown is None or number < 0:
        return f"{number:.0f}"
    padded = f"{number:.0f}".zfill(len(shown["zeros"]))
    return (shown["before"] or "") + padded + (shown["after"] or "")


def _damaged(what: str) -> DamagedBySpreadsheet:
    """Give the refusal of a text that a spreadsheet changed."""
    todo = "Format the cell as text and type it again from the original."
    return DamagedBySpreadsheet(what, todo=todo)


def _no_controls(text: str, *, line_breaks: bool) -> str:
    """Give the text back if every character in it can be seen; raises ControlCharacter."""
    for position, sign in enumerate(text, start=1):
        category = unicodedata.category(sign)
        allowed = line_breaks and (sign == "\n" or (category == "Cf" and sign not in _TURNING))
        if category in {"Cc", "Cf", "Cs"} and not allowed:
            what = f"Character {position} is the control character U+{ord(sign):04X}."
            raise ControlCharacter(what, todo="Delete it, or type the text again.")
    return text


def _within(text: str, length_max: int) -> str:
    """Give the text back if it is not too long; nothing is ever cut off."""
    if len(text) > length_max:
        what = f"The text has {len(text):,} characters; {length_max:,} fit."
        raise TooLong(what, todo="Shorten it.")
    return text


def code(cell: Cell, _column: ColumnSpec, _settings: Settings) -> str:
    """Read text in which every sign counts: outer blanks go, nothing else changes."""
    return _within(_no_controls(as_text(cell), line_breaks=False), CODE_LENGTH_MAX)


def name(cell: Cell, column: ColumnSpec, settings: Settings) -> str:
    """Read a ref that is a name of the user's own: no semicolon or comma in it."""
    text = _within(code(cell, column, settings), REF_LENGTH_MAX)
    if ";" in text or "," in text:
        what = "A ref cannot hold a comma or a semicolon: they part refs in other cells."
        raise BadRef(what, todo="Use letters, digits, dots and dashes.")
    return text


def ref(cell: Cell, column: ColumnSpec, settings: Settings) -> str:
    """Read a row's own ref: a name without blanks, since a weight may follow it elsewhere."""
    text = name(cell, column, settings)
    if any(sign in STRAY for sign in text):
        what = "A ref on this sheet cannot hold blanks."
        raise BadRef(what, todo=f"Write it like {column.example}.")
    return text


def words(cell: Cell, _column: ColumnSpec, _settings: Settings) -> str:
    """Read free text; line breaks stay, in one form."""
    text = as_text(cell).replace("\r\n", "\n").replace("\r", "\n").replace("\t", " ")
    return _within(_no_controls(text, line_breaks=True), WORDS_LENGTH_MAX)


def fold(text: str) -> str:
    """Fold what does not matter in a word chosen from a list: case, blanks, dashes."""
    return " ".join(re.sub(r"[_\-\s\u00a0]+", " ", text).split()).casefold()


def choice(cell: Cell, column: ColumnSpec, _settings: Settings) -> str:
    """Read one of the column's choices; raises NotInList with the nearest one."""
    text = as_text(cell)
    by_fold = {fold(allowed): allowed for allowed in column.choices}
    found = by_fold.get(fold(text))
    if found is None:
        what = "That is not one of the list."
        raise NotInList(what, todo=_choose(fold(text), by_fold))
    return found


def _choose(folded: str, by_fold: dict[str, str]) -> str:
    """Say what may be written, the nearest first."""
    near = difflib.get_close_matches(folded, by_fold, n=1)
    meant = f"Did you mean '{by_fold[near[0]]!s}'? " if near else ""
    return f"{meant}Write one of: {', '.join(by_fold.values())}."


def yes_no(cell: Cell, _column: ColumnSpec, _settings: Settings) -> bool:
    """Read yes or no; a tick as x, true and false, 1 and 0 are understood too."""
    value = stored(cell).value
    folded = fold(str(value)) if isinstance(value, str | int) else ""
    if folded in _YES or folded in _NO:
        return folded in _YES
    what = "That is neither yes nor no."
    raise NotYesOrNo(what, todo="Write yes or no.")


def severity(cell: Cell, _column: ColumnSpec, _settings: Settings) -> int:
    """Read 0 to 4, the words for it, or both."""
    text = fold(as_text(cell))
    for level, meaning in enumerate(SEVERITY_WORDS):
        if text in (str(level), fold(meaning), fold(f"{level} {meaning}")):
            return level
    steps = ", ".join(f"{level} {meaning}" for level, meaning in enumerate(SEVERITY_WORDS))
    what = "That is not a severity."
    raise OutOfBounds(what, todo=f"Write one of: {steps}.")


def unit(cell: Cell, _column: ColumnSpec, _settings: Settings) -> str:
    """Read a unit by its code or a name people write; gives the code."""
    try:
        return unit_named(as_text(cell)).code
    except UnknownUnit as refused:
        raise UnitNotReadable(refused.what, todo=refused.todo) from refused
