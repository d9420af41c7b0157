"""The inspection sheet: print it, fill it by hand, type it back."""

from __future__ import annotations

from pathlib import Path
from typing import TextIO

import click

from recondition.cli._shared import acting, show_beside, the_book, uses_book, writes


@click.group(short_help="Print the inspection sheet, type it back.")
def command() -> None:
    """Print a sheet of a car's panels, fill it by hand, and type its rows back quickly."""


@uses_book
@command.command("sheet")
@click.argument("vehicle")
@click.option("--html", type=click.Path(path_type=Path), help="Write it as a page here.")
@click.option("--pdf", type=click.Path(path_type=Path), help="Write it as a PDF here.")
def sheet(vehicle: str, html: Path | None, pdf: Path | None) -> None:
    """Write the sheet of VEHICLE (stock number), whose body style says which panels it has."""
    from recondition.reports.inspection import inspection_page  # noqa: PLC0415 - heavy
    from recondition.reports.writing import write_page  # noqa: PLC0415 - as above

    book = the_book()
    if html is None and pdf is None:
        pdf = Path(f"inspection-{vehicle}.pdf")
    with book.reading() as conn:
        page = inspection_page(conn, vehicle, book.now())
    for line in write_page(page, html, pdf, book.now()):
        click.echo(line)


@writes
@command.command("enter")
@click.argument("vehicle")
@click.argument("file", type=click.File(encoding="utf-8"), default="-")
def enter(vehicle: str, file: TextIO) -> None:
    r"""Type the rows of VEHICLE's sheet back, from FILE or line by line; all or nothing.

    \b
    lamp = spot lamp, room dark
    gauge = G1
    4 swirls; 2; 100 %
    bonnet: scratch; 3; 40 mm; lower edge; nail catches
    4 film 104 108 111 106 118; centre
    floor: -; covered by wax
    """
    from recondition.intake import typed  # noqa: PLC0415 - heavy, and only here

    lines = typed.lines_of(file)
    results = typed.enter(the_book(), vehicle, lines, author_ref=acting())
    for result in results:
        click.echo(f"{result.draft.kind} {result.draft.ref}: {result.status.value}")
        show_beside(result)
    click.echo(f"{len(results)} entered.")
