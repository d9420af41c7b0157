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
from sqlalchemy import MetaData, insert, select, text

from recondition.book import schema
from recondition.book.backup import copy_database, restore, upgrade_with_copy
from recondition.book.check import check
from recondition.book.engine import Book, create_book, open_any, open_book
from recondition.book.errors import BookExists, BookIsNewer, BookIsOlder, NoBook, NoFolder, NotABook
from recondition.book.tables import METADATA
from recondition.resources import resource

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from sqlalchemy import Connection

    from tests.book.make import FilledBook

Rows = dict[str, list[dict[str, Any]]]


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


def everything(conn: Connection) -> Rows:
    """Read every row of every table that is there."""
    found = MetaData()
    found.reflect(conn)
    return {
        table.name: sorted((dict(row) for row in conn.execute(select(table)).mappings()), key=repr)
        for table in found.sorted_tables
        if table.name != "alembic_version"
    }


def earlier_rows(filled: FilledBook, there: Book) -> Rows:
    """Give the rows of a filled book that an earlier schema could hold, in its columns.

    Records of kinds that it did not know stay in the chain without their row, which is no
    matter here.
    """
    with filled.book.reading() as conn:
        rows = everything(conn)
    found = MetaData()
    with there.reading() as conn:
        found.reflect(conn)
    return {
        table.name: [{c.name: row[c.name] for c in table.columns} for row in rows[table.name]]
        for table in found.sorted_tables
        if table.name != "alembic_version"
    }


def sorted_rows(rows: Rows) -> Rows:
    """Put rows into the order in which they are read."""
    return {name: sorted(found, key=repr) for name, found in rows.items()}


def in_newest(rows: Rows) -> Rows:
    """Give earlier rows as the newest schema holds them: new columns and tables are empty."""
    return {
        table.name: sorted(
            ({c.name: row.get(c.name) for c in table.columns} for row in rows.get(table.name, [])),
            key=repr,
        )
        for table in METADATA.sorted_tables
    }


@pytest.fixture(
    params=[
        *(("sqlite", known) for known in schema.REVISIONS[:-1]),
        # The same statements; the oldest and the newest before this one are enough here.
        *(("postgresql", known) for known in (schema.REVISIONS[0], schema.REVISIONS[-2])),
    ],
    ids=" ".join,
)
def earlier(
    request: pytest.FixtureRequest, tmp_path: Path, whole: FilledBook
) -> Iterator[tuple[Book, Rows]]:
    """Give a book at each earlier schema, filled through plain inserts."""
    engine, revision = request.param
    location = str(tmp_path / "earlier.sqlite")
    if engine == "postgresql":
        make: Callable[[str], str] = request.getfixturevalue("new_database")
        location = make(f"earlier{abs(hash(request.node.nodeid))}")
    made = create_at(location, revision)
    rows = earlier_rows(whole, made)
    with made.writing() as conn:
        for name in rows:
            conn.execute(insert(METADATA.tables[name]), rows[name])
    yield made, rows
    made.close()


def create_at(location: str, revision: str) -> Book:
    """Make an empty book of an earlier schema."""
    with pytest.MonkeyPatch.context() as patch:
        newest = schema.upgrade
        patch.setattr(schema, "upgrade", lambda conn: newest(conn, revision))
        return create_book(location)


def test_an_older_book_is_refused_and_then_upgraded_with_nothing_lost(
    earlier: tuple[Book, Rows],
) -> None:
    book, rows = earlier
    with open_any(book.location).reading() as conn:
        revision = schema.found(conn)
        assert everything(conn) == sorted_rows(rows)
    with pytest.raises(BookIsOlder, match=str(revision)):
        open_book(book.location)
    copy = upgrade_with_copy(book)
    upgraded = open_book(book.location)
    with upgraded.reading() as conn:
        assert everything(conn) == in_newest(rows)
        assert schema.found(conn) == schema.NEWEST
    gaps = {damage.what for damage in check(upgraded).damages}
    assert not [what for what in gaps if "guard" in what]
    if book.path is None:
        assert copy is None
        return
    assert copy is not None
    kept = open_any(str(copy))
    with kept.reading() as conn:
        assert (everything(conn), schema.found(conn)) == (sorted_rows(rows), revision)


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


def test_nothing_is_taken_back_to_an_older_schema(small: Book) -> None:
    from alembic import command  # noqa: PLC0415 - this test alone goes back

    with pytest.raises(NotImplementedError, match="posted records"), small.writing() as conn:
        command.downgrade(schema._config(conn), "0001")  # noqa: SLF001 - as upgrade makes it
    with small.reading() as conn:
        assert schema.found(conn) == schema.NEWEST
