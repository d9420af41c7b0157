"""Every row of a book from one database into another, compared on the other side.

Rows are read in the state that the source's transaction sees and written in one transaction of
the target, some thousand at a time. Guards stay on. References are held row by row, since
everything points at ``record`` and that comes first: nothing piles up until the commit.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, Select, Table, exc, insert, inspect, select, text

from recondition.book import reading
from recondition.book.columns import METADATA
from recondition.book.errors import shown
from recondition.book.tables import record
from recondition.book.tables_logins import PASSING
from recondition.errors import Refused
from recondition.ledger import chain

BATCH = 2_000


class CopyDiffers(Refused):
    """A copy that is not what was copied, or a damaged book that was to be copied."""

    exit_status = 3

    def __init__(self, location: str, why: str) -> None:
        """Name the book that was copied and what does not fit."""
        super().__init__(
            f"no whole copy of {shown(location)} can be made: {why}",
            todo="Nothing was made. Run 'recondition check' on that book; restore a backup where "
            "it is damaged.",
        )


@dataclass(slots=True)
class _Sum:
    """What a table's rows add up to, in whatever order they come: their number and hashes."""

    rows: int = 0
    total: int = 0

    def add(self, rows: Iterable[Sequence[Any]]) -> None:
        """Take some rows in."""
        for row in rows:
            self.rows += 1
            digest = hashlib.sha256(repr(tuple(row)).encode(errors="backslashreplace"))
            self.total += int.from_bytes(digest.digest())


def copy_rows(source: Connection, target: Connection, location: str) -> None:
    """Copy all rows of the book at ``location`` into an empty one of the same schema.

    Sessions and the like are left out: nobody is signed in to the copy.
    Raises CopyDiffers where a table or column is missing, a row cannot be taken or is not the same
    on the other side.
    """
    if target.dialect.name == "postgresql":
        target.execute(text("SET CONSTRAINTS ALL IMMEDIATE"))
    there, here = _columns(source), _columns(target)
    for table in METADATA.sorted_tables:  # what is pointed at comes first
        if table.name not in here or table.name in PASSING:
            continue
        names = here[table.name]
        differ = set(names) ^ set(there.get(table.name, []))
        if differ:
            raise CopyDiffers(
                location, f"table {table.name} has other columns: {', '.join(sorted(differ))}"
            )
        try:
            sent = _send(source, target, table, names)
        except exc.OperationalError:  # of the disk or the server, not of the row
            raise
        except (exc.StatementError, TypeError, ValueError) as error:
            said = str(getattr(error, "orig", error)).splitlines()[0]
            raise CopyDiffers(
                location, f"a row of table {table.name} is damaged: {said}"
            ) from error
        if _sum_of(target, table, names) != sent:
            raise CopyDiffers(location, f"the rows of table {table.name} came out otherwise")


def _columns(conn: Connection) -> dict[str, list[str]]:
    """Give the columns of every table by its name; tables of others are among them."""
    found = inspect(conn).get_multi_columns()
    return {name: [column["name"] for column in columns] for (_, name), columns in found.items()}


def _read(table: Table, names: list[str]) -> Select[Any]:
    """Ask for the rows of a table, to be fetched some thousand at a time."""
    return select(*(table.c[name] for name in names)).execution_options(yield_per=BATCH)


def _send(source: Connection, target: Connection, table: Table, names: list[str]) -> _Sum:
    """Copy the rows of one table; give what they add up to."""
    sent = _Sum()
    with source.execute(_read(table, names)) as rows:
        for batch in rows.partitions():
            target.execute(insert(table), [dict(zip(names, row, strict=True)) for row in batch])
            sent.add(batch)
    return sent


def _sum_of(conn: Connection, table: Table, names: list[str]) -> _Sum:
    """Give what the rows of one table add up to."""
    found = _Sum()
    with conn.execute(_read(table, names)) as rows:
        for batch in rows.partitions():
            found.add(batch)
    return found


def follow(conn: Connection, noted: Iterable[chain.Head], location: str) -> tuple[int, int]:
    """Walk every chain of a copy, record by record, up to the heads noted in the original.

    Gives how many records and chains were compared. Raises CopyDiffers.
    """
    heads = {head.subject: head for head in noted}
    columns = (record.c.subject, record.c.sequence, record.c.previous, record.c.hash)
    query = select(*columns, record.c.canonical).order_by(record.c.subject, record.c.sequence)
    records, at = 0, chain.Head("", 0, chain.START)
    ends: dict[str, chain.Head] = {}
    with conn.execute(query.execution_options(yield_per=BATCH)) as rows:
        for row in rows:
            if row.subject != at.subject:
                at = chain.Head(row.subject, 0, chain.START)
            right = (row.sequence, row.previous) == (at.count + 1, at.hash)
            if not right or chain.digest(row.canonical) != row.hash:
                raise CopyDiffers(
                    location, f"record {row.sequence} of {row.subject} does not fit its chain"
                )
            at = ends[row.subject] = chain.Head(row.subject, row.sequence, row.hash)
            records += 1
    _compare(ends, heads, location)
    _compare({head.subject: head for head in reading.heads(conn)}, heads, location)
    return records, len(ends)


def _compare(
    found: dict[str, chain.Head], wanted: dict[str, chain.Head], location: str
) -> None:  # fmt: skip
    """Hold that chains end where they must."""
    for subject in sorted(found.keys() | wanted.keys()):
        if found.get(subject) != wanted.get(subject):
            raise CopyDiffers(location, f"the chain {subject} does not end at its head")
