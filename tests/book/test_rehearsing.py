"""A rehearsal counts, compares and leaves nothing behind."""

from __future__ import annotations

import tempfile
from typing import TYPE_CHECKING

import pytest

from recondition.book.backup import NoBackup, backup
from recondition.book.engine import Book, open_book
from recondition.book.rehearsing import rehearse
from recondition.ledger.lines import Unlinked
from tests.book.make import FilledBook, add, charge, counted, shop

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path


@pytest.fixture
def packed(whole: FilledBook, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    backup(whole.book, tmp_path / "book.backup")
    (tmp_path / "temporary").mkdir()
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path / "temporary"))
    return tmp_path / "book.backup"


def of(book: Book) -> Callable[[], Book]:
    return lambda: book


def test_it_counts_what_came_back_and_what_would_be_lost(
    whole: FilledBook, packed: Path, tmp_path: Path
) -> None:
    records = counted(whole.book)
    add(whole.book, "charge", "L-9", charge(whole.ids["0007"]))
    add(whole.book, "charge", "L-10", charge(None, unlinked=Unlinked.OVERHEAD))
    found = rehearse(packed, of(whole.book))
    assert (found.records, found.files, found.newer) == (records, 1, 2)
    assert (found.damages, found.parted, found.not_compared) == ((), (), "")
    assert found.made_at.startswith("20")
    assert found.seconds > 0
    assert list((tmp_path / "temporary").iterdir()) == []


def test_a_book_whose_history_parted_is_told(
    whole: FilledBook, packed: Path, tmp_path: Path
) -> None:
    """The book was cut back and went on otherwise: as many records, of another history."""
    from recondition.book.backup import restore  # noqa: PLC0415 - this test alone

    early = restore(packed, tmp_path / "early.sqlite")
    add(early, "charge", "L-9", charge(whole.ids["0007"], "1.00"))
    add(whole.book, "charge", "L-9", charge(whole.ids["0007"], "2.00"))
    backup(whole.book, tmp_path / "later.backup")
    found = rehearse(tmp_path / "later.backup", of(early))
    assert [damage.where for damage in found.parted] == [f"vehicle:{whole.ids['0007']}"]
    assert found.damages == ()


def test_a_backup_that_is_newer_than_the_book_is_told(
    whole: FilledBook, packed: Path, tmp_path: Path
) -> None:
    from recondition.book.backup import restore  # noqa: PLC0415 - as above

    early = restore(packed, tmp_path / "early.sqlite")
    add(whole.book, "charge", "L-9", charge(whole.ids["0007"]))
    backup(whole.book, tmp_path / "later.backup")
    found = rehearse(tmp_path / "later.backup", of(early))
    (lacking,) = found.lacking
    assert lacking.what == "the backup has 1 record that the book lacks"
    assert lacking.where == "vehicle 0007"
    assert lacking.todo
    assert (found.newer, found.parted, found.damages) == (0, (), ())


def test_another_book_and_none_are_told(packed: Path, small: Book) -> None:
    shop(small)
    (parted,) = rehearse(packed, of(small)).parted
    assert "another book" in parted.what
    found = rehearse(packed, lambda: open_book("nowhere.sqlite"))
    assert "there is no book at nowhere.sqlite" in found.not_compared
    assert found.newer is None


def test_damage_is_told_and_nothing_is_left(
    whole: FilledBook, packed: Path, tmp_path: Path
) -> None:
    packed.write_bytes(packed.read_bytes()[:-700])
    (damage,) = rehearse(packed, of(whole.book)).damages
    assert "is not a whole backup" in damage.what
    assert list((tmp_path / "temporary").iterdir()) == []
    with pytest.raises(NoBackup):
        rehearse(tmp_path / "none", of(whole.book))
