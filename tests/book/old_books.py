"""Books that earlier versions of the program wrote, and what they said of them."""

from __future__ import annotations

import gzip
import json
import sqlite3
import zipfile
from contextlib import closing
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from sqlalchemy import MetaData, create_engine, insert, select, text

from recondition.book import reading, schema
from recondition.book.engine import Book, create_book, open_any, open_book
from recondition.book.tables import METADATA
from recondition.ledger.rollup import Axis, pieces, roll_up

if TYPE_CHECKING:
    from sqlalchemy import Connection

Rows = dict[str, list[dict[str, Any]]]
OLD = schema.REVISIONS[:-1]
FOLDER = Path(__file__).parent.parent / "data" / "old_books"


def told(revision: str) -> dict[str, Any]:
    """Give what the program of that day said of its book."""
    found: dict[str, Any] = json.loads((FOLDER / f"{revision}.json").read_text())
    return found


# The books were filled with an erasure on record whose text was left where it was.
_ERASED = "DELETE FROM free_text WHERE (record_id, field) IN (SELECT erased, field FROM erasure)"


def lay_out(revision: str, path: Path) -> None:
    """Write an old book as the SQLite file it was, without what its erasures speak of."""
    dump = gzip.decompress((FOLDER / f"{revision}.sql.gz").read_bytes()).decode()
    with closing(sqlite3.connect(path)) as raw:
        raw.executescript(dump)
        with raw:
            raw.execute(_ERASED)


def old_book(revision: str, folder: Path, url: str = "") -> Book:
    """Give an old book as a new SQLite file in a folder, or in an empty PostgreSQL database."""
    path = folder / f"old{revision}.sqlite"
    lay_out(revision, path)
    with zipfile.ZipFile(FOLDER / "files.zip") as packed:
        packed.extractall(folder / "files")
    if not url:
        return replace(open_any(str(path)), files=folder / "files")
    made = replace(create_at(url, revision), files=folder / "files")
    engine = create_engine(f"sqlite:///{path}")
    with engine.connect() as source, made.writing() as conn:
        rows = everything(source)
        for name in rows:
            if rows[name]:
                conn.execute(insert(METADATA.tables[name]), rows[name])
    return made


def reopened(book: Book) -> Book:
    """Open a book anew; it must have the newest schema."""
    return replace(open_book(book.location), files=book.files)


def create_at(location: str, revision: str) -> Book:
    """Make an empty book of an earlier schema."""
    with pytest.MonkeyPatch.context() as patch:
        newest = schema.upgrade
        patch.setattr(schema, "upgrade", lambda conn: newest(conn, revision))
        return create_book(location)


def everything(conn: Connection) -> Rows:
    """Read every row of every table that is there."""
    found = MetaData()
    found.reflect(conn)
    return {
        table.name: sorted((dict(row) for row in conn.execute(select(table)).mappings()), key=repr)
        for table in found.sorted_tables
        if table.name != "alembic_version"
    }


def in_newest(rows: Rows) -> Rows:
    """Give earlier rows as the newest schema holds them: new columns and tables are empty."""
    return {
        table.name: sorted(
            ({c.name: row.get(c.name) for c in table.columns} for row in rows.get(table.name, [])),
            key=repr,
        )
        for table in METADATA.sorted_tables
    }


def statements(conn: Connection) -> set[tuple[str, ...]]:
    """Give what a database is made of: on SQLite its statements, else all that can be listed."""
    if conn.dialect.name == "sqlite":
        rows = conn.execute(text("SELECT type, name, tbl_name, sql FROM sqlite_master"))
        return {tuple(map(str, row)) for row in rows}
    found: set[tuple[str, ...]] = set()
    for query in _CATALOGUES:
        found |= {tuple(map(str, row)) for row in conn.execute(text(query))}
    return found


_CATALOGUES = (
    (
        "SELECT 'column', table_name, column_name, data_type, is_nullable FROM "
        "information_schema.columns WHERE table_schema = 'public'"
    ),
    "SELECT 'index', indexname, indexdef FROM pg_indexes WHERE schemaname = 'public'",
    "SELECT 'trigger', tgname, pg_get_triggerdef(oid) FROM pg_trigger WHERE NOT tgisinternal",
    (
        "SELECT 'constraint', conname, pg_get_constraintdef(oid) FROM pg_constraint "
        "WHERE connamespace = 'public'::regnamespace"
    ),
    "SELECT 'function', proname, prosrc FROM pg_proc WHERE pronamespace = 'public'::regnamespace",
    (
        "SELECT 'comment', c.relname, a.attname, d.description FROM pg_description d "
        "JOIN pg_class c ON c.oid = d.objoid AND c.relnamespace = 'public'::regnamespace "
        "JOIN pg_attribute a ON a.attrelid = c.oid AND a.attnum = d.objsubid"
    ),
)


def said_now(conn: Connection) -> dict[str, Any]:
    """Say of a book what the program of its day said: heads and totals."""
    found = {each.id: each.entry for each in reading.stored(conn, "finding")}
    cut = pieces(reading.lines(conn), found)
    return {
        "heads": {head.subject: [head.count, head.hash] for head in reading.heads(conn)},
        "totals": {
            axis.value: {
                str(key): [total.cost.minor, total.billed.minor, len(total.lines)]
                for key, total in roll_up(cut, axis, "USD").items()
            }
            for axis in Axis
        },
    }
