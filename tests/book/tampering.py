"""Changing a book behind its guards, as somebody with the file or the server could."""

from __future__ import annotations

import sqlite3
from contextlib import closing, contextmanager
from typing import TYPE_CHECKING, Any

import rfc8785
from sqlalchemy import create_engine, event, text
from sqlalchemy.pool import NullPool

from recondition.book.check import check
from recondition.ledger import chain

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from sqlalchemy import Connection

    from recondition.book.engine import Book


@contextmanager
def behind(book: Book) -> Iterator[Connection]:
    """Give a connection on which no trigger and no reference is held, and that commits.

    On SQLite the triggers are taken off and put back; on PostgreSQL they are passed by.
    """
    if book.path is None:
        with book.engine.begin() as conn:
            conn.execute(text("SET session_replication_role = replica"))
            yield conn
            conn.execute(text("SET session_replication_role = origin"))
        return
    engine = create_engine(f"sqlite:///{book.path}", poolclass=NullPool)
    event.listen(engine, "connect", lambda raw, _: raw.execute("PRAGMA foreign_keys = OFF"))
    with engine.begin() as conn:
        query = "SELECT name, sql FROM sqlite_master WHERE type = 'trigger'"
        kept = conn.exec_driver_sql(query).all()
        for name, _sql in kept:
            conn.exec_driver_sql(f'DROP TRIGGER "{name}"')
        yield conn
        tables = set(
            conn.exec_driver_sql("SELECT name FROM sqlite_master WHERE type = 'table'").scalars()
        )
        for _name, sql in kept:
            if sql.split(' ON "')[1].split('"')[0] in tables:
                conn.exec_driver_sql(sql)


def tamper(book: Book, *statements: str) -> None:
    """Change a closed book's rows behind its guards; each statement must change something."""
    with behind(book) as conn:
        for statement in statements:
            changed = conn.exec_driver_sql(statement).rowcount
            assert changed, f"nothing was changed by {statement}"


@contextmanager
def raw_file(book: Book) -> Iterator[sqlite3.Connection]:
    """Give the plain connection to an SQLite book, with its guards on."""
    assert book.path is not None
    with closing(sqlite3.connect(book.path)) as raw, raw:
        yield raw


def said_of(book: Book) -> list[str]:
    """Check a book and give what is said, with the place; every damage says what to do."""
    damages = check(book).damages
    assert all(damage.todo and damage.touches for damage in damages)
    return [f"{damage.what} ({damage.where})" for damage in damages]


def rewritten(
    book: Book, subject: str, change: Callable[[dict[str, Any]], None], *, to_head: bool = True
) -> None:
    """Rewrite a chain so that it is whole in itself: texts, hashes, links and its head.

    ``change`` may alter each payload; the columns of the record follow it.
    """
    with behind(book) as conn:
        query = text("SELECT id, canonical FROM record WHERE subject = :subject ORDER BY sequence")
        previous, count = chain.START, 0
        for row in conn.execute(query, {"subject": subject}).all():
            payload = chain.read(row.canonical)
            change(payload)
            payload["previous"] = previous
            made = rfc8785.dumps(payload).decode()
            before, previous, count = previous, chain.digest(made), count + 1
            conn.execute(
                text(
                    "UPDATE record SET canonical = :made, hash = :hash, previous = :before, "
                    "recorded_at = :at, author = :author WHERE id = :id"
                ),
                {"made": made, "hash": previous, "before": before, "id": row.id,
                 "at": payload["recorded_at"], "author": payload["author"]},
            )  # fmt: skip
        if to_head:
            conn.execute(
                text("UPDATE chain_head SET hash = :hash, count = :count WHERE subject = :subject"),
                {"hash": previous, "count": count, "subject": subject},
            )
