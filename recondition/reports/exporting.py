"""Handing figures out: the workbook, lines and journal as plain files, each as a marked batch."""

from __future__ import annotations

import csv
import hashlib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Any

from recondition.accounts.journal import merged
from recondition.amounts import Money
from recondition.book import Connection, batches, line_rows, reading
from recondition.book.accounting import chart_of, journal_of
from recondition.book.again import again
from recondition.book.errors import BookInUse
from recondition.book.files import sync_file
from recondition.book.scope import Scope
from recondition.errors import Refused
from recondition.ledger.periods import check_period
from recondition.reports.cells import plain, visible
from recondition.reports.plain import defused
from recondition.reports.whole import FileNotWritten, appearing, write_with

if TYPE_CHECKING:
    from recondition.book.engine import Book
    from recondition.reports.workbook import Progress, Wanted

WORKBOOK, JOURNAL, LINES = "workbook", "journal", "lines"
SPREADSHEET, PLAIN = ".xlsx", ".csv"
MAP_MAX_BYTES = 1_000_000
JOURNAL_COLUMNS = (
    "entry", "period", "date", "document", "account_code", "account_name", "stock_no", "debit",
    "credit", "currency", "memo",
)  # fmt: skip


class NotASpreadsheetName(Refused):
    """A file was to lie under a name with another ending than its kind has."""

    exit_status = 2

    def __init__(self, path: Path, ending: str = SPREADSHEET) -> None:
        """Name the file and the ending that fits."""
        super().__init__(
            f"what is written is an {ending} file and cannot be named {path.name}"
            if ending == SPREADSHEET
            else f"what is written is a {ending} file and cannot be named {path.name}",
            where=str(path),
            todo=f"Nothing was written. Name it {path.stem}{ending}.",
        )


class BadColumnMap(Refused):
    """A file that says which columns to write and does not say it clearly."""

    exit_status = 2

    def __init__(self, path: Path, why: str) -> None:
        """Name the file and what is wrong in it."""
        super().__init__(
            f"{path.name} is no map of columns: {why}",
            where=str(path),
            todo="Nothing was written. 'recondition export columns' writes one to start from.",
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Export:
    """What is to be handed out: which lines, by whom (None: not marked as a batch)."""

    what: str
    period: str | None = None
    stock: str | None = None
    author_ref: str | None = None

    def check(self) -> None:
        """Refuse a period that is none. Raises NotAPeriod."""
        if self.period is not None:
            check_period(self.period)


def check_name(path: Path, ending: str) -> None:
    """Refuse a name that another program would not open. Raises NotASpreadsheetName."""
    if path.suffix.lower() != ending:
        raise NotASpreadsheetName(path, ending)


def workbook(book: Book, path: Path, export: Export, progress: Progress) -> list[str]:
    """Write the bookkeeper's workbook; give what to say.

    Raises NotASpreadsheetName, NotAPeriod, NotThere, UnknownAuthor, FileNotWritten.
    """
    check_name(path, SPREADSHEET)
    export.check()
    return _workbook(book, path, export, progress)


@again
def _workbook(book: Book, path: Path, export: Export, progress: Progress) -> list[str]:
    """Write the workbook; begun anew where another export took its number meanwhile."""
    from recondition.reports.workbook import since_words, write_books  # noqa: PLC0415

    with appearing(path) as made:
        with book.reading() as conn:
            asked = _asked(book, conn, export)
            since = since_words(conn, asked.wanted)
            written = write_books(made, conn, asked.wanted, progress)
        said = [f"The workbook lies at {path}."]
        return said + _marked(
            book, export, path, asked, made,
            digest=written.sha256, count=written.rows[LINES], since=since,
        )  # fmt: skip


def plain_file(book: Book, path: Path, export: Export, columns: Path | None) -> list[str]:
    """Write lines or journal as comma-separated values (RFC 4180); give what to say.

    ``columns`` is a file that names the columns wanted, in their order, and their headings.
    Raises also BadColumnMap.
    """
    check_name(path, PLAIN)
    export.check()
    known = line_rows.COLUMNS if export.what == LINES else JOURNAL_COLUMNS
    chosen = _chosen(columns, known) if columns is not None else [(name, name) for name in known]
    return _plain_file(book, path, export, known, chosen)


@again
def _plain_file(
    book: Book, path: Path, export: Export, known: Sequence[str], chosen: Sequence[tuple[str, str]]
) -> list[str]:
    """Write the chosen columns; begun anew where another export took its number meanwhile."""
    from recondition.reports.workbook import since_words  # noqa: PLC0415 - loads openpyxl

    places = [known.index(column) for column, _ in chosen]
    with appearing(path) as made:
        with book.reading() as conn:
            asked = _asked(book, conn, export)
            since = since_words(conn, asked.wanted)
            name, scope = asked.wanted.batch, asked.wanted.scope
            rows = _line_rows(conn, scope, name) if export.what == LINES else _legs(conn, export)
            count, digest = _write(made, [heading for _, heading in chosen], places, rows)
        said = [f"{count} rows lie at {path}, SHA-256 {digest}."]
        return said + _marked(
            book, export, path, asked, made, digest=digest, count=count, since=since
        )


@dataclass(frozen=True, slots=True)
class _Asked:
    """What a file is to hold, and how many records each chain has in the state it shows."""

    wanted: Wanted
    upto: Mapping[str, int]


def _asked(book: Book, conn: Connection, export: Export) -> _Asked:
    """Settle what is handed out, from the state of the book that will be read. Raises NotThere."""
    from recondition.reports.workbook import Wanted  # noqa: PLC0415 - loads openpyxl

    if export.author_ref:
        reading.author_of(conn, export.author_ref)
    wanted = Wanted(
        scope=_scope(conn, export),
        stock=export.stock,
        made_at=book.now(),
        batch=batches.next_name(conn) if export.author_ref else None,
        what=export.what,
    )
    return _Asked(wanted, {head.subject: head.count for head in reading.heads(conn)})


def _scope(conn: Connection, export: Export) -> Scope:
    """Give the lines that are asked for. Raises NotThere."""
    vehicle = reading.id_of(conn, "vehicle", export.stock) if export.stock else None
    return Scope(period=export.period, vehicle=vehicle)


def _marked(  # noqa: PLR0913 - each is a separate fact of the export
    book: Book, export: Export, path: Path, asked: _Asked, made: Path, *,
    digest: str, count: int, since: str,
) -> list[str]:  # fmt: skip
    """Mark the batch where somebody is named, and say what is new since the last one.

    ``made`` is on the disk before the batch is, and takes its place at once after it: only a
    machine that stops between these two leaves a batch whose file is still called ``.writing-``
    and something, whole beside its place. Raises BookInUse where the number was taken meanwhile,
    FileNotWritten.
    """
    if export.author_ref is None or asked.wanted.batch is None:
        return ["It is not marked as a batch: name who exports with --as."]
    if path.is_dir():
        raise FileNotWritten(path, "a folder lies there")
    sync_file(made)
    with book.writing() as conn:
        if batches.next_name(conn) != asked.wanted.batch:
            raise BookInUse(book.location)
        name = batches.mark(
            book, conn, export.author_ref, what=export.what, period=export.period,
            vehicle=export.stock, sha256=digest, lines=count, path=path, upto=asked.upto,
        )  # fmt: skip
    return [f"Batch {name}. {since}."]


def _line_rows(conn: Connection, scope: Scope, batch: str | None) -> Iterator[tuple[Any, ...]]:
    """Give lines as the workbook has them."""
    return line_rows.rows(conn, scope, journal_of(conn), chart_of(conn), batch)


def _legs(conn: Connection, export: Export) -> Iterator[tuple[Any, ...]]:
    """Give the journal, one row a leg, as the workbook has it."""
    currency = reading.settings_of(conn).currency
    for entry in journal_of(conn).entries():
        if export.period is not None and entry.period != export.period:
            continue
        if export.stock and not any(leg.vehicle == export.stock for leg in entry.legs):
            continue
        for leg in merged(entry):
            yield (
                entry.number, entry.period, date.fromisoformat(entry.day), entry.document,
                leg.code, leg.name, leg.vehicle,
                Money(leg.debit, currency) if leg.amount > 0 else None,
                Money(leg.credit, currency) if leg.amount < 0 else None, currency, entry.memo,
            )  # fmt: skip


def _write(
    path: Path, headings: Sequence[str], places: Sequence[int], rows: Iterable[Sequence[Any]]
) -> tuple[int, str]:
    """Write rows to a file; give their count and the file's SHA-256."""
    count = 0
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, quoting=csv.QUOTE_MINIMAL, lineterminator="\r\n")
        writer.writerow(headings)
        for row in rows:
            writer.writerow([_cell(row[place]) for place in places])
            count += 1
    with path.open("rb") as file:
        return count, hashlib.file_digest(file, "sha256").hexdigest()


