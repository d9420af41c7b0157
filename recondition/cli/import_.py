"""Take a filled workbook or a folder of .csv into the book, all or nothing."""

from __future__ import annotations

from pathlib import Path

import click

from recondition.cli._shared import acting, location, the_book, wall_clock, writes

_LINES = ("labour", "parts", "consumables", "sublets", "charges")


@writes
@click.command(name="import", short_help="Take a filled workbook into the book.")
@click.argument("path", type=click.Path(path_type=Path), required=False)
@click.option("--check", is_flag=True, help="Try everything and write nothing.")
@click.option("--blank", type=click.Path(path_type=Path), help="Write the empty workbook here.")
def command(path: Path | None, *, check: bool, blank: Path | None) -> None:
    """Import PATH, an .xlsx or a folder of .csv named after the sheets.

    A book that is not there yet is made, in the currency that the sheet 'settings' names.
    Importing the same file twice changes nothing and says so.
    """
    from recondition.book.engine import create_book  # noqa: PLC0415 - heavy, and only here
    from recondition.book.starting import is_there, unmake  # noqa: PLC0415
    from recondition.book.stopping import stops_beside  # noqa: PLC0415
    from recondition.cli._progress import shown_progress  # noqa: PLC0415
    from recondition.intake.load import load  # noqa: PLC0415

    if blank is not None and (path is not None or check):
        message = "--blank stands alone: it writes an empty workbook and imports nothing."
        raise click.UsageError(message)
    if blank is not None:
        from recondition.intake.blank import write_blank, write_blank_for  # noqa: PLC0415

        if is_there(location()):
            write_blank_for(the_book(), blank)
        else:
            write_blank(blank)
        click.echo(f"The empty workbook lies at {blank}.")
        return
    if path is None:
        message = "Name the workbook to import, or --blank FILE.xlsx for an empty one."
        raise click.UsageError(message)
    person, place = acting(), location()
    fresh = not is_there(place)
    book = create_book(place) if fresh else the_book()
    kept = False
    stops: list[str] = []
    try:
        with shown_progress() as progress:
            report = load(book, path, author_ref=person, check_only=check, progress=progress)
        kept = not check
        if kept and any(count.new for count in report.counts if count.sheet in _LINES):
            with book.reading() as conn:
                stops = stops_beside(conn, None, wall_clock())
    finally:
        book.close()
        if fresh and not kept:
            unmake(book)
    click.echo("\n".join([*report.words(), *stops]))
