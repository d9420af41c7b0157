"""Write the bookkeeper's workbook."""

from __future__ import annotations

from pathlib import Path

import click

from recondition.cli._shared import the_book, uses_book


@click.group(short_help="The bookkeeper's workbook.")
def command() -> None:
    """Export figures to files."""


@uses_book
@command.command("workbook")
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
def workbook(file: Path) -> None:
    """Write every line, vehicle total, finding and chain head to FILE (an .xlsx).

    An existing file is replaced whole or not at all. The name must end in .xlsx.
    """
    from recondition.reports.files import write_workbook  # noqa: PLC0415 - heavy, and only here

    write_workbook(the_book(), file)
    click.echo(f"The workbook lies at {file}.")
