"""Postings that outlast a crash, against the bare driver writing rows of the same sizes.

Ours checks, prices and chains each line; the baseline only inserts, one transaction a line, with
the same durability on the same disk.
"""

from __future__ import annotations

import shutil
import sqlite3
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING, Any

import psycopg
import pytest
from sqlalchemy import func, select

from recondition.book.engine import Book, open_book
from recondition.book.posting import Poster
from recondition.book.reading import id_of
from recondition.book.tables import METADATA, entity, free_text, line, record, share
from tests.bench.beside import beside
from tests.bench.big import bench_folder, imported, labour, write_shop
from tests.postgres import serving

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from sqlalchemy import Connection

pytestmark = pytest.mark.bench
LINES, ROUNDS, A_DAY = 100, 5, 50
# What a posted line of labour writes; the head of its chain is written over.
TABLES = (record, entity, free_text, line, share)
KEYS = {"record": ("id", "hash", "key"), "entity": ("id", "current", "ref"), "line": ("record_id",),
        "free_text": ("record_id",), "share": ("record_id",)}  # fmt: skip


@pytest.fixture
def folder() -> Iterator[Path]:
    """Give a folder on a real disk, where the big books lie."""
    with tempfile.TemporaryDirectory(dir=bench_folder()) as made:
        print(f"\non {made}, a {_file_system(Path(made))} file system")  # noqa: T201
        yield Path(made)


def _file_system(path: Path) -> str:
    """Name the file system of a path, where the system says it."""
    mounts = Path("/proc/mounts")
    if not mounts.exists():
        return "unknown"
    found = [row.split()[1:3] for row in mounts.read_text().splitlines()]
    return max((at, kind) for at, kind in found if path.is_relative_to(at))[1]


def _posting(book: Book) -> Callable[[], None]:
    """Give what posts some lines, each in a transaction of its own."""
    made = 0

    def post() -> None:
        nonlocal made
        for _ in range(LINES):
            made += 1
            with book.writing() as conn:
                author = id_of(conn, "person", "P01")
                Poster(book, conn, author).post(labour(conn, f"ZZ-{made}", made // A_DAY))

    return post


def _rows(book: Book) -> dict[str, list[dict[str, Any]]]:
    """Give the rows of one line that was posted, table by table."""
    with book.reading() as conn:
        found = conn.execute(select(entity.c.id).where(entity.c.ref == "ZZ-1")).scalar_one()
        rows = {}
        for table in TABLES:
            key = table.c.id if "id" in table.c else table.c.record_id
            made = conn.execute(select(table).where(key == found)).mappings()
            rows[table.name] = [dict(row) for row in made]
    return rows


def _bare(
    execute: Callable[[str, list[Any]], object], rows: dict[str, list[dict[str, Any]]], mark: str,
    begin: str,
) -> Callable[[], None]:  # fmt: skip
    """Give what inserts rows of the same sizes by the bare driver."""
    made = 0
    queries = {name: _inserting(name, some[0], mark) for name, some in rows.items()}

    def insert() -> None:
        nonlocal made
        for _ in range(LINES):
            made += 1
            execute(begin, [])
            for name, some in rows.items():
                for row in some:
                    execute(queries[name], _renamed(name, row, made))
            execute("UPDATE chain_head SET count = count + 1 WHERE subject = 'shop'", [])
            execute("COMMIT", [])

    return insert


def _inserting(table: str, row: dict[str, Any], mark: str) -> str:
    """Write the statement that inserts a row."""
    names = ", ".join(f'"{name}"' for name in row)
    return f'INSERT INTO "{table}" ({names}) VALUES ({", ".join([mark] * len(row))})'  # noqa: S608


def _renamed(table: str, row: dict[str, Any], number: int) -> list[Any]:
    """Give a row's values under fresh keys of the same length."""
    changed = {
        name: f"{number:0{len(row[name])}x}" if name != "ref" else f"YY-{number}"
        for name in KEYS[table]
    }
    changed |= {"sequence": 10_000_000 + number} if table == "record" else {}
    changed |= {"entity": changed["id"]} if table == "record" else {}
    return list((row | changed).values())


def test_all_tables_of_a_line_are_named(folder: Path) -> None:
    book, _ = imported(write_shop(folder / "sheets", 1000), folder / "ours.book")
    with book.writing() as conn:
        before = _counted(conn)
        Poster(book, conn, id_of(conn, "person", "P01")).post(labour(conn, "ZZ-1"))
        grown = {name for name, rows in _counted(conn).items() if rows > before[name]}
    book.close()
    assert grown == {table.name for table in TABLES}


def _counted(conn: Connection) -> dict[str, int]:
    """Count the rows of every table."""
    count = select(func.count())
    return {
        table.name: conn.execute(count.select_from(table)).scalar_one()
        for table in METADATA.sorted_tables
    }


def test_durable_postings_beside_the_bare_driver_on_sqlite(folder: Path) -> None:
    book, _ = imported(write_shop(folder / "sheets", 1000), folder / "ours.book")
    book.close()
    shutil.copy(folder / "ours.book", folder / "bare.book")
    book = open_book(str(folder / "ours.book"))
    post = _posting(book)
    post()
    plain = sqlite3.connect(folder / "bare.book", isolation_level=None)
    for pragma in ("journal_mode=WAL", "synchronous=FULL", "foreign_keys=ON", "secure_delete=ON"):
        plain.execute(f"PRAGMA {pragma}")
    bare = _bare(plain.execute, _rows(book), "?", "BEGIN IMMEDIATE")
    bare()
    assert beside(f"{LINES} durable lines, SQLite", post, bare, ROUNDS) < 60


def test_durable_postings_beside_the_bare_driver_on_a_server(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("RECONDITION_FILES", str(folder / "files"))
    monkeypatch.setattr(tempfile, "tempdir", str(bench_folder()))
    with serving(hasty=False) as make:
        book, _ = imported(write_shop(folder / "sheets", 1000), make("ours"))
        book.close()
        place = make("bare", "ours")
        book = open_book(book.location)
        post = _posting(book)
        post()
        with psycopg.connect(place, autocommit=True) as plain:
            bare = _bare(plain.execute, _rows(book), "%s", "BEGIN")
            bare()
            ratio = beside(f"{LINES} durable lines, PostgreSQL", post, bare, ROUNDS)
        book.close()
    assert ratio < 60
