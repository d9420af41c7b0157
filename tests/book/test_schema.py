"""Models equal migrations, and a book of an earlier schema comes up with nothing lost."""

from __future__ import annotations

import re
import sqlite3
import zipfile
from typing import TYPE_CHECKING, Any

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import create_engine, event, text

from recondition.book import schema
from recondition.book.backup import copy_database, restore, upgrade_with_copy
from recondition.book.check import check
from recondition.book.context import Context
from recondition.book.engine import Book, create_book, open_any, open_book
from recondition.book.errors import BookExists, BookIsNewer, BookIsOlder, NoBook, NoFolder, NotABook
from recondition.book.tables import METADATA, rate
from recondition.book.timesheet import Timesheet
from recondition.resources import resource
from tests.book.make import DAY, labour
from tests.book.old_books import OLD, create_at, everything, in_newest, old_book, reopened

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from sqlalchemy import Connection


def differences(conn: Connection) -> list[Any]:
    """Compare a database with the models.

    SQLAlchemy reads a column's own REFERENCES on SQLite without its DEFERRABLE, so those of
    added columns are left out there; a test below holds that they are deferred.
    """
    found = compare_metadata(
        MigrationContext.configure(conn, opts={"compare_type": True}), METADATA
    )
    if conn.dialect.name != "sqlite":
        return found
    return [change for change in found if change[0] not in ("add_fk", "remove_fk")]


def test_a_migrated_database_is_what_the_models_say(book: Book) -> None:
    with book.reading() as conn:
        assert differences(conn) == []


def test_an_added_reference_is_held_and_deferred(small: Book) -> None:
    with small.reading() as conn:
        keys = conn.execute(text("PRAGMA foreign_key_list(line)")).mappings().all()
        made = conn.execute(text("SELECT sql FROM sqlite_master WHERE name = 'line'")).scalar()
    added = {key["from"] for key in keys} & {"rework_of", "order", "clock", "receipt"}
    assert added == {"rework_of", "order", "clock", "receipt"}
    for name in added:
        held = f'"fk_line_{name}" REFERENCES record (id) DEFERRABLE INITIALLY DEFERRED'
        assert held in str(made)


def test_the_comparison_would_see_a_missing_column(small: Book) -> None:
    with small.writing() as conn:
        conn.execute(text("ALTER TABLE share ADD COLUMN surplus TEXT"))
    with small.reading() as conn:
        found = differences(conn)
    assert [(change[0], change[2], change[3].name) for change in found] == [
        ("remove_column", "share", "surplus")
    ]


def test_the_hours_of_a_day_and_a_newest_version_are_found_by_an_index() -> None:
    engine = create_engine("sqlite://")
    with engine.begin() as conn:
        schema.upgrade(conn)
        asked: list[tuple[str, Any]] = []
        event.listen(conn, "before_cursor_execute", lambda *given: asked.append(given[2:4]))
        Timesheet(conn, Context(conn)).expect([labour("a car", "HK", "2")])
        Context(conn).from_day(rate.c.person, "HK", rate.c.from_date, DAY)
        steps = [
            step.detail
            for query, values in tuple(asked)
            for step in conn.exec_driver_sql(f"EXPLAIN QUERY PLAN {query}", values)
        ]
    assert "SEARCH line USING INDEX ix_line_person_work_date (person=? AND work_date=?)" in steps
    assert "SEARCH entity USING INDEX ix_entity_current (current=?)" in steps
    assert not any(step.startswith(("SCAN line", "SCAN entity")) for step in steps)


def test_the_known_revisions_are_those_of_the_migrations() -> None:
    script = ScriptDirectory(str(resource("migrations")))
    walked = [revision.revision for revision in script.walk_revisions()]
    assert tuple(reversed(walked)) == schema.REVISIONS
    assert script.get_heads() == [schema.NEWEST]


def test_migrations_never_rebuild_a_table_and_never_cascade() -> None:
    files = list(resource("migrations").rglob("*.py"))
    assert len(files) > len(schema.REVISIONS)
    for file in files:
        source = file.read_text(encoding="utf-8")
        assert not re.search(r"batch_alter_table|ondelete|CASCADE|drop_table|drop_column", source)
    for table in METADATA.tables.values():
        assert all(key.ondelete is None for key in table.foreign_keys), table.name


