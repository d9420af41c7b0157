"""Reports: money, worth, condition, rework, what operations take."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import click

from recondition.cli._shared import AS_OF, reads, show, show_json, the_book, wall_clock

NAMES = (
    "cost-and-uplift", "worth-doing", "arrival", "condition", "changes", "rework", "operations",
    "track-record",
)  # fmt: skip


@reads
@click.command(short_help="Reports: money, worth, condition, rework, operations.")
@click.argument("name", type=click.Choice(NAMES))
@click.argument("vehicles", nargs=-1)
@click.option("--html", type=click.Path(path_type=Path), help="Write a page with pictures here.")
@click.option("--pdf", type=click.Path(path_type=Path), help="Write the same as a PDF here.")
@AS_OF
def command(  # noqa: PLR0913 - each option is a separate choice
    name: str,
    vehicles: tuple[str, ...],
    html: Path | None,
    pdf: Path | None,
    moment: datetime | None,
    *,
    as_json: bool,
) -> None:
    """Show report NAME for VEHICLES (stock numbers).

    Without any, cost-and-uplift and worth-doing show all vehicles with sale terms; arrival,
    condition and changes every vehicle; rework, operations and track-record the whole shop.
    Plans are as of --on.
    """
    from recondition.reports.pages import REPORTS, page_of  # noqa: PLC0415 - heavy
    from recondition.reports.plain import to_json  # noqa: PLC0415 - as above
    from recondition.reports.writing import write_page  # noqa: PLC0415 - as above

    book = the_book()
    with book.reading() as conn:
        made = REPORTS[name](conn, vehicles, moment or wall_clock())
    if html is not None or pdf is not None:
        for line in write_page(page_of(name, made, made_at=book.now()), html, pdf, book.now()):
            click.echo(line)
        return
    if as_json:
        show_json({part.heading: {t.title: to_json(t) for t in part.tables} for part in made})
        return
    for part in made:
        show(part.tables, as_json=False, lead=f"{part.heading}\n{part.words}\n")
