"""Commands that enter one row, made from the same sheets as the workbook.

Each column of a sheet is an option of the command that enters its rows; the few that are
always needed are arguments, so that the common case is one short line.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from recondition.cli._shared import acting, the_book, writes
from recondition.intake.sheets import sheet_named

if TYPE_CHECKING:
    from recondition.intake.spec import ColumnSpec


def _flag(column: ColumnSpec) -> str:
    """Name the option of a column: its heading without what stands in brackets."""
    plain = column.heading.split("(")[0].strip().lower().replace("%", "percent")
    return "--" + "-".join(plain.replace("/", " ").replace("'", "").split())


def _option(column: ColumnSpec) -> click.Option:
    """Turn a column into an option."""
    unit = f" [{column.unit}]" if column.unit else ""
    choices = f" One of: {', '.join(column.choices)}." if column.choices else ""
    return click.Option(
        [_flag(column), _safe(column.field)], metavar="TEXT", help=f"{column.help}{unit}.{choices}"
    )


def _safe(field: str) -> str:
    """Name a field so that Python can carry it: ``cash.low`` as ``cash__low``."""
    return field.replace(".", "__")


def row_command(name: str, sheet_name: str, arguments: tuple[str, ...], words: str) -> click.Command:
    """Make the command that enters one row of a sheet.

    ``arguments`` are the fields given by place; every other column is an option. The row
    goes through the same parsers and checks as a workbook.
    """
    sheet = sheet_named(sheet_name)
    by_place = [click.Argument([_safe(field)]) for field in arguments]
    others = [
        _option(column)
        for column in sheet.columns
        if column.field not in arguments and column.field != "ref"
    ]
    own_ref: list[click.Parameter] = []
    if "ref" not in arguments:
        own_ref = [click.Option(["--ref"], help="The row's own name; empty: the next free one.")]
    key = click.Option(["--key"], help="Idempotency key: the same key is never posted twice.")

    def enter(ref: str | None = None, key: str | None = None, **values: Any) -> None:  # noqa: ANN401
        """Send the row through the intake."""
        from recondition.intake.form import one_row  # noqa: PLC0415 - heavy, and only here

        given = {field.replace("__", "."): text for field, text in values.items() if text}
        book = the_book()
        result = one_row(book, sheet_name, given, author_ref=acting(), ref=ref, key=key)
        if result.refused is not None:
            raise result.refused
        click.echo(f"{result.draft.kind} {result.draft.ref}: {result.status.value}")

    command = click.Command(
        name, callback=enter, params=[*by_place, *own_ref, *others, key], help=words
    )
    return writes(command)
