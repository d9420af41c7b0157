"""What a sheet and a column of the workbook are. The sheets themselves stand in ``sheets``."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Parse(StrEnum):
    """How the text of a cell is read. One parser each, in ``values`` and ``lists``."""

    CODE = "text kept as it is"  # numbers, names and marks in which every sign counts
    NAME = "short name"  # a ref of the user's own making
    REF = "ref"  # the row's own name: a CODE without blanks, commas and semicolons
    WORDS = "words"  # free text, line breaks allowed
    MONEY = "amount of money"
    NUMBER = "number"
    WHOLE = "whole number"
    QUANTITY = "amount with unit"
    UNIT = "unit"
    DATE = "date"
    MONTH = "month"
    MOMENT = "date and time with zone"
    CHOICE = "one of a list"
    SEVERITY = "severity 0 to 4"
    YES_NO = "yes or no"
    SHARE = "share from 0 to 1"
    PERCENT = "percent"
    TIERS = "rates in slices"
    TO = "ref of another row"
    TO_MANY = "refs of other rows"
    LINKS = "refs of findings, with weights"
    TEXTS = "several texts"
    FILE = "file"


@dataclass(frozen=True, slots=True, kw_only=True)
class ColumnSpec:
    """One column of a sheet.

    ``field`` is the entry's field the value goes to, ``cash.low`` for a part of one; ``ref``
    and ``file`` go to the draft itself. ``unit`` is what a number without unit counts, in
    words for people or, where ``parse`` is QUANTITY, the code of the unit. ``target`` names
    the kind whose refs may stand here (``line`` for a line item of any kind). ``default``
    is the text that stands for an empty cell. ``at_least`` is the smallest number that may
    stand here, in whole units of the currency or of the amount; without it any amount of money
    may, and any other amount above zero.
    """

    field: str
    heading: str
    parse: Parse
    help: str
    unit: str = ""
    required: bool = False
    choices: tuple[str, ...] = ()
    aliases: tuple[str, ...] = ()
    default: str = ""
    target: str = ""
    example: str = ""
    at_least: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """One sheet: its name in the workbook, the kind of record each row is, its columns.

    ``ref_prefix`` starts the refs that are given out (``F-`` for F-001); it is empty where
    the ref is a name of the user's own. ``prefilled`` sheets have their refs written in the
    blank workbook already.
    """

    name: str
    kind: str
    explanation: str
    columns: tuple[ColumnSpec, ...]
    ref_prefix: str = ""
    prefilled: bool = False

    @property
    def ref(self) -> ColumnSpec:
        """The first column: the row's own name."""
        return self.columns[0]

    def column(self, field: str) -> ColumnSpec:
        """Give the column of a field; KeyError where the sheet has none."""
        for column in self.columns:
            if column.field == field:
                return column
        raise KeyError(field)


POINTS = ("low", "likely", "high")


def three(  # noqa: PLR0913 - each is a separate choice of the caller
    field: str,
    heading: str,
    parse: Parse,
    explanation: str,
    *,
    unit: str,
    required: bool = False,
    at_least: int | None = None,
) -> tuple[ColumnSpec, ...]:
    """Give the three columns of an estimate; ``heading`` holds ``{}`` for low, likely, high."""
    meaning = {
        "low": "the low figure, seldom undercut",
        "likely": "the likely figure",
        "high": "the high figure, seldom passed",
    }
    return tuple(
        ColumnSpec(
            field=f"{field}.{point}",
            heading=heading.format(point),
            parse=parse,
            unit=unit,
            required=required,
            at_least=at_least,
            help=f"{explanation}: {meaning[point]}",
        )
        for point in POINTS
    )


def own_ref(heading: str, explanation: str, *, example: str, named: bool = False) -> ColumnSpec:
    """Give a sheet's first column. ``named`` refs are the user's own names and must be there."""
    return ColumnSpec(
        field="ref",
        heading=heading,
        parse=Parse.NAME if named else Parse.REF,
        required=named,
        aliases=() if heading == "ref" else ("ref",),
        help=explanation,
        example=example,
    )


ROW_REF = "the row's own name, once on this sheet; leave it as it is"


def to(
    field: str, heading: str, target: str, explanation: str, *, required: bool = False
) -> ColumnSpec:
    """Give a column that names one row of another sheet by its ref."""
    return ColumnSpec(
        field=field,
        heading=heading,
        parse=Parse.TO,
        target=target,
        required=required,
        help=explanation,
    )


def vehicle(*, required: bool = True) -> ColumnSpec:
    """Give the column that says which vehicle a row is about."""
    words = "stock number of the vehicle"
    return to(
        "vehicle",
        "vehicle",
        "vehicle",
        words if required else f"{words}; empty for the shop's own overhead",
        required=required,
    )


def words(
    field: str, heading: str, explanation: str, *, required: bool = False, example: str = ""
) -> ColumnSpec:
    """Give a column of free text."""
    return ColumnSpec(
        field=field,
        heading=heading,
        parse=Parse.WORDS,
        required=required,
        help=explanation,
        example=example,
    )


PRIVATE_NOTE = words("private_note", "private note", "for the shop only; never on a public sheet")
PUBLIC = "words (a buyer may read)"