# What the books then hold is compared in test_upgrades, for each schema.
@pytest.mark.parametrize(
    ("engine", "revision"), [("sqlite", OLD[0]), ("postgresql", OLD[0]), ("postgresql", OLD[-1])]
)
def test_an_older_book_is_refused_and_then_upgraded_with_nothing_lost(
    request: pytest.FixtureRequest, tmp_path: Path, engine: str, revision: str
) -> None:
    url = ""
    if engine == "postgresql":
        make: Callable[[str], str] = request.getfixturevalue("new_database")
        url = make(f"earlier{abs(hash(request.node.nodeid))}")
    book = old_book(revision, tmp_path, url)
    with book.reading() as conn:
        rows = everything(conn)
    with pytest.raises(BookIsOlder, match=revision):
        open_book(book.location)
    copy = upgrade_with_copy(book)
    upgraded = reopened(book)
    with upgraded.reading() as conn:
        assert everything(conn) == in_newest(rows)
        assert schema.found(conn) == schema.NEWEST
    assert check(upgraded).damages == []
    kept = open_any(str(copy))
    with kept.reading() as conn:
        assert (everything(conn), schema.found(conn)) == (rows, revision)


def test_a_backup_of_an_older_book_is_restored_at_the_newest_schema(tmp_path: Path) -> None:
    old = create_at(str(tmp_path / "old.sqlite"), "0001")
    copy_database(old, tmp_path / "copy.sqlite")
    with zipfile.ZipFile(tmp_path / "old.backup", "w") as archive:
        archive.write(tmp_path / "copy.sqlite", "book.sqlite")
        archive.writestr("heads.json", "[]")
    restored = restore(tmp_path / "old.backup", tmp_path / "again.sqlite")
    with restored.reading() as conn:
        assert schema.found(conn) == schema.NEWEST
    assert check(restored).damages == []


@pytest.mark.parametrize("engine", ["sqlite", "postgresql"])
def test_a_book_of_a_later_schema_is_refused(fresh: Callable[[str], str], engine: str) -> None:
    location = fresh(engine)
    book = open_book(location)
    with book.writing() as conn:
        conn.execute(text("UPDATE alembic_version SET version_num = '9999'"))
    for opening in (open_book, open_any):
        with pytest.raises(BookIsNewer, match="9999"):
            opening(location)


def test_what_is_not_a_book_is_refused_and_left_as_it_is(tmp_path: Path) -> None:
    words = tmp_path / "letter.txt"
    words.write_text("Dear owner, the car is ready. " * 50)
    other = tmp_path / "other.sqlite"
    with sqlite3.connect(other) as raw:
        raw.execute("CREATE TABLE bees (name TEXT)")
    raw.close()
    for path in (words, other, empty(tmp_path)):
        before = path.read_bytes()
        with pytest.raises(NotABook) as refusal:
            open_book(str(path))
        assert path.name in refusal.value.what
        assert path.read_bytes() == before
        with pytest.raises(BookExists):
            create_book(str(path))
    assert {path.name for path in tmp_path.iterdir()} == {"letter.txt", "other.sqlite", "empty"}


def empty(folder: Path) -> Path:
    path = folder / "empty"
    path.touch()
    return path


def test_a_book_that_is_not_there_is_refused_and_not_made(tmp_path: Path) -> None:
    for path in (tmp_path / "none.sqlite", tmp_path):
        with pytest.raises(NoBook):
            open_book(str(path))
    with pytest.raises(NoFolder):
        create_book(str(tmp_path / "no folder" / "book.sqlite"))
    assert list(tmp_path.iterdir()) == []


def test_migrations_themselves_do_not_run_backwards(small: Book) -> None:
    from alembic import command  # noqa: PLC0415 - this test alone goes back

    with pytest.raises(NotImplementedError, match="posted records"), small.writing() as conn:
        command.downgrade(schema._config(conn), "0001")  # noqa: SLF001 - as upgrade makes it
    with small.reading() as conn:
        assert schema.found(conn) == schema.NEWEST
