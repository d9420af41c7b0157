"""Lay a backup out as a new book; nothing is ever overwritten."""

from __future__ import annotations

from pathlib import Path

import click

from recondition.cli._shared import location, uses_book


@uses_book
@click.command(short_help="Lay a backup out as a new book.")
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
def command(file: Path) -> None:
    """Lay the backup FILE out at the place that --book names, which must be free."""
    from recondition.book.backup import restore  # noqa: PLC0415 - heavy, and only here
    from recondition.book.errors import shown  # noqa: PLC0415 - as above

    restore(file, Path(location())).close()
    click.echo(f"The book lies at {shown(location())}; it was checked.")
