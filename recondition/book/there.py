"""What tables, columns, keys and indexes a database holds, read in a few queries."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from sqlalchemy import Connection, inspect, text
from sqlalchemy.engine.interfaces import ReflectedForeignKeyConstraint

Names = tuple[str, ...]

_COLUMNS = """
    SELECT m.name, c.name, c.type, c."notnull", c.pk FROM sqlite_master m
    JOIN pragma_table_xinfo(m.name) c WHERE m.type = 'table' ORDER BY m.name, c.pk, c.cid"""
_INDEXES = """
    SELECT m.name, l.name, l."unique", l.origin, l.partial, i.name FROM sqlite_master m
    JOIN pragma_index_list(m.name) l JOIN pragma_index_info(l.name) i
    WHERE m.type = 'table' ORDER BY m.name, l.name, i.seqno"""
_REFERENCES = """
    SELECT m.name, f."from", f."table", coalesce(f."to", 'id') FROM sqlite_master m
    JOIN pragma_foreign_key_list(m.name) f WHERE m.type = 'table'
    AND f.on_update = 'NO ACTION' AND f.on_delete = 'NO ACTION'"""


@dataclass(slots=True)
class There:
    """One table as the database has it.

    ``columns`` are type and whether it may be empty, by name; ``keys`` the unique ones,
    ``references`` the columns that point at the id of a row, by its table, ``indexes`` the plain
    ones and ``unique_indexes`` those that are no key.
    """

    columns: dict[str, tuple[str, bool]] = field(default_factory=dict)
    primary: list[str] = field(default_factory=list)
    keys: set[Names] = field(default_factory=set)
    references: dict[str, set[Names]] = field(default_factory=lambda: defaultdict(set))
    indexes: set[Names] = field(default_factory=set)
    unique_indexes: set[Names] = field(default_factory=set)


def tables_there(conn: Connection) -> dict[str, There]:
    """Read every table of a database, by name."""
    return _on_sqlite(conn) if conn.dialect.name == "sqlite" else _on_server(conn)


def _on_sqlite(conn: Connection) -> dict[str, There]:
    """Ask SQLite about all tables at once."""
    found: dict[str, There] = defaultdict(There)
    for table, name, of, required, key in conn.execute(text(_COLUMNS)):
        found[table].columns[name] = (of, not required)
        if key:
            found[table].primary.append(name)
    several: dict[tuple[str, str, Any, str, Any], list[str]] = defaultdict(list)
    for table, index, unique, origin, partial, name in conn.execute(text(_INDEXES)):
        several[table, index, unique, origin, partial].append(name or "an expression")
    for (table, _, unique, origin, partial), names in several.items():
        into = found[table]
        if origin == "u":
            into.keys.add(tuple(names))
        elif origin == "c" and unique:
            into.unique_indexes.add(tuple(names))
        elif origin == "c" and not partial:
            into.indexes.add(tuple(names))
    for table, name, other, to in conn.execute(text(_REFERENCES)):
        if to == "id":
            found[table].references[other].add((name,))
    return found


def _on_server(conn: Connection) -> dict[str, There]:
    """Ask PostgreSQL about all tables at once."""
    inspector, found = inspect(conn), dict[str, There]()
    for (_, table), columns in inspector.get_multi_columns().items():
        found[table] = There(
            {c["name"]: (c["type"].compile(conn.dialect), c["nullable"]) for c in columns}
        )
    for (_, table), primary in inspector.get_multi_pk_constraint().items():
        found[table].primary = list(primary["constrained_columns"]) if primary else []
    for (_, table), keys in inspector.get_multi_unique_constraints().items():
        found[table].keys = {tuple(key["column_names"]) for key in keys}
    for (_, table), references in inspector.get_multi_foreign_keys().items():
        found[table].references = _to_ids(references)
    for (_, table), indexes in inspector.get_multi_indexes().items():
        for index in indexes:
            names = tuple(name or "an expression" for name in index["column_names"])
            if not index["unique"]:
                found[table].indexes.add(names)
            elif "duplicates_constraint" not in index:
                found[table].unique_indexes.add(names)
    return found


def _to_ids(references: Sequence[ReflectedForeignKeyConstraint]) -> dict[str, set[Names]]:
    """Give the columns that point at the id of a row, by its table."""
    found: dict[str, set[Names]] = defaultdict(set)
    for key in references:
        if key["referred_columns"] == ["id"]:
            found[key["referred_table"]].add(tuple(key["constrained_columns"]))
    return found
