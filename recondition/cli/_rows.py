"""Commands that enter one row, made from the same sheets as the workbook.

Each column of a sheet is an option of the command that enters its rows; the few that are
always needed are arguments, so that the common case is one short line.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Any

import click

from recondition.cli._shared import acting, show_beside, the_book, writes
from recondition.errors import Refused
from recondition.intake.filling import filled
from recondition.intake.sheets import sheet_named
from recondition.intake.spec import POINTS

if TYPE_CHECKING:
    from collections.abc import Callable

    from recondition.book.posting import Result
    from recondition.intake.spec import ColumnSpec


# A click parameter is named like a Python variable; a part of a nested record has a dot.
_DOT = "__"


def _flag(column: ColumnSpec) -> str:
    """Name the option of a column: its heading without what stands in brackets."""
    plain = column.heading.split("(")[0].lower().replace("%", "percent").replace("per hour", "")
    return "--" + "-".join(plain.replace("/", " ").replace("'", "").split())


def _option(column: ColumnSpec) -> click.Option:
    """Turn a column into an option."""
    unit = f" [{column.unit}]" if column.unit else ""
    choices = f" One of: {', '.join(column.choices)}." if column.choices else ""
    name = column.field.replace(".", _DOT)
    return click.Option(
        [_flag(column), name], metavar="TEXT", help=f"{column.help}{unit}.{choices}"
    )


def _three(field: str, heading: str, words: str) -> click.Option:
    """Turn the three columns of an estimate into one option: low/likely/high."""
    flag = "--" + "-".join(heading.replace("low", "").replace("%", "percent").split())
    return click.Option([flag, field], metavar="LOW/LIKELY/HIGH", help=words)


def _options(columns: list[ColumnSpec]) -> list[click.Parameter]:
    """Turn columns into options, an estimate's three into one."""
    options: list[click.Parameter] = []
    for column in columns:
        base, _, point = column.field.partition(".")
        if point == "low":
            options.append(_three(base, column.heading, column.help.split(":")[0] + "."))
        elif point not in POINTS:
            options.append(_option(column))
    return options


class NotThree(Refused):
    """An estimate that is not three figures."""

    exit_status = 2

    def __init__(self, field: str, found: str) -> None:
        """Show what was given and how an estimate is written."""
        super().__init__(
            f"{found!r} is not an estimate",
            where=f"option or argument for {field.replace('_', ' ')}",
            todo="Write low/likely/high, such as 5/8/12.",
        )


def _spread(field: str, text: str, fields: set[str]) -> dict[str, str]:
    """Give the columns that one option fills: three for an estimate, one otherwise."""
    if f"{field}.low" not in fields:
        return {field: text}
    parts = [part.strip() for part in text.split("/")]
    if len(parts) != len(POINTS):
        raise NotThree(field, text)
    return {f"{field}.{point}": part for point, part in zip(POINTS, parts, strict=True)}


@dataclass(frozen=True, slots=True)
class Besides:
    """A flag by whose name more is entered than the row: ``post`` enters both, or neither.

    It takes what ``form.one_row`` takes after the sheet.
    """

    field: str
    words: str
    post: Callable[..., list[Result]]


def row_command(
    name: str,
    sheet_name: str,
    arguments: tuple[str, ...],
    words: str,
    besides: Besides | None = None,
) -> click.Command:
    """Make the command that enters one row of a sheet.

    ``arguments`` are the fields given by place; every other column is an option. The day is
    today, the worker is who acts and a vehicle is own stock unless an option says otherwise.
    The row goes through the same parsers and checks as a workbook. ``besides`` is what may be
    entered with it.
    """
    sheet = sheet_named(sheet_name)
    fields = {column.field for column in sheet.columns}
    last = sheet.column(arguments[-1]) if arguments[-1] in fields else None
    by_place: list[click.Parameter] = [
        click.Argument([field], required=last is None or field != last.field or last.required)
        for field in arguments
    ]
    by_name = _options(
        [c for c in sheet.columns if c.field.split(".")[0] not in arguments and c.field != "ref"]
    )
    if "ref" not in arguments:
        by_name.append(click.Option(["--ref"], help="The row's own name; empty: the next free."))
    by_name.append(click.Option(["--key"], help="Idempotency key: never posted twice."))

    def enter(ref: str | None = None, key: str | None = None, **values: str | None) -> None:
        """Send the row through the intake."""
        from recondition.intake.form import one_row  # noqa: PLC0415 - heavy, and only here

        ticked = bool(values.pop(besides.field)) if besides else False
        given: dict[str, str] = {}
        for field, text in values.items():
            if text:
                given |= _spread(field.replace(_DOT, "."), text, fields)
        book = the_book()
        given = filled(given, sheet, person=acting(), now=datetime.now().astimezone())
        how: dict[str, Any] = {"author_ref": acting(), "ref": ref, "key": key}
        if besides and ticked:
            results = besides.post(book, given, **how)
        else:
            results = [one_row(book, sheet_name, given, **how)]
        for result in results:
            if result.refused is not None:
                raise result.refused
            click.echo(f"{result.draft.kind} {result.draft.ref}: {result.status.value}")
            show_beside(result)

    if besides:
        flag = ["--" + besides.field.replace("_", "-"), besides.field]
        by_name.insert(0, click.Option(flag, is_flag=True, help=besides.words))
    made = click.Command(name, callback=enter, params=[*by_place, *by_name], help=words)
    return writes(made)
