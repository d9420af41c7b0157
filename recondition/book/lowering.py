"""Taking a book back to an older schema, where nothing of the later ones is in use.

Tables and columns that the older schema lacks are dropped once they are known to hold nothing
(sessions and the like with what is in them), indexes at once; no table is rebuilt, and chains,
texts and guards stay as they are, to the byte. What the older schema has is read from the
migrations themselves.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

from sqlalchemy import Connection, func, inspect, select, text

from recondition.book import schema
from recondition.book.backup import copy_beside
from recondition.book.brought import unknown_at
from recondition.book.columns import METADATA
from recondition.book.engine import Book, version_of
from recondition.book.tables import entity, record
from recondition.book.tables_logins import PASSING
from recondition.book.triggers import PREFIX
from recondition.book.visits import end_visits
from recondition.errors import Refused
from recondition.ledger import chain

BATCH = 500
_NAMED = 5
_EVENTS = ("update", "delete", "insert", "truncate")


class NoOlderSchema(Refused):
    """A schema to go back to that is unknown, or not older than the book's own."""

    exit_status = 2

    def __init__(self, asked: str, found: str) -> None:
        """Name both, and what there is to choose from."""
        older = schema.REVISIONS[: schema.REVISIONS.index(found)]
        super().__init__(
            f"the book has schema {found}, and {asked!r} is no older one",
            todo=f"Name one of {', '.join(older)} with --to." if older else "There is none.",
        )


class StillInUse(Refused):
    """A book holds something that the older schema has no place for."""

    def __init__(self, revision: str, found: Sequence[str], count: int) -> None:
        """Name some of what is in use, and how much there is."""
        more = f" and {count - len(found)} more" if count > len(found) else ""
        super().__init__(
            f"schema {revision} has no place for what the book holds in {count} "
            f"{'record' if count == 1 else 'records'}",
            where=f"{', '.join(found)}{more}",
            todo="Posted records are never dropped, so the book stays as it is. The way back is "
            "the copy made before the upgrade; what was entered since is entered there again.",
        )


def in_use(conn: Connection, revision: str) -> Iterator[str]:
    """Name each record that an older schema could not hold, and what of it.

    Every version of a record counts, since all of them stay in the chain.
    """
    query = select(record.c.canonical, entity.c.ref).join(entity, entity.c.id == record.c.entity)
    with conn.execute(query.execution_options(yield_per=BATCH)) as rows:
        for row in rows:
            payload = chain.read(row.canonical)
            unknown = list(unknown_at(revision, payload, row.ref))
            if unknown:
                yield f"{payload['kind']} {row.ref} ({', '.join(unknown)})"


def _refuse_what_is_in_use(conn: Connection, revision: str) -> None:
    """Raise StillInUse where a record says something that the schema does not know."""
    named: list[str] = []
    count = 0
    for found in in_use(conn, revision):
        count += 1
        if count <= _NAMED:
            named.append(found)
    if count:
        raise StillInUse(revision, sorted(named), count)


def downgrade_with_copy(book: Book, to: str) -> Path:
    """Take a book back to an older schema; give where the copy lies that is made before.

    Raises NoOlderSchema, StillInUse, NotCopied; a refused book is left as it is, uncopied.
    """
    found = version_of(book)
    if to not in schema.REVISIONS[: schema.REVISIONS.index(found)]:
        raise NoOlderSchema(to, found)
    with book.reading() as conn:
        _refuse_what_is_in_use(conn, to)
    parts = schema.parts_at(to)
    copy = copy_beside(book, "downgrade")
    with book.writing(alone=True) as conn:
        _refuse_what_is_in_use(conn, to)
        _drop(conn, to, parts)
        end_visits(conn)
        conn.execute(text("UPDATE alembic_version SET version_num = :to"), {"to": to})
    return copy


def _drop(conn: Connection, to: str, parts: dict[str, schema.Parts]) -> None:
    """Drop the tables, columns and indexes that an older schema lacks."""
    inspector, later = inspect(conn), _later_indexes(parts)
    there = set(inspector.get_table_names())
    for table in _pointing_first(there - set(parts)):
        _drop_table(conn, to, table)
    for table in sorted(there & set(parts)):
        surplus = {column["name"] for column in inspector.get_columns(table)} - parts[table].columns
        for index in inspector.get_indexes(table):
            if index["name"] in later or surplus & set(index["column_names"]):
                conn.execute(text(f'DROP INDEX "{index["name"]}"'))
        for name in sorted(surplus):
            _must_be_empty(conn, to, table, name)
            conn.execute(text(f'ALTER TABLE "{table}" DROP COLUMN "{name}"'))


def _pointing_first(names: set[str]) -> list[str]:
    """Put tables in an order in which none is dropped while another points at it."""
    return [table.name for table in reversed(METADATA.sorted_tables) if table.name in names]


def _later_indexes(parts: dict[str, schema.Parts]) -> set[str]:
    """Name the indexes of the newest schema that an older one lacks; the user's own are none."""
    newest = {str(index.name) for table in METADATA.sorted_tables for index in table.indexes}
    return newest - {name for table in parts.values() for name in table.indexes}


def _drop_table(conn: Connection, to: str, table: str) -> None:
    """Drop an empty table; its guards go with it, on PostgreSQL their functions after it.

    What ends by itself, such as sessions, goes with what is in it.
    """
    if table not in PASSING:
        (key, *_) = METADATA.tables[table].primary_key.columns
        _must_be_empty(conn, to, table, key.name)
    conn.execute(text(f'DROP TABLE "{table}"'))
    if conn.dialect.name == "postgresql":
        for event in _EVENTS:
            conn.execute(text(f'DROP FUNCTION IF EXISTS "{PREFIX}{table}_{event}"()'))


def _must_be_empty(conn: Connection, to: str, table: str, column: str) -> None:
    """Hold that a column holds nothing. Raises StillInUse: a row that the chain does not tell."""
    held = METADATA.tables[table].c[column]
    count = conn.execute(select(func.count()).where(held.is_not(None))).scalar() or 0
    if count:
        raise StillInUse(to, [f"table {table}, column {column}"], count)
