"""Writing the files that people take away: the work history, the workbook, the demo's set."""

from __future__ import annotations

from pathlib import Path

from recondition.book.engine import Book
from recondition.book.keys import no_passphrase
from recondition.reports import exporting
from recondition.reports.history_files import write_release
from recondition.reports.history_release import Wanted, release
from recondition.reports.pages import REPORTS, page_of
from recondition.reports.workbook import silent
from recondition.reports.writing import write_page

OF_THE_DEALER = ("worth-doing", "cost-and-uplift")


def write_every_report(book: Book, folder: Path, *, history: Wanted) -> list[Path]:
    """Write all six reports into a folder; ``history`` is the work history that is wanted."""
    paths = []
    at = book.now().astimezone().replace(tzinfo=None, second=0, microsecond=0)
    with book.reading() as conn:
        for name in OF_THE_DEALER:
            path = folder / f"{name}.html"
            page = page_of(name, REPORTS[name](conn, (), at), made_at=book.now())
            write_page(page, path, None, book.now())
            paths.append(path)
    exporting.workbook(book, folder / "books.xlsx", exporting.Export(what="workbook"), silent)
    made = release(book, history, no_passphrase)
    return [*paths, folder / "books.xlsx", *write_release(made, folder)]
