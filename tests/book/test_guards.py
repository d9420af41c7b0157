"""The four attacks on every guarded table, on both engines, and the list of triggers."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest
from sqlalchemy import Connection, delete, exc, insert, select, text, update

from recondition.book import guards
from recondition.book.check import check
from recondition.book.tables import METADATA, MUTABLE, POSTED, chain_head, entity, free_text
from recondition.book.tables_logins import KEPT, OF_PAGES, UNCHANGED
from tests.book.make import FilledBook

if TYPE_CHECKING:
    from collections.abc import Iterator

    from sqlalchemy import Executable, Insert, Table

    from recondition.book.engine import Book

GUARDED = (*POSTED, *guards.ERASABLE, "chain_head")


def rows_of(book: Book, table: Table) -> list[Any]:
    with book.reading() as conn:
        return sorted(conn.execute(select(table)).all(), key=repr)


def first_row(book: Book, table: Table) -> dict[str, Any]:
    """Give a row of the table; of free texts one that no erasure is on record for."""
    query = select(table)
    if table is free_text:
        query = query.where(free_text.c.field == "ref")
    with book.reading() as conn:
        return dict(conn.execute(query.limit(1)).mappings().one())


def attacks(dialect: str, table: Table, row: dict[str, Any]) -> Iterator[tuple[str, Executable]]:
    """Give each attack with a name; every one of them would succeed without the guards."""
    key = [column == row[column.name] for column in table.primary_key.columns]
    other = list(row)[-1]
    if table is chain_head:
        yield "update the hash", update(table).where(*key).values(hash="f" * 64)
        yield "lower the count", update(table).where(*key).values(count=row["count"] - 1)
        yield "rename", update(table).where(*key).values(count=row["count"] + 1, subject="other")
    else:
        yield "update", update(table).where(*key).values({other: row[other]})
    yield "delete", delete(table).where(*key)
    yield "delete all", delete(table)
    yield "insert", insert(table).values(row)
    names = ", ".join(f'"{name}"' for name in row)
    same = f'INTO "{table.name}" ({names}) VALUES ({", ".join(f":{name}" for name in row)})'
    if dialect == "sqlite":
        for word in ("REPLACE", "IGNORE"):
            yield f"insert or {word}", text(f"INSERT OR {word} {same}").bindparams(**row)
    keys = ", ".join(f'"{column.name}"' for column in table.primary_key.columns)
    upsert = f'INSERT {same} ON CONFLICT ({keys}) DO UPDATE SET "{other}" = excluded."{other}"'
    yield "on conflict do update", text(upsert).bindparams(**row)
    if dialect == "postgresql":
        yield "truncate", text(f'TRUNCATE "{table.name}" CASCADE')


def attempt(book: Book, statement: Executable) -> None:
    with book.writing() as conn:
        conn.execute(statement)


def test_every_attack_on_every_guarded_table_is_refused(filled: FilledBook) -> None:
    book = filled.book
    for name in GUARDED:
        table = METADATA.tables[name]
        before = rows_of(book, table)
        assert before, f"{name} holds nothing to attack"
        for attack, statement in attacks(book.engine.dialect.name, table, first_row(book, table)):
            with pytest.raises(exc.DBAPIError) as refusal:
                attempt(book, statement)
            said = str(refusal.value.orig)
            assert any(words in said for words in ("never changed", "only by", "only grows")), (
                f"{attack} of {name}: {said}"
            )
            assert rows_of(book, table) == before, f"{attack} of {name}"
    assert check(book).damages == []


def replacing(book: Book, table: Table) -> list[Insert]:
    """Give a plain insert, and on SQLite the one that replaces what is in its way."""
    plain = insert(table)
    return [plain, plain.prefix_with("OR REPLACE")] if book.path else [plain]


def test_a_second_row_of_a_unique_key_under_another_id_is_refused(filled: FilledBook) -> None:
    """INSERT OR REPLACE removes the row with the same unique key, whatever its primary key."""
    book = filled.book
    record, line = METADATA.tables["record"], METADATA.tables["line"]
    taken = first_row(book, record)
    for unique in ("hash", "key", ("subject", "sequence"), ("entity", "version")):
        kept = (unique,) if isinstance(unique, str) else unique
        fresh = taken | {"id": "new", "hash": "new", "key": "new", "sequence": 99, "version": 99}
        fresh |= {name: taken[name] for name in kept}
        for statement in replacing(book, record):
            with pytest.raises(exc.DBAPIError, match="never changed"):
                attempt(book, statement.values(fresh))
    with book.reading() as conn:
        reversal = conn.execute(select(line).where(line.c.reverses.is_not(None))).mappings().one()
    for statement in replacing(book, line):
        with pytest.raises(exc.DBAPIError, match="never changed"):
            attempt(book, statement.values({**reversal, "record_id": filled.ids["F-1"]}))


def test_a_text_goes_only_once_its_erasure_is_on_record(filled: FilledBook) -> None:
    supplier = filled.ids["SU-2"]
    mine = free_text.c.record_id == supplier  # its name went when the book was filled
    with pytest.raises(exc.DBAPIError, match="only by an erasure"):
        attempt(filled.book, delete(free_text).where(mine, free_text.c.field == "contact"))
    examined = check(filled.book)
    assert (examined.damages, examined.counts["erased texts"]) == ([], 1)


def test_each_table_is_guarded_or_listed_as_changing() -> None:
    assert set(METADATA.tables) == {*POSTED, *MUTABLE, *OF_PAGES}
    assert {*GUARDED, "entity", *OF_PAGES} == set(METADATA.tables)
    assert {*KEPT, *UNCHANGED} < OF_PAGES


def triggers(conn: Connection) -> set[tuple[str, str]]:
    if conn.dialect.name == "sqlite":
        query = "SELECT name, tbl_name FROM sqlite_master WHERE type = 'trigger'"
    else:
        query = (
            "SELECT t.tgname, c.relname FROM pg_trigger t JOIN pg_class c ON c.oid = t.tgrelid "
            "WHERE NOT t.tgisinternal"
        )
    return {(row[0], row[1]) for row in conn.execute(text(query))}


def test_the_triggers_after_migration_are_those_expected(book: Book) -> None:
    with book.reading() as conn:
        expected = guards.expected(conn.dialect.name)
        assert triggers(conn) == {(guard.name, guard.table) for guard in expected}
        assert guards.missing(conn) == []
    on_each = 4 if book.engine.dialect.name == "postgresql" else 3
    assert len(expected) == on_each * len((*GUARDED, *KEPT)) + (on_each - 1) * len(UNCHANGED)


def alterations(dialect: str) -> dict[str, list[str]]:
    """Give ways to weaken one trigger by name of what is done."""
    name = "posted_share_update"
    if dialect == "sqlite":
        drop = f"DROP TRIGGER {name}"
        return {
            "dropped": [drop],
            "never fires": [
                drop,
                f"CREATE TRIGGER {name} BEFORE UPDATE ON share WHEN 0 BEGIN SELECT 1; END",
            ],
        }
    drop = f"DROP TRIGGER {name} ON share"
    hollow = (
        f"CREATE OR REPLACE FUNCTION {name}() RETURNS trigger LANGUAGE plpgsql AS "
        "$$ BEGIN RETURN NEW; END $$"
    )
    make = f"CREATE TRIGGER {name} BEFORE {{}} EXECUTE FUNCTION {name}()"
    return {
        "dropped": [drop],
        "switched off": [f"ALTER TABLE share DISABLE TRIGGER {name}"],
        "empty function": [hollow],
        "never fires": [drop, make.format("UPDATE ON share FOR EACH ROW WHEN (false)")],
        "another event": [drop, make.format("INSERT ON share FOR EACH ROW")],
        "one column only": [drop, make.format("UPDATE OF weight ON share FOR EACH ROW")],
    }


def test_check_reports_a_trigger_that_is_missing_or_altered(book: Book) -> None:
    for alteration, statements in alterations(book.engine.dialect.name).items():
        with book.engine.connect() as conn:
            for statement in statements:
                conn.execute(text(statement))
            missing = [guard.name for guard in guards.missing(conn)]
            conn.rollback()
        assert missing == ["posted_share_update"], alteration
    with book.writing() as conn:
        conn.execute(text(alterations(book.engine.dialect.name)["dropped"][0]))
    (damage,) = check(book).damages
    assert (damage.where, "posted_share_update" in damage.what) == ("table share", True)


def test_a_name_may_change_but_not_what_it_names(filled: FilledBook) -> None:
    """Only ``ref`` and ``current`` of ``entity`` change; what they are is checked by ``check``."""
    book = filled.book
    attempt(book, update(entity).where(entity.c.id == filled.ids["C-1"]).values(ref="renamed"))
    assert [damage.where for damage in check(book).damages] == ["entity renamed"]
