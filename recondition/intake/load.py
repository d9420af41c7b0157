"""Import: a filled workbook or a folder of .csv into the book, all or nothing.

First every row is read into a staging file and refs are resolved there; then one
transaction posts sheet by sheet. Any problem, or ``check_only``, and nothing is written.
"""

from __future__ import annotations

import re
import uuid
from collections import Counter
from typing import TYPE_CHECKING

from recondition.book.again import again
from recondition.book.engine import Book, RollBack
from recondition.book.posting import Poster, Result, Status
from recondition.book.reading import (
    UnknownAuthor,
    all_refs,
    author_of,
    book_key,
    settings_of,
)
from recondition.condition.findings import When
from recondition.errors import Refused
from recondition.intake.beside import Told
from recondition.intake.identity import automatic_ref, resolve
from recondition.intake.parse import Parsed, Progress, parse_sheets
from recondition.intake.plans import JUDGED, asked, contradictions_in
from recondition.intake.problems import ImportRefused, Problem
from recondition.intake.readers import open_source
from recondition.intake.report import ImportReport, SheetCount
from recondition.intake.rows import entry_of
from recondition.intake.sheets import SHEETS, sheet_of_kind
from recondition.intake.staging import Staged, staging
from recondition.intake.twice import entered_twice
from recondition.ledger.drafts import Draft
from recondition.ledger.lines import LineKind

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path

    from recondition.book import Connection
    from recondition.intake.spec import Sheet

CHUNK = 500
# Every sheet in its order, and once more at the end those rows that follow the lines.
_PASSES = (*((sheet, False) for sheet in SHEETS), (sheet_of_kind("film reading"), True))
# Where words of a class name meet: Not|A|Term, Needs|Itself.
_JOINTS = re.compile(r"(?<=[a-z])(?=[A-Z])|(?<=[A-Z])(?=[A-Z][a-z])")
_WITH_MONEY = ("rate", "vehicle", *LineKind)


def silent(_words: str, _done: int, _total: int | None) -> None:
    """Show no progress."""


def whatever(_counts: Sequence[SheetCount]) -> None:
    """Let rows of every sheet in."""


def new_id() -> str:
    """Give a fresh random id."""
    return uuid.uuid4().hex


@again
def load(  # noqa: PLR0913 - each is a separate choice of the caller
    book: Book,
    path: Path,
    *,
    author_ref: str,
    check_only: bool = False,
    progress: Progress = silent,
    hold: Callable[[Sequence[SheetCount]], None] = whatever,
    new_id: Callable[[], str] = new_id,
) -> ImportReport:
    """Import a file or folder for the person with these initials.

    ``progress`` is told what is being done, how many rows are done, and how many there are
    if that is known. An import that another writer overtook begins anew, and then no other may
    write meanwhile. ``hold`` is shown what was posted of each sheet before it is kept, and may
    refuse it. Raises ImportRefused with every problem, NotImportable and its kinds,
    NoSuchFile, UnknownAuthor; the book is then as it was.
    """
    raw_sheets, unknown = open_source(path)
    base = path if path.is_dir() else path.parent
    with staging(new_id) as staged:
        with book.reading() as conn:
            parsed = Parsed(base, settings_of(conn), staged, progress)
            if _has_money(conn):
                parsed.fixed_currency = parsed.settings.currency
        parse_sheets(raw_sheets, parsed)
        if parsed.stopped:
            raise ImportRefused(path.name, parsed.problems)
        parsed.notices += [f"sheet {name!r} is not known here, not read" for name in unknown]
        staged.index()
        counts: list[SheetCount] = []
        with book.writing(alone=book.tried) as conn:
            resolve(conn, parsed)
            _judge(conn, parsed)
            parsed.notices += entered_twice(conn, parsed)
            author = _author(conn, parsed, author_ref)
            if author is not None:
                counts = _post(book, conn, parsed, author)
            if not parsed.problems:
                hold(counts)
            if parsed.problems or check_only:
                raise RollBack
    if parsed.problems:
        raise ImportRefused(path.name, parsed.problems)
    return ImportReport(path.name, tuple(counts), tuple(parsed.notices), check_only)


def _author(conn: Connection, parsed: Parsed, ref: str) -> str | None:
    """Give the id of the person who acts; None where problems may be why it is missing."""
    try:
        return author_of(conn, ref)
    except UnknownAuthor:
        if ref in parsed.staging.refs("person"):
            return parsed.staging.id_of("person", ref)
        if parsed.problems:
            return None
        raise


