"""Chain heads noted outside a book: in a workbook it exported, or in a copy of it."""

from __future__ import annotations

import tempfile
import zipfile
from pathlib import Path

from openpyxl import load_workbook

from recondition.book import reading
from recondition.book.archives import open_zip
from recondition.book.engine import open_any
from recondition.book.packing import MEMBERS_MAX, heads_noted
from recondition.book.sealing import Ask, BackupLocked, is_sealed, passphrase_given, unseal
from recondition.errors import Refused
from recondition.intake.read_xlsx import DAMAGE, looked_through
from recondition.intake.sources import NotImportable, require_ordinary
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


def heads_in(path: Path, ask: Ask = passphrase_given) -> list[Head]:
    """Read the heads that a workbook, a backup or a copy of a book carries.

    ``ask`` gives the passphrase of an encrypted backup. Raises NoHeads, BackupLocked, BadBackup.
    """
    try:
        require_ordinary(path)
        with path.open("rb") as file:
            start = file.read(len(SQLITE_START))
        if start == SQLITE_START:
            return _of_book(path)
        if zipfile.is_zipfile(path):
            listed = _of_sealed(path, ask) if is_sealed(path) else _of_backup(path)
            return _of_workbook(path) if listed is None else listed
    except NotImportable as refused:
        raise NoHeads(path, refused.what.removeprefix(f"{path.name} ").rstrip(".")) from refused
    except DAMAGE as error:
        said = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        raise NoHeads(path, said or "it is damaged") from error
    raise NoHeads(path, "it is of another kind")


def _of_sealed(path: Path, ask: Ask) -> list[Head] | None:
    """Read the heads in an encrypted backup, decrypted into a folder that goes."""
    passphrase = ask()
    if not passphrase:
        raise BackupLocked(path, given=False)
    with tempfile.TemporaryDirectory() as folder:
        plain = Path(folder) / "plain"
        unseal(path, plain, passphrase, path)
        return _of_backup(plain)


def _of_backup(path: Path) -> list[Head] | None:
    """Read the heads beside the book in a backup; None where it is none."""
    with path.open("rb") as stream, open_zip(stream, MEMBERS_MAX) as archive:
        return heads_noted(archive)


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
