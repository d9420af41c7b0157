"""What commands share: which book, who acts, and how an answer is printed."""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Callable
from datetime import datetime
from textwrap import fill
from typing import TYPE_CHECKING

import click

from recondition.errors import Refused

if TYPE_CHECKING:
    from collections.abc import Iterable

    from recondition.book.engine import Book
    from recondition.book.posting import Result
    from recondition.reports.table import Table

DEFAULT_BOOK = "recondition.book"
WIDTH = 80


class NobodyActs(Refused):
    """A command that writes was given nobody to write as."""

    exit_status = 2

    def __init__(self) -> None:
        """Say how to name somebody."""
        super().__init__(
            "every entry names who makes it, and nobody is named",
            todo="Give --as INITIALS, or set RECONDITION_PERSON.",
        )


def _remember(name: str) -> Callable[[click.Context, click.Parameter, str | None], str | None]:
    """Let an option of a command take the place of the one before the command's name."""

    def keep(ctx: click.Context, _param: click.Parameter, value: str | None) -> str | None:
        if value is not None:
            ctx.ensure_object(dict)[name] = value
        return value

    return keep


BOOK_OPTION = click.Option(
    ["--book"],
    metavar="PATH-OR-URL",
    expose_value=False,
    callback=_remember("book"),
    help="Which book; also in RECONDITION_BOOK.",
)
PERSON_OPTION = click.Option(
    ["--as"],
    metavar="PERSON",
    expose_value=False,
    callback=_remember("acting"),
    help="Who acts (initials); also in RECONDITION_PERSON.",
)
JSON_OPTION = click.Option(["--json", "as_json"], is_flag=True, help="The same figures as JSON.")


def _with(*options: click.Option) -> Callable[[click.Command], click.Command]:
    """Add ready-made options to a command."""

    def add(command: click.Command) -> click.Command:
        command.params.extend(options)
        return command

    return add


reads = _with(BOOK_OPTION, JSON_OPTION)
uses_book = _with(BOOK_OPTION)
writes = _with(BOOK_OPTION, PERSON_OPTION)


def _named(name: str) -> str | None:
    """Give what an option said, on the command or before it."""
    return (click.get_current_context().ensure_object(dict)).get(name)


def location() -> str:
    """Give the book that was named, else the one in this folder. Raises UsageError."""
    named = _named("book")
    if named is not None and not named.strip():
        message = "--book names no book: it is empty. Leave it out for the one in this folder."
        raise click.UsageError(message)
    return named or os.environ.get("RECONDITION_BOOK") or DEFAULT_BOOK


def acting() -> str:
    """Give the ref of the person who acts. Raises NobodyActs."""
    person = _named("acting") or os.environ.get("RECONDITION_PERSON")
    if not person:
        raise NobodyActs
    return person


def acting_if_named() -> str | None:
    """Give the ref of the person who acts, None where nobody is named."""
    return _named("acting") or os.environ.get("RECONDITION_PERSON") or None


def the_book() -> Book:
    """Open the book; an older one may be upgraded at once where somebody can answer."""
    from recondition.book.engine import open_any, open_book, version_of  # noqa: PLC0415
    from recondition.book.errors import BookIsOlder  # noqa: PLC0415
    from recondition.book.schema import NEWEST  # noqa: PLC0415

    try:
        return open_book(location())
    except BookIsOlder:
        if not sys.stdin.isatty():
            raise
        book = open_any(location())
        words = f"The book has schema {version_of(book)}, the newest is {NEWEST}. Upgrade it now?"
        if not click.confirm(f"{words} A backup copy is made first."):
            raise
        upgrade(book)
        return open_book(location())


def upgrade(book: Book) -> None:
    """Upgrade a book after a backup copy, and say where the copy lies."""
    from recondition.book.backup import upgrade_with_copy  # noqa: PLC0415

    copy = upgrade_with_copy(book)
    if copy is not None:
        click.echo(f"A copy of the book as it was lies at {copy}.")
    click.echo("The book was upgraded.")


AS_OF = click.option(
    "--on",
    "moment",
    type=click.DateTime(["%Y-%m-%d", "%Y-%m-%dT%H:%M", "%Y-%m-%d %H:%M"]),
    help="As of this day or moment; now where it is not given.",
)


def wall_clock() -> datetime:
    """Give the moment on the shop's own wall clock, without its zone."""
    return datetime.now().astimezone().replace(tzinfo=None, second=0, microsecond=0)


def show_stops(vehicles: Iterable[str]) -> None:
    """Say below what was posted where the rest of the work should be looked at again."""
    from recondition.book.stopping import stops_beside  # noqa: PLC0415 - only after a posting

    with the_book().reading() as conn:
        for line in stops_beside(conn, set(vehicles), wall_clock()):
            click.echo(line)


def show_beside(result: Result) -> None:
    """Print below a row what the rules told of it, and what to remember."""
    from recondition.intake.beside import said_beside  # noqa: PLC0415 - only after a posting

    for line in said_beside(result.told, result.reminders):
        click.echo(line)
    entry = result.draft.entry
    if getattr(entry, "candidate", None) and getattr(entry, "vehicle", None):
        show_stops([entry.vehicle])


def show(tables: Iterable[Table], *, as_json: bool, lead: str = "") -> None:
    """Print tables for the terminal, or as one JSON object keyed by their titles."""
    from recondition.reports.plain import to_json  # noqa: PLC0415
    from recondition.reports.terminal import to_terminal  # noqa: PLC0415

    if as_json:
        show_json({table.title: to_json(table) for table in tables})
        return
    if lead:
        click.echo("\n".join(_folded(line) for line in lead.split("\n")))
    click.echo("\n".join(to_terminal(table, WIDTH) for table in tables), nl=False)
    if lead:
        click.echo()


def _folded(line: str) -> str:
    """Fold a sentence to the width of the tables; a ref such as C-001 is not parted."""
    return fill(line, WIDTH, break_on_hyphens=False)


def show_json(found: object) -> None:
    """Print figures for machines; everything in them is text, counts and lists already."""
    click.echo(json.dumps(found, ensure_ascii=False, indent=2))