def _has_money(conn: Connection) -> bool:
    """Tell whether anything that may hold an amount is in the book."""
    return any(all_refs(conn, kind) for kind in _WITH_MONEY)


def _judge(conn: Connection, parsed: Parsed) -> None:
    """Name what contradicts itself in candidate work; such rows are not posted."""
    left_alone: dict[str, set[str]] = {}
    for row in parsed.staging.by_vehicle("panel"):
        if row.content["plain"]["no_touch"]:
            left_alone.setdefault(row.vehicle, set()).add(row.content["plain"]["panel"])
    rows = (
        asked(row, row.kind, row.ref, row.content["plain"], row.content["words"])
        for row in parsed.staging.by_vehicle(*JUDGED)
    )
    refused: list[int] = []
    for found in contradictions_in(conn, rows, left_alone):
        sheet = sheet_of_kind(found.kind)
        place = parsed.headings[found.kind].place(sheet.column(found.field))
        parsed.problems.add(_refusal(sheet, found.key, found.refused, place))
        refused.append(found.key.id)
    parsed.staging.refuse(refused)


def _post(book: Book, conn: Connection, parsed: Parsed, author: str) -> list[SheetCount]:
    """Post every row that can be posted, sheet by sheet."""
    poster = Poster(book, conn, author)
    total, done = parsed.staging.postable(), 0
    missing = parsed.staging.without_ref()
    told = Told()
    found: dict[str, Counter[Status]] = {sheet.name: Counter() for sheet in SHEETS}
    for sheet, late in _PASSES:
        if sheet.kind in missing and not late:
            parsed.notices.append(
                f"{sheet.name}: {_without_ref(missing[sheet.kind])} known by "
                "their content; the same row twice counts twice"
            )
        for chunk in parsed.staging.chunks(sheet.kind, CHUNK):
            rows = [row for row in chunk if _is_late(row) is late]
            results = _post_chunk(conn, poster, sheet, rows, parsed)
            told.add(results)
            found[sheet.name].update(result.status for result in results)
            done += len(rows)
            parsed.progress(f"writing {sheet.name}", done, total)
    parsed.notices += told.words()
    return [
        SheetCount(name, by[Status.NEW], by[Status.SAME], by[Status.VERSION])
        for name, by in found.items()
        if by
    ]


def _is_late(row: Staged) -> bool:
    """Tell whether a row is a film reading after a step, which follows the lines of that step.

    On one day readings and work count in the order of their recording.
    """
    return row.kind == "film reading" and row.content["plain"].get("when") == When.AFTER.value


def _without_ref(number: int) -> str:
    """Say how many rows have no ref."""
    return "1 row has no ref and is" if number == 1 else f"{number:,} rows have no ref and are"


def _post_chunk(
    conn: Connection, poster: Poster, sheet: Sheet, rows: list[Staged], parsed: Parsed
) -> list[Result]:
    """Post some rows of one sheet; what the book refuses becomes a problem of its row."""
    key = book_key(conn) if not all(row.ref for row in rows) else b""
    drafts = [_draft(key, sheet, row, parsed) for row in rows]
    results = poster.post_many(drafts)
    refused = []
    for row, result in zip(rows, results, strict=True):
        if result.refused is not None:
            refused.append(row.id)
            parsed.problems.add(_refusal(sheet, row, result.refused))
    if refused:
        parsed.staging.refuse(refused)
    return results


def _draft(key: bytes, sheet: Sheet, row: Staged, parsed: Parsed) -> Draft:
    """Turn a staged row into a draft, with ids in the place of refs; ``key`` is the book's own."""
    ref = row.ref or automatic_ref(key, parsed.staging, row)
    content = row.content
    return Draft(
        id=row.uid,
        kind=sheet.kind,
        ref=ref,
        entry=entry_of(sheet, content["plain"], content["words"], parsed.staging.id_of),
        file=parsed.base / content["file"] if content["file"] else None,
        place=f"{sheet.name}, row {row.number}",
    )


def _refusal(sheet: Sheet, row: Staged, refused: Refused, place: str = "") -> Problem:
    """Give a refusal as a problem of its row, in a column if one is named."""
    name = _JOINTS.sub(" ", type(refused).__name__).lower()
    if not place and row.ref:
        place = f"{sheet.ref.heading} {row.ref}"
    return Problem(name, sheet.name, row.number, place, "", refused.what, refused.todo)
