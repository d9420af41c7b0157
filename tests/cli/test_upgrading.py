"""A book of an earlier version: the upgrade is offered, and a copy is made first."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from recondition.book import schema
from recondition.book.engine import open_any
from tests.book.old_books import create_at
from tests.places import place
from tests.running import done, run, stand_in

if TYPE_CHECKING:
    from pathlib import Path

FIRST = schema.REVISIONS[0]


@pytest.fixture
def old(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    stand_in(tmp_path, monkeypatch)
    create_at(place("shop.book"), FIRST).close()
    return tmp_path


def _schemas(folder: Path) -> list[str | None]:
    """Give the schema of the book and of every copy in its folder, older ones first."""
    files = {str(path) for path in folder.iterdir() if _is_sqlite(path)}
    found = []
    for location in {*files, place(folder / "shop.book")}:
        book = open_any(location)
        with book.reading() as conn:
            found.append(schema.found(conn))
        book.close()
    return sorted(found, key=str)


def _is_sqlite(path: Path) -> bool:
    return path.is_file() and path.read_bytes().startswith(b"SQLite format 3")


def test_nobody_can_answer_so_the_book_is_refused_and_left(old: Path) -> None:
    ran = run("recondition vehicle list")
    assert ran.status == 1
    assert "recondition book upgrade" in ran.err
    assert _schemas(old) == [FIRST]


def test_no_leaves_the_book_as_it_is(old: Path) -> None:
    ran = run("recondition vehicle list", answer="n\n")
    assert ran.status == 1
    assert "Upgrade it now?" in ran.out
    assert _schemas(old) == [FIRST]


def test_yes_upgrades_after_a_copy_and_goes_on(old: Path) -> None:
    ran = run("recondition vehicle list", answer="y\n")
    assert ran.status == 0
    assert "A copy of the book as it was lies at " in ran.out
    assert "Vehicles" in ran.out
    assert _schemas(old) == [FIRST, schema.NEWEST]


def test_the_command_upgrades_without_asking(old: Path) -> None:
    assert "The book was upgraded." in done("recondition book upgrade")
    assert _schemas(old) == [FIRST, schema.NEWEST]
    assert "newest schema already" in done("recondition book upgrade")


def test_the_command_goes_back_where_nothing_new_is_in_use(old: Path) -> None:
    done("recondition book upgrade")
    said = done(f"recondition book downgrade --to {FIRST}")
    assert "A copy of the book as it was lies at " in said
    assert f"The book has schema {FIRST} now" in said
    assert _schemas(old) == [FIRST, FIRST, schema.NEWEST]
    ran = run(f"recondition book downgrade --to {FIRST}")
    assert (ran.status, "is no older one" in ran.err) == (2, True)
