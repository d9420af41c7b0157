"""Write a backup: the book, its files and its chain heads in one file."""

from __future__ import annotations

from pathlib import Path

import click

from recondition.cli._shared import the_book, uses_book


@uses_book
@click.command(short_help="Write a backup of the book and its files.")
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
def command(file: Path) -> None:
    """Write a backup to FILE, which must not be there yet. It is checked after writing."""
    from recondition.book.backup import backup  # noqa: PLC0415 - heavy, and only here

    count = backup(the_book(), file)
    kept = "1 kept file" if count == 1 else f"{count} kept files"
    click.echo(f"The backup lies at {file}, with {kept}; it was checked.")
