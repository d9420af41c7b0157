"""Chain heads noted outside a book: in a workbook it exported, or in a copy of it."""

from __future__ import annotations

import json
import zipfile
from pathlib import Path
from typing import Any

from openpyxl import load_workbook

from recondition.book import reading
from recondition.book.archives import open_zip
from recondition.book.engine import open_any
from recondition.book.packing import MEMBERS_MAX
from recondition.errors import Refused
from recondition.intake.read_xlsx import DAMAGE, looked_through
from recondition.intake.sources import NotImportable, require_ordinary
from recondition.ledger.chain import Head

SHEET = "chain heads"
# Some 200,000 heads: a head for each vehicle and product, of about 120 bytes.
HEADS_MAX_BYTES = 24 * 1024 * 1024
SQLITE_START = b"SQLite format 3\0"


class NoHeads(Refused):
    """A file that carries no chain heads."""

    exit_status = 2

    def __init__(self, path: Path, why: str) -> None:
        """Name the file and what it lacks."""
        super().__init__(
            f"{path.name} holds no chain heads: {why}",
            todo="Name a workbook exported from the book, a backup, or a copy of the book.",
        )


def heads_in(path: Path) -> list[Head]:
    """Read the heads that a workbook, a backup or a copy of a book carries. Raises NoHeads."""
    try:
        require_ordinary(path)
        with path.open("rb") as file:
            start = file.read(len(SQLITE_START))
        if start == SQLITE_START:
            return _of_book(path)
        if zipfile.is_zipfile(path):
            listed = _of_backup(path)
            return _of_workbook(path) if listed is None else listed
    except NotImportable as refused:
        raise NoHeads(path, refused.what.removeprefix(f"{path.name} ").rstrip(".")) from refused
    except DAMAGE as error:
        said = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        raise NoHeads(path, said or "it is damaged") from error
    raise NoHeads(path, "it is of another kind")


def _of_backup(path: Path) -> list[Head] | None:
    """Read the heads beside the book in a backup; None where it is none."""
    with path.open("rb") as stream, open_zip(stream, MEMBERS_MAX) as archive:
        if "heads.json" not in archive.namelist():
            return None
        size = archive.getinfo("heads.json").file_size
        if size > HEADS_MAX_BYTES:
            raise NoHeads(path, f"its list of heads has {size:,} bytes")
        listed = json.loads(archive.read("heads.json"))
    if not isinstance(listed, list):
        raise NoHeads(path, "its list of heads is none")
    return [_head(path, row) for row in listed]


def _head(path: Path, row: Any) -> Head:  # noqa: ANN401 - JSON holds anything
    """Read one head of a list: whose chain it is, how many records, the hash of the last."""
    match row:
        case [str(subject), int(count), str(last)] if not isinstance(count, bool):
            return Head(subject, count, last)
    raise NoHeads(path, "its list of heads holds something else")


def _of_book(path: Path) -> list[Head]:
    """Read the heads of a copy of a book."""
    book = open_any(str(path))
    try:
        with book.reading() as conn:
            return reading.heads(conn)
    finally:
        book.close()


def _of_workbook(path: Path) -> list[Head]:
    """Read the sheet of heads, whose headings may stand in any order."""
    looked_through(path)
    book = load_workbook(path, read_only=True, data_only=True)
    try:
        if SHEET not in book.sheetnames:
            raise NoHeads(path, f"it has no sheet {SHEET!r}")
        rows = [row for row in book[SHEET].iter_rows(values_only=True) if any(row)]
        headings = [str(cell).strip().lower() for cell in rows[0]] if rows else []
        wanted = [headings.index(name) for name in ("subject", "count", "hash")]
        return [Head(str(row[wanted[0]]), int(str(row[wanted[1]])), str(row[wanted[2]]))
                for row in rows[1:]]  # fmt: skip
    finally:
        book.close()
