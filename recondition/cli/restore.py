"""Lay a backup out as a new book; nothing is ever overwritten."""

from __future__ import annotations

from pathlib import Path

import click

from recondition.cli import _passphrase
from recondition.cli._beside import where_the_files_lie, where_the_key_goes
from recondition.cli._shared import location, uses_book


@uses_book
@click.command(short_help="Lay a backup out as a new book.")
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
@click.option(
    "--replace", is_flag=True, help="Set the book that lies there aside, under another name."
)
def command(file: Path, *, replace: bool) -> None:
    """Lay the backup FILE out at the place that --book names, which must be free.

    That may be a path or an empty PostgreSQL database. With --replace a book that lies at the
    path is renamed, with its files, after the backup was checked; what was entered in it since
    the backup is only there then. 'recondition rehearse FILE' says how much that is.
    """
    from recondition.book.backup import restore, restore_instead  # noqa: PLC0415 - heavy
    from recondition.book.errors import shown  # noqa: PLC0415 - as above

    aside = None
    if replace:
        book, aside = restore_instead(file, location(), _passphrase.given)
    else:
        book = restore(file, location(), _passphrase.given)
    book.close()
    click.echo(f"The book lies at {shown(location())}; it was checked.")
    click.echo(where_the_files_lie(location()))
    if aside is not None:
        click.echo(f"The book that was there lies at {aside}.")
    for line in where_the_key_goes(location()):
        click.echo(line)
