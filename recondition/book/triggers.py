"""Triggers that make posted tables insert-only, on SQLite and PostgreSQL.

Four attacks are refused: UPDATE, DELETE, an INSERT whose key exists (on SQLite
``INSERT OR REPLACE`` would otherwise walk past the first two), and on PostgreSQL TRUNCATE.
Free text and stored files may be deleted only after an erasure is on record, and chain heads
may only grow. The statements are frozen: migrations that are released rely on them, so a
change is a new function, never an edit.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import Table, UniqueConstraint

PREFIX = "posted_"
_WORDS = "posted records are never changed: reverse the line and post a new one"


@dataclass(frozen=True, slots=True)
class Guard:
    """One trigger: its name, its table and the statements that make it."""

    name: str
    table: str
    statements: tuple[str, ...]


def unique_keys(table: Table) -> list[list[str]]:
    """List the column sets of a table that must not repeat: primary key and unique ones."""
    keys = [[column.name for column in table.primary_key.columns]]
    keys += [
        [column.name for column in constraint.columns]
        for constraint in table.constraints
        if isinstance(constraint, UniqueConstraint)
    ]
    return sorted(keys)


def _exists(table: str, keys: Sequence[Sequence[str]]) -> str:
    """Write the condition that a row with one of the new row's keys is there already."""
    matches = [" AND ".join(f'"{c}" = NEW."{c}"' for c in key) for key in keys]
    rows = [f'SELECT 1 FROM "{table}" WHERE {match}' for match in matches]  # noqa: S608 - own names
    return " OR ".join(f"EXISTS ({row})" for row in rows)


def _sqlite(name: str, when: str, table: str, condition: str, words: str) -> Guard:
    """Write one SQLite trigger that aborts."""
    guard = f" WHEN {condition}" if condition else ""
    body = f"SELECT RAISE(ABORT, '{words}');"
    sql = f'CREATE TRIGGER "{name}" BEFORE {when} ON "{table}"{guard} BEGIN {body} END'
    return Guard(name, table, (sql,))


def _postgres(name: str, when: str, table: str, condition: str, words: str) -> Guard:
    """Write one PostgreSQL trigger with a function of its own that raises."""
    level = "STATEMENT" if when == "TRUNCATE" else "ROW"
    raise_it = f"RAISE EXCEPTION '{words}';"
    body = f"IF {condition} THEN {raise_it} END IF;" if condition else raise_it
    leave = "RETURN OLD;" if when == "DELETE" else "RETURN NEW;"
    function = (
        f'CREATE FUNCTION "{name}"() RETURNS trigger LANGUAGE plpgsql AS '
        f"$$ BEGIN {body} {leave} END $$"
    )
    trigger = (
        f'CREATE TRIGGER "{name}" BEFORE {when} ON "{table}" '
        f'FOR EACH {level} EXECUTE FUNCTION "{name}"()'
    )
    return Guard(name, table, (function, trigger))


def _not_erased(table: str) -> str:
    """Write the condition that no erasure is on record for the old row."""
    field = 'OLD."field"' if table == "free_text" else "'file'"
    match = f'"erased" = OLD."record_id" AND "field" = {field}'
    return f"NOT EXISTS (SELECT 1 FROM erasure WHERE {match})"  # noqa: S608 - own names only


def posted_guards(dialect: str, table: Table) -> list[Guard]:
    """Write the guards of one posted table: no update, no delete, no second row of a key."""
    make = _postgres if dialect == "postgresql" else _sqlite
    name = table.name
    guards = [
        make(f"{PREFIX}{name}_update", "UPDATE", name, "", _WORDS),
        make(f"{PREFIX}{name}_delete", "DELETE", name, "", _WORDS),
        make(f"{PREFIX}{name}_insert", "INSERT", name, _exists(name, unique_keys(table)), _WORDS),
    ]
    if dialect == "postgresql":
        guards.append(make(f"{PREFIX}{name}_truncate", "TRUNCATE", name, "", _WORDS))
    return guards


def erasable_guards(dialect: str, table: Table) -> list[Guard]:
    """Write the guards of a table whose rows may be deleted once their erasure is on record."""
    make = _postgres if dialect == "postgresql" else _sqlite
    name = table.name
    words = "a text or file is deleted only by an erasure on record"
    guards = [
        make(f"{PREFIX}{name}_update", "UPDATE", name, "", _WORDS),
        make(f"{PREFIX}{name}_delete", "DELETE", name, _not_erased(name), words),
        make(f"{PREFIX}{name}_insert", "INSERT", name, _exists(name, unique_keys(table)), _WORDS),
    ]
    if dialect == "postgresql":
        guards.append(make(f"{PREFIX}{name}_truncate", "TRUNCATE", name, "", words))
    return guards


def unchanged_guards(dialect: str, table: Table) -> list[Guard]:
    """Write the guards of a table whose rows may be deleted, and never changed or replaced."""
    make = _postgres if dialect == "postgresql" else _sqlite
    name, words = table.name, "the trail is never changed"
    guards = [
        make(f"{PREFIX}{name}_update", "UPDATE", name, "", words),
        make(f"{PREFIX}{name}_insert", "INSERT", name, _exists(name, unique_keys(table)), words),
    ]
    if dialect == "postgresql":
        guards.append(make(f"{PREFIX}{name}_truncate", "TRUNCATE", name, "", words))
    return guards


def head_guards(dialect: str) -> list[Guard]:
    """Write the guards of chain heads: the count only grows and no head goes away."""
    make = _postgres if dialect == "postgresql" else _sqlite
    name, words = "chain_head", "a chain only grows"
    shrinks = 'NEW."count" <= OLD."count" OR NEW."subject" <> OLD."subject"'
    guards = [
        make(f"{PREFIX}{name}_update", "UPDATE", name, shrinks, words),
        make(f"{PREFIX}{name}_delete", "DELETE", name, "", words),
        make(f"{PREFIX}{name}_insert", "INSERT", name, _exists(name, [["subject"]]), words),
    ]
    if dialect == "postgresql":
        guards.append(make(f"{PREFIX}{name}_truncate", "TRUNCATE", name, "", words))
    return guards
