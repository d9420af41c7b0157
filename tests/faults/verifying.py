"""What must hold after a kill: nothing acknowledged lost, all else whole or not there."""

from __future__ import annotations

import csv
import hashlib
import os
import sys
from collections import Counter
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING
from unittest.mock import patch

from openpyxl import load_workbook
from sqlalchemy import select

from recondition.book import reading, schema
from recondition.book.backup import restore
from recondition.book.check import check
from recondition.book.engine import open_any, open_book, version_of
from recondition.book.errors import NoBook, NotABook
from recondition.book.tables import entity, record
from tests.faults import deeds
from tests.faults.deeds import POSTINGS, Site
from tests.running import told

if TYPE_CHECKING:
    from collections.abc import Iterator

    from recondition.book.engine import Book

SHEETS_OF_WORKBOOK = {"lines", "journal", "chain heads", "notes"}


@contextmanager
def opened(site: Site) -> Iterator[Book]:
    """Open the book of a site with its own files."""
    with patch.dict(os.environ, RECONDITION_FILES=str(site.files)):
        book = open_book(site.location)
    yield book
    book.close()


def again(deed: str, site: Site) -> None:
    """Do a deed once more, in this process; it must succeed."""
    with patch.dict(os.environ), patch("tempfile.tempdir"), patch("sys.argv", []):
        deeds.settle_in(site)
        ran = told(lambda: sys.exit(deeds.run(*deeds.arguments(deed, site))))
    assert ran.status == 0, f"{deed} cannot be repeated: {ran.err}"


def sound(book: Book) -> Counter[str]:
    """Hold that a book has no damage; give how many records there are of each kind."""
    damages = check(book).damages
    assert not damages, damages
    return counted(book)


def counted(book: Book) -> Counter[str]:
    """Give how many records there are of each kind."""
    with book.reading() as conn:
        return Counter(conn.execute(select(record.c.kind)).scalars())


def posting(site: Site, before: Counter[str]) -> int:
    """Verify postings: each acknowledged line is there once; give how many there were."""
    text = site.acknowledged.read_text(encoding="utf-8") if site.acknowledged.exists() else ""
    acknowledged = [tuple(line.split(" ")) for line in text.splitlines()]
    with opened(site) as book:
        sound(book)
        _posted_once(book, acknowledged, at_most=len(acknowledged) + 1)
        for number in range(1, min(len(acknowledged) + 2, POSTINGS) + 1):
            deeds.post(book, replace(site, folder=site.folder / "tmp"), number)
        grown = counted(book) - before
        assert grown == {"labour": min(len(acknowledged) + 2, POSTINGS)}, grown
        _posted_once(book, acknowledged, at_most=POSTINGS)
    return len(acknowledged)


def _posted_once(book: Book, acknowledged: list[tuple[str, ...]], *, at_most: int) -> None:
    """Hold that the book has the acknowledged lines, each once, and at most so many."""
    query = select(entity.c.ref, record.c.id).join(record, record.c.entity == entity.c.id)
    with book.reading() as conn:
        found = Counter(tuple(row) for row in conn.execute(query.where(entity.c.ref.like("P-%"))))
    assert set(found.values()) <= {1}, found
    assert set(acknowledged) <= set(found), set(acknowledged) - set(found)
    assert len(found) <= at_most, found


def importing(site: Site, before: Counter[str], deed: str, grown: Counter[str]) -> int:
    """Verify an import: whole or not at all, and whole once it is repeated."""
    with opened(site) as book:
        assert sound(book) - before in (Counter(), grown)
        again(deed, site)
        assert counted(book) - before == grown
        assert not list((site.folder / "tmp").glob("*/*-journal"))
    return 0


def exporting(site: Site, before: Counter[str], deed: str, sha256: str) -> int:
    """Verify an export: the file is whole or as it was; repeated it is marked by its own hash."""
    file = Path(deeds.arguments(deed, site)[-1])
    _export_whole(file, sha256, lines=_lines(before))
    with opened(site) as book:
        grown = sound(book) - before
        assert grown in (Counter(), Counter({"export batch": 1})), grown
        again(deed, site)
        _export_whole(file, "", lines=_lines(before))
        assert counted(book) - before - grown == {"export batch": 1}
        with book.reading() as conn:
            last = reading.stored(conn, "export batch")[-1].entry
    if file.suffix == ".csv":
        assert last.sha256 == hashlib.sha256(file.read_bytes()).hexdigest()
    assert last.lines == str(_lines(before))
    return 0


def _lines(before: Counter[str]) -> int:
    return before["labour"] + before["charge"]


def _export_whole(file: Path, old: str, *, lines: int) -> None:
    """Hold that a file is not there, is still the old one, or is a whole export."""
    if not file.exists() or (old and hashlib.sha256(file.read_bytes()).hexdigest() == old):
        assert old or not file.exists()
        return
    if file.suffix == ".csv":
        with file.open(encoding="utf-8", newline="") as stream:
            assert len(list(csv.reader(stream))) == lines + 1
        return
    workbook = load_workbook(file)
    assert set(workbook.sheetnames) > SHEETS_OF_WORKBOOK
    assert workbook["lines"].max_row == lines + 1


def backup(site: Site, before: Counter[str]) -> int:
    """Verify a backup: not there, or it can be restored whole; the book goes on."""
    file = site.made / "shop.backup"
    there = file.exists()
    if not there:
        again("backup", site)
    with patch.dict(os.environ, RECONDITION_FILES=str(site.folder / "restored.files")):
        restored = restore(file, site.folder / "restored.book")
        assert counted(restored) == before  # it was checked when it was laid out
        restored.close()
    with opened(site) as book:
        assert sound(book) == before
    return 0


def restoring(site: Site, before: Counter[str]) -> int:
    """Verify a restored book: not there, or whole; then it can be restored."""
    if not _is_there(site):
        again("restore", site)
    with opened(site) as book:
        assert sound(book) == before
    return 0


def _is_there(site: Site) -> bool:
    """Tell whether a book is at the place of a restore; what is there must be one."""
    try:
        open_book(site.location).close()
    except NoBook:
        return False
    except NotABook:  # an empty database of the server
        assert "://" in site.location
        return False
    return True


def migrating(site: Site, before: Counter[str], earlier: str) -> int:
    """Verify a migration: the old schema or the new one; going on reaches the new one."""
    with patch.dict(os.environ, RECONDITION_FILES=str(site.files)):
        book = open_any(site.location)
    assert version_of(book) in (earlier, schema.NEWEST)
    assert counted(book) == before
    again("migration", site)
    assert version_of(book) == schema.NEWEST
    assert sound(book) == before
    book.close()
    return 0
