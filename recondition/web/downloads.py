"""Downloads of the books: the workbook, the journal and the lines, each marked as a batch."""

from __future__ import annotations

import re
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

from flask import Blueprint, Response, render_template, request

from recondition.book import batches, reading
from recondition.book.roles import Right
from recondition.errors import Refused
from recondition.ledger.periods import check_period
from recondition.reports.books_named import OF_SHOP
from recondition.reports.exporting import MAP_MAX_BYTES, PLAIN, SPREADSHEET, write_map
from recondition.web import jobs
from recondition.web.books import known
from recondition.web.entry import refused_page
from recondition.web.visit import needs, the_book, visit

if TYPE_CHECKING:
    from flask.typing import ResponseReturnValue

    from recondition.book.engine import Book

pages = Blueprint("downloads", __name__)

WHAT = {
    "workbook": "The workbook: lines, journal, cars, invoices, stock, estimates and accounts",
    "journal": "The journal, one row for each side of an entry",
    "lines": "Every posted line, with all its columns",
}
"""What can be downloaded."""
_UNSAFE = re.compile(r"[^A-Za-z0-9._-]+")


class NotADownload(Refused):
    """Something else than the books hand out."""

    exit_status = 2

    def __init__(self, what: str) -> None:
        """Name it."""
        super().__init__(
            f"{what!r} is nothing that the books hand out", todo=f"Choose: {', '.join(WHAT)}."
        )


class MapTooLarge(Refused):
    """A file that is larger than any map of columns, or no text."""

    def __init__(self) -> None:
        """Say what is taken."""
        super().__init__(
            "what was sent as a map of columns is too large for one, or no text (UTF-8)",
            where="columns",
            todo="Nothing was begun. Take the map of all columns and cut it down.",
        )


@pages.get("/books/downloads")
@needs(Right.BOOKS)
def ask() -> ResponseReturnValue:
    """Ask what is to be downloaded."""
    return _page({"what": "workbook", **request.args.to_dict()}, None)


def _page(given: dict[str, str], refused: Refused | None) -> str:
    """Lay the form out."""
    with the_book().reading() as conn:
        there = known(conn)
        batch = batches.next_name(conn)
        held = sorted(reading.stored(conn, "export batch"), key=lambda item: -item.sequence)
        names = reading.refs_by_id(conn, ("person",))
    made = [(item.ref, item.entry, names.get(item.author, "")) for item in held[:20]]
    asked = {"period": given.get("period", ""), "vehicle": given.get("vehicle", "")}
    return render_template(
        "web/books_downloads.html.j2", what=WHAT, given=given, known=there, asked=asked,
        refused=refused, batch=batch, made=made, reports=OF_SHOP,
    )  # fmt: skip


@pages.post("/books/downloads")
@needs(Right.BOOKS)
def begin() -> ResponseReturnValue:
    """Have the file written, and marked as a batch by whoever is asking."""
    given = {"what": "", **request.form.to_dict()}
    try:
        job = _begun(given)
    except Refused as refused:
        return refused_page(refused, _page(given, refused))
    return jobs.begun(job)


def _begun(given: dict[str, str]) -> str:
    """Put the writing of a file in line; give its id."""
    what = given.get("what", "")
    if what not in WHAT:
        raise NotADownload(what)
    period = given.get("period", "").strip() or None
    vehicle = given.get("vehicle", "").strip() or None
    return writing_of(what, period=period, vehicle=vehicle, columns=_map(what))


def writing_of(
    what: str, *, period: str | None, vehicle: str | None, columns: str | None = None
) -> str:
    """Have a file of the books written and marked as a batch; give the id of the work.

    ``what`` is one of ``WHAT``; a ``period`` (YYYY-MM) and a stock number narrow it, ``columns``
    is the text of a map of columns. Raises what naming a period or a vehicle raises.
    """
    if period is not None:
        check_period(period)
    book = the_book()
    if vehicle is not None:
        with book.reading() as conn:
            reading.id_of(conn, "vehicle", vehicle)
    arguments = {
        "what": what, "period": period, "vehicle": vehicle, "person": visit().person,
        "columns": columns, "file": name_of(book, what, period, vehicle),
    }  # fmt: skip
    return jobs.start(what, arguments, visit().signed_in.login)


def _map(what: str) -> str | None:
    """Read the map of columns that was sent, where one was. Raises MapTooLarge."""
    sent = request.files.get("columns")
    if what == "workbook" or sent is None or not sent.filename:
        return None
    content = sent.stream.read(MAP_MAX_BYTES + 1)
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise MapTooLarge from error
    if len(content) > MAP_MAX_BYTES:
        raise MapTooLarge
    return text


def name_of(book: Book, what: str, period: str | None, vehicle: str | None) -> str:
    """Name a file by what it holds and the day it is made."""
    day = book.now().astimezone().date().isoformat()
    parts = [what, *(["of", period] if period else []), *(["vehicle", vehicle] if vehicle else [])]
    ending = SPREADSHEET if what == "workbook" else PLAIN
    return _UNSAFE.sub("-", "-".join([*parts, day]))[:100] + ending


@pages.get("/books/downloads/columns-<what>.csv")
@needs(Right.BOOKS)
def columns(what: str) -> ResponseReturnValue:
    """Hand out the map of all columns of journal or lines, to be cut down and renamed."""
    if what not in ("journal", "lines"):
        raise NotADownload(what)
    with TemporaryDirectory() as folder:
        place = Path(folder) / f"columns-{what}{PLAIN}"
        write_map(place, what)
        return handed_out(place.read_bytes(), place.name, "text/csv")


def handed_out(content: bytes, name: str, mimetype: str) -> Response:
    """Give a small file to be kept under a name."""
    headers = {"Content-Disposition": f'attachment; filename="{name}"'}
    return Response(content, mimetype=mimetype, headers=headers)
