"""Checking the database itself: that every page and row can be read, and points somewhere.

SQLite has checks of its own, which read the whole file. PostgreSQL has none without extensions,
so that every row is read whole and every reference is followed. Whoever runs the server can
have its indexes checked too, with its extension amcheck, and pages with data checksums.
"""

from __future__ import annotations

from functools import cache
from typing import Any

from sqlalchemy import BigInteger, Boolean, Column, Integer, LargeBinary, Table, text

from recondition.book.columns import METADATA
from recondition.book.damage import NEW_BOOK
from recondition.book.looking import Look

_NAMED = 20

# What PostgreSQL's own catalogue says of what was switched off, by the words for it.
_OFF = {
    "the reference {} is not held": """
        SELECT c.relname, k.conname FROM pg_constraint k JOIN pg_class c ON c.oid = k.conrelid
        WHERE c.relnamespace = current_schema()::regnamespace AND NOT k.convalidated""",
    "the reference {} is switched off": """
        SELECT DISTINCT c.relname, k.conname FROM pg_trigger t
        JOIN pg_constraint k ON k.oid = t.tgconstraint JOIN pg_class c ON c.oid = t.tgrelid
        WHERE c.relnamespace = current_schema()::regnamespace
        AND t.tgisinternal AND t.tgenabled <> 'O'""",
    "the index {} is not whole": """
        SELECT c.relname, i.relname FROM pg_index x
        JOIN pg_class c ON c.oid = x.indrelid JOIN pg_class i ON i.oid = x.indexrelid
        WHERE c.relnamespace = current_schema()::regnamespace
        AND NOT (x.indisvalid AND x.indisready)""",
    "a rule {} stands before it": """
        SELECT c.relname, r.rulename FROM pg_rewrite r JOIN pg_class c ON c.oid = r.ev_class
        WHERE c.relnamespace = current_schema()::regnamespace AND c.relkind = 'r'""",
    "the rows of {} count as its own": """
        SELECT c.relname, i.relname FROM pg_inherits h
        JOIN pg_class c ON c.oid = h.inhparent JOIN pg_class i ON i.oid = h.inhrelid
        WHERE c.relnamespace = current_schema()::regnamespace AND c.relkind = 'r'""",
    "the reference {} also changes or deletes": """
        SELECT c.relname, k.conname FROM pg_constraint k JOIN pg_class c ON c.oid = k.conrelid
        WHERE c.relnamespace = current_schema()::regnamespace AND k.contype = 'f'
        AND (k.confdeltype <> 'a' OR k.confupdtype <> 'a')""",
    "the rows of {} may be hidden by policies": """
        SELECT c.relname, c.relname FROM pg_class c
        WHERE c.relnamespace = current_schema()::regnamespace AND c.relrowsecurity""",
}


def database(look: Look) -> None:
    """Ask the database about its pages, rows and references."""
    parts = (_pages, _references, _types) if look.sqlite else (_rows, _orphans, _switched_off)
    for step in parts:
        look.part("the database", step)


def _pages(look: Look) -> None:
    """Ask SQLite about its pages and indexes."""
    for row in look.conn.execute(text("PRAGMA integrity_check")):
        if row[0] != "ok":
            words = "; ".join(str(row[0]).splitlines())
            look.examined.found(f"the database reports: {words}", "database file")


def _references(look: Look) -> None:
    """Ask SQLite for rows that point at nothing."""
    for row in look.conn.execute(text("PRAGMA foreign_key_check")):
        words = f"row {row[1]} points at a {row[2]} that is not there"
        look.examined.found(words, f"table {row[0]}")


def _types(look: Look) -> None:
    """Find cells that hold another type than their column has; SQLite lets any type in."""
    for table in METADATA.sorted_tables:
        look.part(f"table {table.name}", lambda one, at=table: _types_in(one, at))  # type: ignore[misc]


