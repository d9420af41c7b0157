"""Checking tables, columns, keys, references, indexes and guards against what must be there."""

from __future__ import annotations

from collections import defaultdict
from functools import cache

from sqlalchemy import Table, UniqueConstraint, text

from recondition.book import guards
from recondition.book.columns import METADATA
from recondition.book.damage import NEW_BOOK
from recondition.book.looking import Look
from recondition.book.schema import NEWEST
from recondition.book.there import Names, There, tables_there


def schema(look: Look) -> None:
    """Hold every table, its columns, keys, references and indexes against the models."""
    versions = look.conn.execute(text("SELECT version_num FROM alembic_version")).scalars().all()
    if list(versions) != [NEWEST]:
        words = f"the schema is named {', '.join(map(str, versions)) or 'nothing'}, not {NEWEST}"
        look.examined.found(words, "table alembic_version")
    there = tables_there(look.conn)
    for table in METADATA.sorted_tables:
        if table.name in there:
            _compare(look, table, there[table.name])
        else:
            look.examined.found("the table is missing", f"table {table.name}")


def _compare(look: Look, table: Table, there: There) -> None:
    """Hold one table against its model. Further indexes do no harm unless they are unique."""
    wanted = _wanted(table.name, look.conn.dialect.name)
    _columns(look, f"table {table.name}", wanted, there)
    if there.primary != wanted.primary:
        words = "the primary key is missing or altered"
        look.examined.found(words, f"table {table.name}", NEW_BOOK)
    for what, must, may in (
        ("unique key", wanted.keys, there.keys),
        ("index", wanted.indexes, there.indexes & wanted.indexes),
        ("unique index", set(), there.unique_indexes),
    ):
        _differ(look, f"table {table.name}", what, must, may)
    for to in sorted({*wanted.references, *there.references}):
        must, may = wanted.references[to], there.references[to]
        _differ(look, f"table {table.name}", f"reference to a {to}", must, may)


@cache
def _wanted(name: str, dialect: str) -> There:
    """Give a table as the models have it, in the words of a database."""
    from sqlalchemy.dialects import registry  # noqa: PLC0415 - only what compiles a type

    table, made = METADATA.tables[name], registry.load(dialect)()
    return There(
        columns={
            c.name: (c.type.compile(made), bool(c.nullable) and not c.primary_key)
            for c in table.columns
        },
        primary=[column.name for column in table.primary_key.columns],
        keys={
            tuple(column.name for column in key.columns)
            for key in table.constraints
            if isinstance(key, UniqueConstraint)
        },
        references=_references(table),
        indexes={tuple(column.name for column in index.columns) for index in table.indexes},
    )


def _references(table: Table) -> dict[str, set[Names]]:
    """Give the columns of a table that point at a row, by the table of that."""
    found: dict[str, set[Names]] = defaultdict(set)
    for column in table.columns:
        for key in column.foreign_keys:
            found[key.column.table.name].add((column.name,))
    return found


def _columns(look: Look, where: str, wanted: There, there: There) -> None:
    """Hold columns against the model: their names, types, and whether they may be empty."""
    for name, (of, empty) in wanted.columns.items():
        found = there.columns.get(name)
        if found is None:
            look.examined.found(f"the column {name} is missing", where)
        elif found[0] != of:
            look.examined.found(f"the column {name} is no longer {of}", where, NEW_BOOK)
        elif found[1] and not empty:
            look.examined.found(f"the column {name} may be empty", where, NEW_BOOK)
    for name in there.columns:
        if name not in wanted.columns:
            look.examined.found(f"a column {name} that no book has", where, NEW_BOOK)


def _differ(look: Look, where: str, what: str, wanted: set[Names], found: set[Names]) -> None:
    """Note what is missing, and what no book has."""
    for names in sorted(wanted - found):
        words = f"the {what} on {', '.join(names)} is missing"
        look.examined.found(words, where, NEW_BOOK)
    for names in sorted(found - wanted):
        words = f"a {what} on {', '.join(names)} that no book has"
        look.examined.found(words, where, NEW_BOOK)


def guarded(look: Look) -> None:
    """Hold the guards against those that must be there; another one may do anything."""
    for guard in guards.missing(look.conn):
        words = f"the guard {guard.name} is missing or altered"
        look.examined.found(words, f"table {guard.table}", NEW_BOOK, guard=guard.name)
    for name, table in guards.strange(look.conn):
        words = f"a trigger {name} that no book has"
        look.examined.found(words, f"table {table}", NEW_BOOK)
