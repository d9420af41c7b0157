"""Reading cells that name other rows, several things, files, or rates in slices."""

from __future__ import annotations

import re
from collections import Counter
from decimal import Decimal
from itertools import pairwise
from typing import TYPE_CHECKING

from recondition.intake import numbers, texts
from recondition.intake.cells import BadFile, BadRate, Cell, NamedTwice, OutOfBounds, tidy
from recondition.worth.terms import Slice

if TYPE_CHECKING:
    from recondition.amounts import Money
    from recondition.book.settings import Settings
    from recondition.intake.spec import ColumnSpec

Weighted = tuple[str, Decimal]

READINGS_MAX = 200
_PARTING = re.compile(r"[;\n]|,\s")
_WEIGHT = re.compile(r"[0-9][0-9.,']*%?")
_UP_TO = re.compile(r"(?P<rate>.+?)\s+(?:up\s+)?to\s+(?P<upto>.+)")


def _parts(text: str) -> list[str]:
    """Part a list at semicolons, line breaks, and commas with a blank after them."""
    return [tidy(part) for part in _PARTING.split(text) if tidy(part)]


def _spaced(text: str) -> str:
    """Give a text with one blank between its words, so that no pattern tries them all."""
    return " ".join(text.split())


def _once(names: list[str]) -> None:
    """Raise NamedTwice where a name stands twice."""
    for name, times in Counter(names).items():
        if times > 1:
            what = f"{name} is named twice in this cell."
            raise NamedTwice(what, todo="Name it once.")


def to(cell: Cell, column: ColumnSpec, settings: Settings) -> str:
    """Read the ref of one other row."""
    return texts.code(cell, column, settings)


def to_many(cell: Cell, column: ColumnSpec, settings: Settings) -> tuple[str, ...]:
    """Read the refs of several rows or several texts: ``C-01; C-02``."""
    names = _parts(texts.words(cell, column, settings))
    _once(names)
    return tuple(names)


def links(cell: Cell, column: ColumnSpec, settings: Settings) -> tuple[Weighted, ...]:
    """Read findings in equal shares, ``F-001; F-002``, or with a weight each, ``F-001 60``.

    Raises OutOfBounds where only some have a weight or a weight is zero.
    """
    found: list[tuple[str, Decimal | None]] = []
    for part in _parts(texts.words(cell, column, settings)):
        name, _, weight = part.rpartition(" ")
        if name and _WEIGHT.fullmatch(weight):
            amount = Decimal(numbers.plain(weight.removesuffix("%"), settings))
            found.append((tidy(name), amount))
        else:
            found.append((part, None))
    _once([name for name, _ in found])
    if len({weight is None for _, weight in found}) > 1:
        what = "Some findings have a weight and some have none."
        raise OutOfBounds(what, todo="Give every one a weight, or none.")
    if any(weight is not None and weight <= 0 for _, weight in found):
        what = "A weight is more than zero."
        raise OutOfBounds(what, todo="Leave out the finding that bears nothing.")
    return tuple((name, Decimal(1) if weight is None else weight) for name, weight in found)


def tiers(cell: Cell, column: ColumnSpec, settings: Settings) -> tuple[Slice, ...]:
    """Read a rate of the hammer: ``6%``, or in slices ``10% to 50000; 8%``.

    Raises BadRate where a rate is not from 0 to less than 1, the limits do not rise, or the last
    slice has an upper end.
    """
    if not isinstance(texts.stored(cell).value, str):
        return (Slice(_rate(cell, settings)),)
    slices: list[Slice] = []
    for part in _parts(texts.words(cell, column, settings)):
        match = _UP_TO.fullmatch(_spaced(part))
        rate = _rate(Cell(match["rate"] if match else part), settings)
        upto = numbers.money(Cell(match["upto"]), column, settings) if match else None
        slices.append(Slice(rate, upto))
    _check_slices(slices, column)
    return tuple(slices)


def _rate(cell: Cell, settings: Settings) -> Decimal:
    """Read one rate from 0 to less than 1."""
    rate = numbers.fraction(cell, settings)
    if rate is None or rate == 1:
        what = "A rate is 0 % or more and less than 100 %."
        raise BadRate(what, todo="Write six percent as 6% or 0.06.")
    return rate


def _check_slices(slices: list[Slice], column: ColumnSpec) -> None:
    """Refuse slices that do not cover every price once."""
    limits: list[Money] = [piece.upto for piece in slices[:-1] if piece.upto is not None]
    above_zero = all(limit.minor > 0 for limit in limits)
    rising = above_zero and all(low < high for low, high in pairwise(limits))
    if len(limits) != len(slices) - 1 or slices[-1].upto is not None or not rising:
        what = "The slices do not follow each other up to an open end."
        todo = f"Let the limits rise and give the last rate none, like {column.example}."
        raise BadRate(what, todo=todo)


def several_numbers(cell: Cell, column: ColumnSpec, settings: Settings) -> tuple[Decimal, ...]:
    """Read numbers parted by blanks or semicolons: ``104 108 111``."""
    parts = texts.words(cell, column, settings).replace(";", " ").split()
    found = [numbers.number(Cell(part), column, settings) for part in parts]
    if len(found) > READINGS_MAX:
        what = f"{len(found)} readings stand in one cell; {READINGS_MAX} are the most."
        raise OutOfBounds(what, todo="Make a row for each place.")
    return tuple(found)


def pairs(
    cell: Cell, column: ColumnSpec, settings: Settings
) -> tuple[tuple[Decimal, Decimal], ...]:
    """Read heights and widths: ``1.2x3.0; 1.1x3.1``."""
    text = _spaced(texts.words(cell, column, settings).casefold())
    text = re.sub(r" ?[x\u00d7*] ?", "x", text)
    found = []
    for part in text.replace(";", " ").split():
        sizes = part.split("x")
        if len(sizes) != 2:  # noqa: PLR2004 - height and width
            what = f"{part!r} is not a height and a width."
            raise OutOfBounds(what, todo=f"Write them like {column.example}.")
        height, width = (numbers.number(Cell(size), column, settings) for size in sizes)
        found.append((height, width))
    if len(found) > READINGS_MAX:
        what = f"{len(found)} drops stand in one cell; {READINGS_MAX} are the most."
        raise OutOfBounds(what, todo="Make a row for each place.")
    return tuple(found)


def file(cell: Cell, column: ColumnSpec, settings: Settings) -> str:
    """Read a file's name with its folder, as seen from the workbook; slashes in one form."""
    text = texts.code(cell, column, settings).replace("\\", "/")
    parts = text.split("/")
    if text.startswith("/") or ".." in parts or re.match(r"[A-Za-z]:", text):
        what = "The file lies outside the folder of the import."
        todo = f"Put it beside the workbook or below it and write it like {column.example}."
        raise BadFile(what, todo=todo)
    return text
