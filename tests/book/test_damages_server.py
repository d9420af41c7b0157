"""The catalogue of damages on a book that lies on PostgreSQL."""

from __future__ import annotations

import shutil
from typing import TYPE_CHECKING

import pytest

from recondition.book.engine import open_book
from recondition.book.people import erase_person
from recondition.book.wiping import wipe
from tests.book.make import FilledBook
from tests.book.tampering import said_of
from tests.book.test_check import DAMAGES, hold_found

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from recondition.fields import Id
    from tests.postgres import Databases

SOME = list(DAMAGES)[::5]


@pytest.fixture
def served(
    request: pytest.FixtureRequest, tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
    filled_database: tuple[Path, dict[str, Id]], new_database: Databases,
) -> Iterator[FilledBook]:  # fmt: skip
    """Give a filled book on a server, whatever the engine of the run is."""
    files, ids = filled_database
    shutil.copytree(files, tmp_path / "files")
    monkeypatch.setenv("RECONDITION_FILES", str(tmp_path / "files"))
    book = open_book(new_database(f"served{abs(hash(request.node.nodeid))}", "filled"))
    yield FilledBook(book, ids)
    book.close()


@pytest.mark.parametrize(
    "damage",
    [pytest.param(d, marks=pytest.mark.long if d in SOME else pytest.mark.full) for d in DAMAGES],
)
def test_each_damage_is_found_on_a_server(served: FilledBook, damage: str) -> None:
    hold_found(served.book, damage)


@pytest.mark.long
def test_what_was_switched_off_on_a_server_is_named(served: FilledBook) -> None:
    """References that are no longer followed, a rule before a table, rows that may be hidden."""
    with served.book.engine.begin() as conn:
        conn.exec_driver_sql("ALTER TABLE panel DISABLE TRIGGER ALL")
        conn.exec_driver_sql("CREATE RULE quiet AS ON UPDATE TO person DO INSTEAD NOTHING")
        conn.exec_driver_sql("ALTER TABLE rate ENABLE ROW LEVEL SECURITY")
        conn.exec_driver_sql("CREATE TABLE more () INHERITS (supplier)")
        conn.exec_driver_sql("ALTER TABLE rate DROP CONSTRAINT fk_rate_person, ADD CONSTRAINT "
                             "fk_rate_person FOREIGN KEY (person) REFERENCES record (id) "
                             "ON DELETE CASCADE")  # fmt: skip
        name = served.book.engine.url.database
        conn.exec_driver_sql(f'ALTER DATABASE "{name}" SET session_replication_role = replica')
    served.book.close()
    said = said_of(served.book)
    for wanted in (
        "the guard posted_panel_insert is missing or altered (table panel)",
        "the reference fk_panel_vehicle is switched off (table panel)",
        "a rule quiet stands before it (table person)",
        "the rows of rate may be hidden by policies (table rate)",
        "the rows of more count as its own (table supplier)",
        "the reference fk_rate_person also changes or deletes (table rate)",
        "guards and references are switched off for this database or its user",
    ):
        assert any(words.startswith(wanted) for words in said)


@pytest.mark.long
def test_a_reader_from_before_keeps_what_was_erased(served: FilledBook) -> None:
    """What is deleted is in the tables as long as somebody still sees it there."""
    with open_book(served.book.location).reading() as conn:
        conn.exec_driver_sql("SELECT count(*) FROM free_text")
        erase_person(served.book, "OW", author=served.ids["HK"], ground="request of 4 March")
        assert not wipe(served.book)
    assert wipe(served.book)
