"""One bit of a book's file flipped: it is damage, or it changes nothing that the book says."""

from __future__ import annotations

import os
import random
import shutil
import sqlite3
from collections import Counter
from contextlib import closing
from typing import TYPE_CHECKING, Any

import pytest
from sqlalchemy import select

from recondition.book.check_opening import check_at
from recondition.book.engine import Book, open_book
from recondition.book.tables import METADATA
from recondition.book.there import tables_there
from recondition.errors import Refused

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from tests.book.make import FilledBook

FOUND, NO_EFFECT, MISSED = "found", "without effect", "missed"


@pytest.fixture(params=["sqlite"])
def in_file(whole: FilledBook) -> FilledBook:
    """Give a filled book that is a file of SQLite."""
    return whole


def everything(book: Book) -> list[Any]:
    """Read all that a book says: its tables and what is held in them, to the last type."""
    with book.reading() as conn:
        triggers = "SELECT name, sql FROM sqlite_master WHERE type = 'trigger' ORDER BY name"
        found: list[Any] = [
            tables_there(conn),
            conn.exec_driver_sql(triggers).all(),
            conn.exec_driver_sql("SELECT * FROM alembic_version").all(),
        ]
        for table in METADATA.sorted_tables:
            query = select(table).order_by(*table.primary_key.columns)
            found.append([repr(tuple(row)) for row in conn.execute(query)])
    return found


def flips(content: bytes, count: int, seed: int) -> Iterator[tuple[int, int]]:
    """Draw places in a file: byte and bit. Most of a small book is room that nothing uses.

    That room is zeros, so that three of four places are drawn among the other bytes.
    """
    drawn = random.Random(seed)  # noqa: S311 - places, no secrets
    used = [place for place, byte in enumerate(content) if byte]
    for number in range(count):
        place = drawn.choice(used) if number % 4 else drawn.randrange(len(content))
        yield place, drawn.randrange(8)


def flipped(path: Path, place: int, bit: int) -> None:
    with path.open("r+b") as file:
        file.seek(place)
        (byte,) = file.read(1)
        file.seek(place)
        file.write(bytes([byte ^ (1 << bit)]))


def outcome(path: Path, before: list[Any]) -> str:
    """Say whether a flip was found; whoever misses one must find the book to be the same."""
    try:
        examined, _ = check_at(str(path))
    except Refused:
        # The file is no longer taken for a book at all: that too is said, and nothing is done.
        return FOUND
    if examined.damages:
        return FOUND
    same = everything(open_book(str(path))) == before
    with closing(sqlite3.connect(path)) as raw:
        ok = raw.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
    return NO_EFFECT if same and ok else MISSED


@pytest.mark.parametrize(
    "count",
    [pytest.param(60, marks=pytest.mark.long), pytest.param(1000, marks=pytest.mark.full)],
)
def test_a_flipped_bit_is_found_or_has_no_effect(in_file: FilledBook, count: int) -> None:
    """RECONDITION_SEED draws other places."""
    seed = int(os.environ.get("RECONDITION_SEED", "8"))
    path = in_file.book.path
    assert path is not None
    in_file.book.close()
    before = everything(in_file.book)
    kept = path.with_name("kept")
    shutil.copy(path, kept)
    seen: Counter[str] = Counter()
    missed = []
    for place, bit in flips(kept.read_bytes(), count, seed):
        for beside in ("-wal", "-shm"):
            path.with_name(path.name + beside).unlink(missing_ok=True)
        shutil.copy(kept, path)
        flipped(path, place, bit)
        said = outcome(path, before)
        seen[said] += 1
        if said == MISSED:
            missed.append((place, bit))
    print(f"\n{count} bits, seed {seed}: {dict(seen)}")  # noqa: T201 - the figures of the run
    assert missed == []
    assert seen[FOUND]