def _cell(value: Any) -> str:  # noqa: ANN401 - a cell of any kind
    """Write one cell: amounts and numbers plain, days ISO 8601, texts defused."""
    match value:
        case None:
            return ""
        case Money():
            return str(value)
        case Decimal():
            return plain(value)
        case date():
            return value.isoformat()
        case int():
            return str(value)
        case _:
            return defused(visible(value))


def write_map(path: Path, what: str) -> None:
    """Write the map of all columns, to be cut down and renamed. Raises FileNotWritten."""
    check_name(path, PLAIN)
    known = line_rows.COLUMNS if what == LINES else JOURNAL_COLUMNS
    lines = ["column,heading", *(f"{name},{name}" for name in known)]
    write_with(path, lambda made: made.write_bytes("\r\n".join([*lines, ""]).encode()))


def _chosen(path: Path, known: Sequence[str]) -> list[tuple[str, str]]:
    """Read which columns are wanted and how each is headed. Raises BadColumnMap."""
    try:
        if not path.is_file() or path.stat().st_size > MAP_MAX_BYTES:
            raise BadColumnMap(path, "it is no ordinary file, or larger than any map")
        with path.open(encoding="utf-8-sig", newline="") as file:
            rows = list(csv.reader(file))
    except (OSError, ValueError, csv.Error) as error:
        raise BadColumnMap(path, f"it cannot be read ({error})") from error
    if not rows or [cell.strip() for cell in rows[0]] != ["column", "heading"]:
        raise BadColumnMap(path, "its first row is not column,heading")
    chosen = [(row[0].strip(), (row[1:] or [""])[0].strip()) for row in rows[1:] if any(row)]
    for column, _ in chosen:
        if column not in known:
            raise BadColumnMap(path, f"there is no column {column!r}")
    if not chosen:
        raise BadColumnMap(path, "it names no column")
    return [(column, heading or column) for column, heading in chosen]
