"""Which guards a book must have, and which of them are missing or altered."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import Connection, text

from recondition.book.columns import METADATA
from recondition.book.tables import POSTED
from recondition.book.tables_logins import KEPT, UNCHANGED
from recondition.book.triggers import (
    PREFIX,
    Guard,
    erasable_guards,
    head_guards,
    posted_guards,
    unchanged_guards,
)

_BETWEEN = "; called by: "
ERASABLE = ("free_text", "stored_file")


def expected(dialect: str) -> list[Guard]:
    """List every guard that a book of this dialect must have."""
    guards = [g for name in (*POSTED, *KEPT) for g in posted_guards(dialect, METADATA.tables[name])]
    guards += [g for name in ERASABLE for g in erasable_guards(dialect, METADATA.tables[name])]
    guards += [g for name in UNCHANGED for g in unchanged_guards(dialect, METADATA.tables[name])]
    return guards + head_guards(dialect)


@dataclass(frozen=True, slots=True)
class _Trigger:
    """A trigger that is there: its name and table, what it says, and whether it works."""

    name: str
    table: str
    says: str
    works: bool = True


def _present_sqlite(conn: Connection) -> list[_Trigger]:
    """Read the triggers of an SQLite book with the text they were made from."""
    query = "SELECT name, tbl_name, sql FROM sqlite_master WHERE type = 'trigger'"
    return [_Trigger(row.name, row.tbl_name, row.sql) for row in conn.execute(text(query))]


def _present_postgres(conn: Connection) -> list[_Trigger]:
    """Read the triggers of a PostgreSQL book: function body, then what calls it."""
    rows = conn.execute(
        text(
            "SELECT t.tgname AS name, c.relname AS at, p.prosrc AS body, t.tgenabled AS enabled, "
            "pg_get_triggerdef(t.oid, true) AS call FROM pg_trigger t "
            "JOIN pg_proc p ON p.oid = t.tgfoid JOIN pg_class c ON c.oid = t.tgrelid "
            "WHERE NOT t.tgisinternal AND c.relnamespace = current_schema()::regnamespace"
        )
    )
    return [
        _Trigger(row.name, row.at, f"{row.body}{_BETWEEN}{row.call}", row.enabled in ("O", b"O"))
        for row in rows
    ]


def _present(conn: Connection) -> dict[tuple[str, str], _Trigger]:
    """Read the triggers of a book by name and table."""
    read = _present_postgres if conn.dialect.name == "postgresql" else _present_sqlite
    return {(trigger.name, trigger.table): trigger for trigger in read(conn)}


def missing(conn: Connection) -> list[Guard]:
    """List the guards that are not there, are switched off, or do not say what they must."""
    dialect, present = conn.dialect.name, _present(conn)
    found = ((guard, present.get((guard.name, guard.table))) for guard in expected(dialect))
    return [
        guard
        for guard, there in found
        if there is None or not there.works or not _same(dialect, guard, there.says)
    ]


def strange(conn: Connection) -> list[tuple[str, str]]:
    """List triggers on the book's tables that are no guards: their name and table."""
    known = {(guard.name, guard.table) for guard in expected(conn.dialect.name)}
    present = _present(conn)
    return sorted(key for key in present if key not in known and key[1] in METADATA.tables)


def _same(dialect: str, guard: Guard, found: str) -> bool:
    """Compare a guard with what the database holds under its name."""
    if dialect == "postgresql":
        function, trigger = guard.statements
        wanted = function.split("$$")[1] + _BETWEEN + trigger
        return found.replace('"', "") == wanted.replace('"', "")
    return found == guard.statements[0]


__all__ = ["ERASABLE", "PREFIX", "expected", "missing", "strange"]
