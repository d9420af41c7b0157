"""Which guards a book must have, and which of them are missing or altered."""

from __future__ import annotations

from sqlalchemy import Connection, text

from recondition.book.columns import METADATA
from recondition.book.tables import POSTED
from recondition.book.triggers import (
    PREFIX,
    Guard,
    erasable_guards,
    head_guards,
    posted_guards,
)

_BETWEEN = "; called by: "
ERASABLE = ("free_text", "stored_file")


def expected(dialect: str) -> list[Guard]:
    """List every guard that a book of this dialect must have."""
    guards = [g for name in POSTED for g in posted_guards(dialect, METADATA.tables[name])]
    guards += [g for name in ERASABLE for g in erasable_guards(dialect, METADATA.tables[name])]
    return guards + head_guards(dialect)


def _present_sqlite(conn: Connection) -> dict[str, str]:
    """Read the triggers of an SQLite book with the text they were made from."""
    rows = conn.execute(text("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'"))
    return {row.name: row.sql for row in rows}


def _present_postgres(conn: Connection) -> dict[str, str]:
    """Read the enabled triggers of a PostgreSQL book: function body, then what calls it."""
    rows = conn.execute(
        text(
            "SELECT t.tgname AS name, p.prosrc AS body, "
            "pg_get_triggerdef(t.oid, true) AS call FROM pg_trigger t "
            "JOIN pg_proc p ON p.oid = t.tgfoid JOIN pg_class c ON c.oid = t.tgrelid "
            "WHERE NOT t.tgisinternal AND t.tgenabled = 'O' "
            "AND c.relnamespace = current_schema()::regnamespace"
        )
    )
    return {row.name: f"{row.body}{_BETWEEN}{row.call}" for row in rows}


def missing(conn: Connection) -> list[Guard]:
    """List the guards that are not there, are switched off, or do not say what they must."""
    dialect = conn.dialect.name
    present = _present_postgres(conn) if dialect == "postgresql" else _present_sqlite(conn)
    return [
        guard
        for guard in expected(dialect)
        if not _same(dialect, guard, present.get(guard.name, ""))
    ]


def _same(dialect: str, guard: Guard, found: str) -> bool:
    """Compare a guard with what the database holds under its name."""
    if dialect == "postgresql":
        function, trigger = guard.statements
        wanted = function.split("$$")[1] + _BETWEEN + trigger
        return found.replace('"', "") == wanted.replace('"', "")
    return found == guard.statements[0]


__all__ = ["ERASABLE", "PREFIX", "expected", "missing"]
