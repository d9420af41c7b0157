"""What the books say: journal, cars, invoices, tax, hours, late entries."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import click

from recondition.cli._shared import reads, show, the_book
from recondition.reports.books_named import OF_SHOP, Named

if TYPE_CHECKING:
    from recondition.book import Connection
    from recondition.reports.table import Table

    Build = Callable[[Connection], list[Table]]

_PAGE = (
    click.Option(["--html"], type=click.Path(path_type=Path), help="Write it as a page here."),
    click.Option(["--pdf"], type=click.Path(path_type=Path), help="Write it as a PDF here."),
)


@click.group(short_help="What the books say: journal, cars, invoices, tax.")
def command() -> None:
    """Read the books: every total opens up to its lines. The local accountant decides."""


def _give(
    title: str, build: Build, *, as_json: bool, html: Path | None, pdf: Path | None
) -> None:  # fmt: skip
    """Print tables, or write them as a page."""
    book = the_book()
    with book.reading() as conn:
        tables = build(conn)
    if html is None and pdf is None:
        show(tables, as_json=as_json)
        return
    from recondition.reports.books_page import page  # noqa: PLC0415 - only here
    from recondition.reports.writing import write_page  # noqa: PLC0415 - as above

    for said in write_page(page(title, tables, book.now()), html, pdf, book.now()):
        click.echo(said)


_NARROWED = {
    "refs": click.Argument(["refs"], nargs=-1, metavar="[VEHICLE]..."),
    "period": click.Option(["--period"], metavar="YYYY-MM", help="This month; without it, all."),
}


def _of_shop(name: str, report: Named) -> click.Command:
    """Make the command that shows one report of the shop, or of what it can be narrowed to."""

    def shown(
        html: Path | None, pdf: Path | None, *, as_json: bool,
        refs: tuple[str, ...] = (), period: str | None = None,
    ) -> None:  # fmt: skip
        def build(conn: Connection) -> list[Table]:
            return report.tables(conn, refs, period)

        _give(report.title, build, as_json=as_json, html=html, pdf=pdf)

    params = [*(_NARROWED[key] for key in report.narrowed), *_PAGE]
    return reads(click.Command(name, callback=shown, params=params, help=report.words))


for _name, _named in OF_SHOP.items():
    command.add_command(_of_shop(_name, _named))


_OF_ONE = (
    ("week", "week", "Another week",
     "Show what another day and another week of VEHICLE cost, split."),
    ("settlement", "settlement", "Settlement",
     "Show what comes in from the sale of VEHICLE, who gets it, and what its owner receives."),
)  # fmt: skip


def _of_one(name: str, function: str, title: str, words: str) -> click.Command:
    """Make the command that shows one report of one vehicle."""
    params: list[click.Parameter] = [click.Argument(["vehicle"]), *_PAGE]

    def shown(vehicle: str, html: Path | None, pdf: Path | None, *, as_json: bool) -> None:
        from recondition.reports import books_one_car  # noqa: PLC0415 - heavy, and only here

        build = getattr(books_one_car, function)
        _give(f"{title}: {vehicle}", lambda conn: build(conn, vehicle),
              as_json=as_json, html=html, pdf=pdf)  # fmt: skip

    return reads(click.Command(name, callback=shown, params=params, help=words))


for _one in _OF_ONE:
    command.add_command(_of_one(*_one))


@reads
@command.command("position", params=[*_PAGE])
@click.argument("vehicle")
@click.option(
    "--hammer", "hammers", multiple=True, metavar="AMOUNT", help="A hammer to try; any number."
)
def position(
    vehicle: str, hammers: tuple[str, ...], html: Path | None, pdf: Path | None, *, as_json: bool
) -> None:
    """Show what is in VEHICLE today, and what some hammers would clear."""
    from recondition.book.reading import settings_of  # noqa: PLC0415 - heavy, and only here
    from recondition.intake.numbers import amount  # noqa: PLC0415 - as above
    from recondition.reports import books_one_car  # noqa: PLC0415 - as above

    def build(conn: Connection) -> list[Table]:
        settings = settings_of(conn)
        tried = [amount(each, settings, "--hammer") for each in hammers]
        return books_one_car.position(conn, vehicle, tried)

    _give(f"Position: {vehicle}", build, as_json=as_json, html=html, pdf=pdf)
