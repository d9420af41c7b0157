"""Checking names: rows that belong to no record, and what each entry is called."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cache
from typing import Any

from sqlalchemy import Select, func, select, text

from recondition.book.columns import METADATA
from recondition.book.damage import FROM_CHAIN
from recondition.book.kinds import KINDS
from recondition.book.looking import Look
from recondition.book.tables import entity, free_text, record


def _kinds_in(table: str) -> list[str]:
    """List the kinds whose records have a row in a table; side tables serve every kind."""
    own = [kind.name for kind in KINDS.values() if kind.table == table]
    return own or list(KINDS)


def strays(look: Look) -> None:
    """Find rows that belong to no record of the chain, or stand in another kind's table.

    All tables are asked at once, and one by one where that fails.
    """
    tables = [table.name for table in METADATA.sorted_tables if "record_id" in table.columns]
    if look.attempt(lambda: _strays_in(look, tables)):
        for name in tables:
            look.part(f"table {name}", lambda _, at=name: _strays_in(look, [at]))  # type: ignore[misc]


def _strays_in(look: Look, tables: Sequence[str]) -> None:
    """Count the rows of tables that belong to no record of their kinds."""
    counts = (_stray_count(name) for name in tables)
    for name, stray in look.conn.execute(text(" UNION ALL ".join(counts))).all():
        if stray:
            what = f"{stray} rows belong to no record of its kind"
            look.examined.found(what, f"table {name}")


@cache
def _stray_count(name: str) -> str:
    """Write the query that counts them in one table."""
    kinds = ", ".join(f"'{kind}'" for kind in _kinds_in(name))
    return (
        f"SELECT '{name}', count(*) FROM \"{name}\" AS each "  # noqa: S608 - own names only
        "LEFT JOIN record ON record.id = each.record_id "
        f"WHERE record.id IS NULL OR record.kind NOT IN ({kinds})"
    )


def current(look: Look) -> None:
    """Hold that each entity points at its newest version and carries the ref it was given."""
    for row in _entities(look):
        what = _fault(row)
        if what:
            where = f"entity {row.ref}"
            look.examined.found(what, where, FROM_CHAIN, record=str(row.id),
                                subject=str(row.subject))  # fmt: skip
    nameless = (
        select(
            record.c.entity,
            func.min(record.c.id).label("id"),
            func.min(record.c.subject).label("subject"),
        )
        .outerjoin(entity, entity.c.id == record.c.entity)
        .where(entity.c.id.is_(None))
        .group_by(record.c.entity)
    )
    for row in look.conn.execute(nameless):
        what = "the name of the record is missing"
        look.examined.found(what, f"entity {row.entity}", FROM_CHAIN, record=row.id,
                            subject=str(row.subject))  # fmt: skip


def _newest() -> Select[Any]:
    """Give the query of all names, each beside its newest version and the ref it was given."""
    newest, other = record.alias("newest"), record.alias("other")
    version = (
        select(func.max(other.c.version)).where(other.c.entity == entity.c.id).scalar_subquery()
    )
    return (
        select(
            entity.c.id, entity.c.kind, entity.c.ref, entity.c.subject, entity.c.current,
            newest.c.id.label("newest"), newest.c.kind.label("kind_there"),
            newest.c.subject.label("subject_there"), free_text.c.content.label("given"),
        )
        .select_from(entity)
        .outerjoin(newest, (newest.c.entity == entity.c.id) & (newest.c.version == version))
        .outerjoin(
            free_text, (free_text.c.record_id == newest.c.id) & (free_text.c.field == "ref")
        )
    )  # fmt: skip


def _entities(look: Look) -> Iterator[Any]:
    """Read all names one after another."""
    with look.stream(_newest()) as rows:
        yield from rows


def _fault(row: Any) -> str:  # noqa: ANN401 - a row of that query
    """Say what is wrong with a name, '' where nothing is."""
    if row.newest is None:
        return "it names a record that is not there"
    if row.current != row.newest:
        return "it does not point at its newest version"
    if (row.kind, row.subject) != (row.kind_there, row.subject_there):
        return "its kind or chain differs from its record's"
    if row.given is not None and row.given != row.ref:
        return "its ref differs from what was given"
    if row.given is None and row.ref not in (f"erased-{row.id[:8]}", f"restricted-{row.id[:8]}"):
        return "its ref was erased and it is called something again"
    return ""
