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
    FOREIGN = "amount of money with its currency"
    NUMBER = "number"
    WHOLE = "whole number"
    QUANTITY = "amount with unit"
    UNIT = "unit"
    DATE = "date"
    MONTH = "month"
    MOMENT = "date and time with zone"
    CHOICE = "one of a list"
    NUMBERS = "several numbers"
    PAIRS = "pairs of numbers, height x width"
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


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sheet:
    """One sheet: its name in the workbook, the kind of record each row is, its columns.

    A sheet is only ever itself, so that what is worked out of it once is found again at once.

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


def text(  # noqa: PLR0913 - each is a separate choice of the caller
    field: str,
    heading: str,
    explanation: str,
    *,
    required: bool = False,
    example: str = "",
    aliases: tuple[str, ...] = (),
) -> ColumnSpec:
    """Give a column of short text that is kept as it is."""
    return ColumnSpec(
        field=field,
        heading=heading,
        parse=Parse.CODE,
        required=required,
        help=explanation,
        example=example,
        aliases=aliases,
    )


def day(field: str, heading: str, explanation: str, *, required: bool = False) -> ColumnSpec:
    """Give a column that holds a day."""
    return ColumnSpec(
        field=field, heading=heading, parse=Parse.DATE, required=required, help=explanation
    )


def amount(  # noqa: PLR0913 - each is a separate choice of the caller
    field: str,
    heading: str,
    explanation: str,
    *,
    required: bool = False,
    unit: str = "",
    default: str = "",
    example: str = "",
    at_least: int | None = None,
) -> ColumnSpec:
    """Give a column that holds an amount with its unit."""
    return ColumnSpec(
        field=field,
        heading=heading,
        parse=Parse.QUANTITY,
        required=required,
        unit=unit,
        default=default,
        help=explanation,
        example=example,
        at_least=at_least,
    )


def money(  # noqa: PLR0913 - each is a separate choice of the caller
    field: str,
    heading: str,
    explanation: str,
    *,
    unit: str = "money",
    required: bool = False,
    below_zero: bool = False,
) -> ColumnSpec:
    """Give a column of one amount of money, which may lie below zero only where that is said."""
    return ColumnSpec(
        field=field,
        heading=heading,
        parse=Parse.MONEY,
        unit=unit,
        required=required,
        at_least=None if below_zero else 0,
        help=explanation,
    )


def number(  # noqa: PLR0913 - each is a separate choice of the caller
    field: str,
    heading: str,
    explanation: str,
    *,
    unit: str = "",
    default: str = "",
    example: str = "",
    at_least: int | None = None,
) -> ColumnSpec:
    """Give a column of one number."""
    return ColumnSpec(
        field=field,
        heading=heading,
        parse=Parse.NUMBER,
        unit=unit,
        default=default,
        help=explanation,
        example=example,
        at_least=at_least,
    )


def choice(  # noqa: PLR0913 - each is a separate choice of the caller
    field: str,
    heading: str,
    choices: tuple[str, ...],
    explanation: str,
    *,
    required: bool = False,
    default: str = "",
) -> ColumnSpec:
    """Give a column that takes one of a list."""
    return ColumnSpec(
        field=field,
        heading=heading,
        parse=Parse.CHOICE,
        choices=choices,
        required=required,
        default=default,
        help=explanation,
    )


def flag(field: str, heading: str, explanation: str) -> ColumnSpec:
    """Give a yes or no column that is no when empty."""
    return ColumnSpec(
        field=field, heading=heading, parse=Parse.YES_NO, default="no", help=explanation
    )


def refs(  # noqa: PLR0913 - each is a separate choice of the caller
    field: str,
    heading: str,
    target: str,
    explanation: str,
    *,
    required: bool = False,
    example: str = "",
) -> ColumnSpec:
    """Give a column that names several rows of a sheet."""
    return ColumnSpec(
        field=field,
        heading=heading,
        parse=Parse.TO_MANY,
        target=target,
        required=required,
        help=explanation,
        example=example,
    )


DOCUMENT_REFS = refs(
    "documents",
    "documents",
    "document",
    "refs of the files that prove it",
    example="D-001; D-002",
)
PRIVATE_NOTE = words("private_note", "private note", "for the shop only; never on a public sheet")
PUBLIC = "words (a buyer may read)"
