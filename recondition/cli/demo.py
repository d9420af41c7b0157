"""Run the whole job on invented data: workbook to book to all six reports."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from recondition.book.engine import Book

WORKBOOK = "shop-year.xlsx"
AUTHOR = "IC"
SHOP = "Quay Street Preparation"
HISTORY_OF = "0007"
HISTORY_ON = date(2031, 4, 8)  # the demo's own today


@click.command(short_help="The whole job on invented data.")
@click.option(
    "--into",
    type=click.Path(path_type=Path),
    default=Path("recondition-demo"),
    show_default=True,
    help="Folder for the demo's book and reports.",
)
@click.option("--year", is_flag=True, help="A year of 60 vehicles, closed month by month.")
@click.option("--book", metavar="PATH-OR-URL", help="Another place for the demo's book.")
def command(into: Path, *, year: bool, book: str | None) -> None:
    """Import the demo workbook into a new book, print the dealer's answer, write every report.

    Run again, it finds everything in the book already and writes the reports anew.
    """
    from recondition.book.errors import shown  # noqa: PLC0415 - heavy
    from recondition.cli._shared import show, wall_clock  # noqa: PLC0415 - as above
    from recondition.intake.load import load  # noqa: PLC0415 - as above
    from recondition.reports.files import write_every_report  # noqa: PLC0415 - as above
    from recondition.reports.history_release import Wanted  # noqa: PLC0415 - as above
    from recondition.reports.pages import worth_doing_parts  # noqa: PLC0415 - as above
    from recondition.resources import resource  # noqa: PLC0415 - as above

    try:
        into.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise click.UsageError(f"{into} cannot be made: {error.strerror}") from error  # noqa: EM102, TRY003
    if year:
        _year(into, book or str(into / "year.book"))
        return
    place = book or str(into / "demo.book")
    made = _demo_book(place)
    report = load(made, resource("demo_data") / WORKBOOK, author_ref=AUTHOR)
    click.echo("\n".join(report.words()) + "\n")
    with made.reading() as conn:
        parts = worth_doing_parts(conn, (), wall_clock())
    for part in parts:
        show(part.tables[:1], as_json=False, lead=f"{part.heading}\n{part.words}\n")
    history = Wanted(vehicle=HISTORY_OF, made_on=HISTORY_ON, author=AUTHOR)
    paths = write_every_report(made, into / "reports", history=history)
    click.echo(
        f"The book lies at {shown(place)}. Reports:\n" + "\n".join(f"  {path}" for path in paths)
    )


def _demo_book(place: str) -> Book:
    """Make the demo's book, or open the one of an earlier run; another shop's is refused."""
    from recondition.book.engine import create_book, open_book  # noqa: PLC0415 - heavy
    from recondition.book.errors import BookExists  # noqa: PLC0415 - as above
    from recondition.book.reading import all_refs, settings_of  # noqa: PLC0415 - as above
    from recondition.book.starting import is_there  # noqa: PLC0415 - as above

    if not is_there(place):
        return create_book(place)
    book = open_book(place)
    with book.reading() as conn:
        if all_refs(conn, "person") and settings_of(conn).shop_name != SHOP:
            raise BookExists(place)
    return book


def _year(into: Path, place: str) -> None:
    """Take in a year month by month, close each, and show how the books tie."""
    from recondition.book.errors import shown  # noqa: PLC0415 - heavy
    from recondition.cli import _year as year  # noqa: PLC0415 - as above
    from recondition.cli._shared import show  # noqa: PLC0415 - as above
    from recondition.reports import exporting  # noqa: PLC0415 - as above
    from recondition.reports.workbook import silent  # noqa: PLC0415 - as above
    from recondition.resources import resource  # noqa: PLC0415 - as above

    book = _demo_book(place)
    made = []
    for month in year.run(book, resource("demo_data") / "year", into / "reports"):
        made.append(month)
        click.echo(f"{month.cells[0]}: imported, billed, closed, exported.")
    show([year.table(made)], as_json=False)
    export = exporting.Export(what=exporting.WORKBOOK)
    exporting.workbook(book, into / "reports" / "books-year.xlsx", export, silent)
    click.echo(f"The book lies at {shown(place)}, the workbooks in {into / 'reports'}.")
