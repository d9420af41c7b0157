"""Chain heads noted outside a book: in a workbook it exported, or in a copy of it."""

from __future__ import annotations

import json
import zipfile
from pathlib import Path

from openpyxl import load_workbook

from recondition.book import reading
from recondition.book.engine import open_any
from recondition.errors import Refused
from recondition.ledger.chain import Head

SHEET = "chain heads"
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
        with path.open("rb") as file:
            start = file.read(len(SQLITE_START))
        if start == SQLITE_START:
            return _of_book(path)
        if zipfile.is_zipfile(path):
            with zipfile.ZipFile(path) as archive:
                if "heads.json" in archive.namelist():
                    return [Head(*row) for row in json.loads(archive.read("heads.json"))]
            return _of_workbook(path)
    except (OSError, ValueError, TypeError, zipfile.BadZipFile) as error:
        said = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        raise NoHeads(path, said) from error
    raise NoHeads(path, "it is of another kind")


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
