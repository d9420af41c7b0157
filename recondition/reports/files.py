"""Writing the files that people take away: the work history, the workbook, the demo's set."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from recondition.book.engine import Book
from recondition.book.questions import source_of, vehicle_of
from recondition.history.sheet import build
from recondition.history.source import Source
from recondition.reports import exporting
from recondition.reports.history_html import to_html
from recondition.reports.history_json import to_json
from recondition.reports.history_pdf import to_pdf
from recondition.reports.pages import REPORTS, page_of
from recondition.reports.whole import write_bytes, write_text
from recondition.reports.workbook import silent
from recondition.reports.writing import write_page

OF_THE_DEALER = ("worth-doing", "cost-and-uplift")
HISTORY = ("work-history.html", "work-history.pdf", "work-history.json")


def write_history(source: Source, folder: Path, *, made_on: date) -> list[Path]:
    """Write a work history in its three forms; give where they lie. Raises FileNotWritten."""
    sheet = build(source, made_on)
    paths = [folder / name for name in HISTORY]
    html, pdf, plain = to_html(sheet), to_pdf(sheet), to_json(sheet)
    write_text(paths[0], html)
    write_bytes(paths[1], pdf)
    write_text(paths[2], plain)
    return paths


def write_every_report(book: Book, folder: Path, *, history_of: str) -> list[Path]:
    """Write all six reports into a folder; the work history is of one vehicle."""
    paths = []
    at = book.now().astimezone().replace(tzinfo=None, second=0, microsecond=0)
    with book.reading() as conn:
        for name in OF_THE_DEALER:
            path = folder / f"{name}.html"
            page = page_of(name, REPORTS[name](conn, (), at), made_at=book.now())
            write_page(page, path, None, book.now())
            paths.append(path)
        source = source_of(conn, vehicle_of(conn, history_of))
    exporting.workbook(book, folder / "books.xlsx", exporting.Export(what="workbook"), silent)
    made_on = book.now().astimezone().date()
    return [*paths, folder / "books.xlsx", *write_history(source, folder, made_on=made_on)]
