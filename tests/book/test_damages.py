"""Every column, row, table, guard and key that is tampered with is named by the check."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

import pytest
from sqlalchemy import Boolean, Integer, LargeBinary, Table, delete, insert, select, text, update

from recondition.book import guards
from recondition.book.tables import METADATA, MUTABLE, POSTED
from tests.book.tampering import behind, raw_file, said_of

if TYPE_CHECKING:
    from sqlalchemy import Column, Connection

    from recondition.book.engine import Book
    from tests.book.make import FilledBook

Row = dict[str, Any]
CHAINED = [METADATA.tables[name] for name in POSTED if name not in ("record", "relation", "share")]
SIDE = [METADATA.tables[name] for name in ("record", "relation", "share", *sorted(MUTABLE))]
# What names the row itself; changed, the row is another's.
KEYS = {"record_id"}


@pytest.fixture(params=["sqlite"])
def in_file(whole: FilledBook) -> FilledBook:
    """Give a filled book that is a file of SQLite."""
    return whole


def other(column: Column[Any], value: Any) -> Any:
    """Give another value that its column can hold."""
    match column.type:
        case Boolean():
            return not value
        case Integer():
            return (value or 0) + 9000  # past what any row has
        case LargeBinary():
            return bytes(len(value))
    return f"{value or ''}x"


def rows_of(conn: Connection, table: Table) -> list[Row]:
    """Read every row, in the order of its key."""
    query = select(table).order_by(*table.primary_key.columns)
    return [dict(row) for row in conn.execute(query).mappings()]


def first(conn: Connection, table: Table) -> Row:
    return rows_of(conn, table)[0]


def at(table: Table, row: Row) -> Any:
    """Give the condition that finds a row by its key."""
    (condition, *more) = [column == row[column.name] for column in table.primary_key.columns]
    for each in more:
        condition &= each
    return condition


def test_every_column_of_every_posted_table_is_compared(filled: FilledBook) -> None:
    """One row of each table is changed in all its columns: each of them is named."""
    wanted = {}
    with behind(filled.book) as conn:
        for table in CHAINED:
            row = first(conn, table)
            changed = {c.name: other(c, row[c.name]) for c in table.columns if c.name not in KEYS}
            if changed:
                conn.execute(update(table).where(at(table, row)).values(changed))
                wanted[table.name, row["record_id"]] = set(changed)
    said = said_of(filled.book)
    assert len(wanted) > 50
    for (table_name, record_id), names in wanted.items():
        place = f" (table {table_name}, record {record_id})"
        (words,) = [w for w in said if w.endswith(place) and "chain" in w]
        assert names <= set(re.findall(r"\w+", words))


@pytest.mark.long
def test_every_column_of_the_chain_and_its_side_tables_is_held(whole: FilledBook) -> None:
    """One cell after another, each put back before the next."""
    quiet = []
    assert said_of(whole.book) == []
    for table in SIDE:
        for column in table.columns:
            with behind(whole.book) as conn:
                row = rows_of(conn, table)[-1]
                new = {column.name: other(column, row[column.name])}
                conn.execute(update(table).where(at(table, row)).values(new))
            if not said_of(whole.book):
                quiet.append(f"{table.name}.{column.name}")
            with behind(whole.book) as conn:
                conn.execute(update(table).where(at(table, row | new)).values(row))
    assert quiet == []
    assert said_of(whole.book) == []


def test_a_row_that_is_gone_or_under_another_record_is_found(filled: FilledBook) -> None:
    wanted = []
    with behind(filled.book) as conn:
        for place, table in enumerate(CHAINED):
            row = first(conn, table)
            if place % 2:
                conn.execute(delete(table).where(at(table, row)))
            else:
                conn.execute(update(table).where(at(table, row)).values(record_id="stray"))
                wanted.append(f"1 rows belong to no record of its kind (table {table.name})")
            wanted.append(f"the row is missing (table {table.name}, record {row['record_id']})")
    said = said_of(filled.book)
    assert [words for words in wanted if words not in said] == []


def test_a_row_that_was_added_is_found(filled: FilledBook) -> None:
    with behind(filled.book) as conn:
        for table in (*CHAINED, *(METADATA.tables[n] for n in ("relation", "share", "free_text"))):
            row = first(conn, table) | {"record_id": "stray"}
            row |= {c.name: None for c in table.columns if c.unique}
            conn.execute(insert(table).values(row))
    said = said_of(filled.book)
    for table in CHAINED:
        assert f"1 rows belong to no record of its kind (table {table.name})" in said


@pytest.mark.parametrize("name", ["record", "chain_head", "entity", "stored_file"])
def test_a_row_that_was_added_to_the_chain_is_found(in_file: FilledBook, name: str) -> None:
    table = METADATA.tables[name]
    with behind(in_file.book) as conn:
        row = rows_of(conn, table)[-1]
        keys = {c.name for c in table.columns if c.primary_key or c.unique}
        new = {c.name: other(c, row[c.name]) for c in table.columns if c.name in keys}
        more = {"sequence": 9000, "entity": "none"} if name == "record" else {"ref": "another"}
        new |= {key: value for key, value in more.items() if key in row}
        conn.execute(insert(table).values(row | new))
    wanted = {
        "record": "is missing", "chain_head": "the chain's records are gone",
        "entity": "it names a record that is not there",
        "stored_file": "1 rows belong to no record of its kind",
    }  # fmt: skip
    said = said_of(in_file.book)
    assert [words for words in said if wanted[name] in words], said


def dropped(book: Book, *tables: Table) -> None:
    """Drop tables, references and all."""
    cascade = " CASCADE" if book.path is None else ""
    with behind(book) as conn:
        for table in tables:
            conn.exec_driver_sql(f'DROP TABLE "{table.name}"{cascade}')


def test_a_book_without_most_of_its_tables_is_looked_at_all_the_same(filled: FilledBook) -> None:
    gone = [table for table in METADATA.sorted_tables if table.name != "record"]
    dropped(filled.book, *gone)
    said = said_of(filled.book)
    for table in gone:
        assert f"the table is missing (table {table.name})" in said


@pytest.mark.long
@pytest.mark.parametrize("name", [*sorted(t.name for t in SIDE), *POSTED[::9]])
def test_a_single_table_that_is_gone_is_named(in_file: FilledBook, name: str) -> None:
    dropped(in_file.book, METADATA.tables[name])
    assert f"the table is missing (table {name})" in said_of(in_file.book)


def test_guards_that_are_gone_or_do_nothing_are_named(filled: FilledBook) -> None:
    """Every other one is dropped; of the rest the body is replaced by nothing."""
    server = filled.book.path is None
    known = guards.expected("postgresql" if server else "sqlite")
    with filled.book.engine.begin() as conn:
        for place, guard in enumerate(known):
            on = f' ON "{guard.table}"' if server else ""
            if server and place % 2:
                change = f'CREATE OR REPLACE FUNCTION "{guard.name}"() RETURNS trigger '
                conn.exec_driver_sql(
                    change + "LANGUAGE plpgsql AS $$ BEGIN RETURN coalesce(NEW, OLD); END $$"
                )
                continue
            conn.exec_driver_sql(f'DROP TRIGGER "{guard.name}"{on}')
            if place % 2:
                empty = guard.statements[0].split(" BEGIN ")[0] + " BEGIN SELECT 1; END"
                conn.exec_driver_sql(empty)
    wanted = {
        f"the guard {guard.name} is missing or altered (table {guard.table})" for guard in known
    }
    assert set(said_of(filled.book)) == wanted


def test_a_trigger_that_no_book_has_is_named(filled: FilledBook) -> None:
    with filled.book.engine.begin() as conn:
        if filled.book.path is None:
            conn.exec_driver_sql('CREATE TRIGGER extra BEFORE INSERT ON line FOR EACH ROW EXECUTE '
                                 'FUNCTION "posted_line_update"()')  # fmt: skip
        else:
            conn.exec_driver_sql("CREATE TRIGGER extra AFTER INSERT ON line BEGIN SELECT 1; END")
    assert said_of(filled.book) == ["a trigger extra that no book has (table line)"]


def test_indexes_that_are_gone_and_unique_ones_that_were_added_are_named(
    filled: FilledBook,
) -> None:
    known = [(table, index) for table in METADATA.sorted_tables for index in table.indexes]
    with filled.book.engine.begin() as conn:
        for _, index in known:
            conn.exec_driver_sql(f'DROP INDEX "{index.name}"')
        conn.exec_driver_sql("CREATE UNIQUE INDEX extra ON panel (record_id, panel)")
        conn.exec_driver_sql("CREATE INDEX harmless ON panel (panel)")
    names = {
        f"the index on {', '.join(index.columns.keys())} is missing (table {table.name})"
        for table, index in known
    }
    extra = "a unique index on record_id, panel that no book has (table panel)"
    assert set(said_of(filled.book)) == {*names, extra}


ALTERED = {
    "a column that was added": (
        "ALTER TABLE share ADD COLUMN surplus TEXT", "a column surplus that no book has"
    ),
    "a column that is gone": (
        "ALTER TABLE sale DROP COLUMN result", "the column result is missing"
    ),
    "another name of the schema": (
        "UPDATE alembic_version SET version_num = '0001'", "the schema is named 0001"
    ),
}  # fmt: skip


@pytest.mark.parametrize("altered", ALTERED)
def test_an_altered_schema_is_named(filled: FilledBook, altered: str) -> None:
    statement, wanted = ALTERED[altered]
    with filled.book.engine.begin() as conn:
        conn.exec_driver_sql(statement)
    assert [words for words in said_of(filled.book) if wanted in words]


REWRITTEN = {
    "a column that may be empty": ("setting", "value TEXT NOT NULL", "value TEXT", "may be empty"),
    "a column of another type": ("panel", "substrate TEXT", "substrate TEXU", "is no longer TEXT"),
    "a reference that takes rows with it": (
        "interaction", "FOREIGN KEY(vehicle) REFERENCES record (id)",
        "FOREIGN KEY(vehicle) REFERENCES record (id) ON DELETE CASCADE",
        "the reference to a record on vehicle is missing",
    ),
    "a reference that is gone": (
        "interaction", "FOREIGN KEY(vehicle) REFERENCES record (id) DEFERRABLE INITIALLY DEFERRED",
        "CHECK (1)", "the reference to a record on vehicle is missing",
    ),
}  # fmt: skip


@pytest.mark.parametrize("altered", REWRITTEN)
def test_a_schema_rewritten_in_the_file_is_named(in_file: FilledBook, altered: str) -> None:
    table, old, new, wanted = REWRITTEN[altered]
    with raw_file(in_file.book) as raw:
        raw.execute("PRAGMA writable_schema = ON")
        query = "UPDATE sqlite_master SET sql = replace(sql, ?, ?) WHERE name = ? AND sql LIKE ?"
        assert raw.execute(query, (old, new, table, f"%{old}%")).rowcount
    assert [words for words in said_of(in_file.book) if wanted in words]


@pytest.mark.parametrize("filled", ["postgresql"], indirect=True)
def test_keys_and_references_that_are_gone_on_a_server_are_named(filled: FilledBook) -> None:
    """A file keeps its keys in its schema, which is tried above."""
    with filled.book.engine.begin() as conn:
        query = text("SELECT conname, conrelid::regclass::text FROM pg_constraint c "
                     "JOIN pg_class t ON t.oid = c.conrelid WHERE contype IN ('f', 'u') "
                     "AND t.relnamespace = current_schema()::regnamespace")  # fmt: skip
        for name, table in conn.execute(query).all():
            conn.exec_driver_sql(f'ALTER TABLE {table} DROP CONSTRAINT "{name}"')
        conn.exec_driver_sql("ALTER TABLE setting ALTER COLUMN value DROP NOT NULL")
    said = said_of(filled.book)
    for table in METADATA.sorted_tables:
        for key in table.foreign_keys:
            words = f"the reference to a {key.column.table.name} on {key.parent.name} is missing"
            assert f"{words} (table {table.name})" in said
    assert "the unique key on subject, sequence is missing (table record)" in said
    assert "the column value may be empty (table setting)" in said