def _types_in(look: Look, table: Table) -> None:
    """Find such cells in one table."""
    for key, *wrong in look.conn.exec_driver_sql(_types_query(table.name)):
        names = ", ".join(c.name for c, bad in zip(table.columns, wrong, strict=True) if bad)
        where = f"table {table.name}, row {bytes.fromhex(key or '').decode('utf-8', 'replace')}"
        look.examined.found(f"{names} hold what the column cannot", where)


@cache
def _types_query(name: str) -> str:
    """Write the query of such cells: the row's key in hexadecimal, then one mark a column."""
    columns = METADATA.tables[name].columns
    marks = [_wrong(column) for column in columns]
    key = next(iter(METADATA.tables[name].primary_key.columns)).name
    return (
        f'SELECT hex("{key}"), {", ".join(marks)} FROM "{name}" '  # noqa: S608 - own names only
        f"WHERE {' OR '.join(marks)} LIMIT {_NAMED}"
    )


def _wrong(column: Column[Any]) -> str:
    """Write the condition that a cell holds no value of its column's type."""
    kinds = f"'{_type_of(column)}'" + (", 'null'" if column.nullable else "")
    wrong = f'typeof("{column.name}") NOT IN ({kinds})'
    if isinstance(column.type, Boolean):
        return f'({wrong} OR "{column.name}" NOT IN (0, 1))'
    return wrong


def _type_of(column: Column[Any]) -> str:
    """Name SQLite's type for the values of a column."""
    if isinstance(column.type, BigInteger | Integer | Boolean):
        return "integer"
    return "blob" if isinstance(column.type, LargeBinary) else "text"


def _rows(look: Look) -> None:
    """Read every row of every table whole, so that a page that is broken speaks."""
    for table in METADATA.sorted_tables:
        look.part(f"table {table.name}", lambda one, at=table: _read_all(one, at))  # type: ignore[misc]


def _read_all(look: Look, table: Table) -> None:
    """Read one table; the server need not send what it has read."""
    name = look.conn.dialect.identifier_preparer.format_table(table)
    whole = text(f"SELECT sum(length(CAST(each.* AS text))) FROM {name} AS each")  # noqa: S608 - own name
    look.conn.execute(whole)


def _orphans(look: Look) -> None:
    """Follow every reference, since PostgreSQL does not do so once they are switched off."""
    for table in METADATA.sorted_tables:
        names = {c.name: k.column.table.name for c in table.columns for k in c.foreign_keys}
        if names:
            look.part(f"table {table.name}",
                      lambda one, at=table.name, of=names: _orphans_in(one, at, of))  # type: ignore[misc]  # fmt: skip


def _orphans_in(look: Look, table: str, names: dict[str, str]) -> None:
    """Count the references of one table that lead nowhere; ``names`` gives where each leads."""
    counts = ", ".join(
        f'count(*) FILTER (WHERE each."{name}" IS NOT NULL AND NOT EXISTS '  # noqa: S608 - own names
        f'(SELECT 1 FROM "{to}" AS there WHERE there.id = each."{name}"))'
        for name, to in names.items()
    )
    row = look.conn.execute(text(f'SELECT {counts} FROM "{table}" AS each')).one()  # noqa: S608 - as above
    for name, count in zip(names, row, strict=True):
        if count:
            words = f"{count} rows point with {name} at a {names[name]} that is not there"
            look.examined.found(words, f"table {table}")


def _switched_off(look: Look) -> None:
    """Find references, indexes and rules that no longer do what they are for."""
    if look.conn.execute(text("SHOW session_replication_role")).scalar() != "origin":
        words = "guards and references are switched off for this database or its user"
        look.examined.found(words, "session_replication_role", NEW_BOOK)
    for words, query in _OFF.items():
        for table, name in look.conn.execute(text(query)):
            if table in METADATA.tables:
                look.examined.found(words.format(name), f"table {table}", NEW_BOOK)
