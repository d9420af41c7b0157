"""Make the work history that a seller attaches to a listing."""

from __future__ import annotations

from pathlib import Path

import click

from recondition.cli._shared import the_book, uses_book


@click.group(short_help="The work history for a listing.")
def command() -> None:
    """Make the work history of a vehicle: what a careful buyer may know."""


@uses_book
@command.command("make")
@click.argument("vehicle")
@click.option("--into", type=click.Path(path_type=Path), required=True, help="Folder to write to.")
def make(vehicle: str, into: Path) -> None:
    """Write work-history.html, .pdf and .json of VEHICLE (a stock number)."""
    from recondition.book.questions import source_of, vehicle_of  # noqa: PLC0415 - heavy
    from recondition.reports.files import write_history  # noqa: PLC0415 - as above

    book = the_book()
    with book.reading() as conn:
        source = source_of(conn, vehicle_of(conn, vehicle))
    for path in write_history(source, into, made_on=book.now().astimezone().date()):
        click.echo(str(path))
