"""Kept files that are missing, changed, cut short or swapped, and files that nobody names."""

from __future__ import annotations

import shutil
from typing import TYPE_CHECKING

import pytest

from recondition.book.check import check
from recondition.fields import Words
from recondition.ledger.documents import Document, DocumentKind
from tests.book.make import add
from tests.book.tampering import said_of, tamper

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from recondition.book.engine import Book
    from tests.book.make import FilledBook


@pytest.fixture(params=["sqlite"])
def in_file(whole: FilledBook) -> FilledBook:
    """Give a whole book that is a file of SQLite."""
    return whole


def kept_in(book: Book) -> list[Path]:
    return sorted(file for file in book.files.rglob("*") if file.is_file())


@pytest.fixture
def two_files(whole: FilledBook, tmp_path: Path) -> tuple[Book, Path, Path]:
    """Give a book with two kept files, and where they lie."""
    words = tmp_path / "words.txt"
    words.write_text("ordered by telephone", encoding="utf-8")
    other = Document(vehicle=whole.ids["0007"], kind=DocumentKind.OTHER, title=Words("the order"))
    add(whole.book, "document", "D-2", other, file=words)
    first, second = kept_in(whole.book)
    return whole.book, first, second


def cut(first: Path, _: Path) -> None:
    first.write_bytes(first.read_bytes()[:-1])


def longer(first: Path, _: Path) -> None:
    first.write_bytes(first.read_bytes() + b"\n")


def one_bit(first: Path, _: Path) -> None:
    content = bytearray(first.read_bytes())
    content[len(content) // 2] ^= 1
    first.write_bytes(content)


def gone(first: Path, _: Path) -> None:
    first.unlink()


def a_folder(first: Path, _: Path) -> None:
    first.unlink()
    first.mkdir()


def swapped(first: Path, second: Path) -> None:
    content = first.read_bytes()
    first.write_bytes(second.read_bytes())
    second.write_bytes(content)


def all_gone(first: Path, _: Path) -> None:
    shutil.rmtree(first.parent.parent)


FILES: dict[str, tuple[Callable[[Path, Path], None], list[str]]] = {
    "cut short": (cut, ["the file was changed"]),
    "made longer": (longer, ["the file was changed"]),
    "one bit": (one_bit, ["the file was changed"]),
    "gone": (gone, ["the file is missing"]),
    "a folder in its place": (a_folder, ["the file is missing"]),
    "swapped": (swapped, ["the file was changed"] * 2),
    "the whole folder gone": (all_gone, ["the file is missing"] * 2),
}


@pytest.mark.parametrize("fault", FILES)
def test_a_kept_file_that_is_not_as_it_was_is_found(
    two_files: tuple[Book, Path, Path], fault: str
) -> None:
    book, *places = two_files
    do, wanted = FILES[fault]
    do(*places)
    damages = check(book).damages
    assert [damage.what for damage in damages] == wanted
    assert all("backup" in damage.todo for damage in damages)
    assert all("of vehicle 0007" in damage.touches for damage in damages)


@pytest.mark.parametrize(
    "change", ["sha256 = 'ff' || substr(sha256, 3)", "size_bytes = 1", "media_type = 'text/x'",
               "sha256 = ''", "sha256 = '../../etc/passwd'"],
)  # fmt: skip
def test_what_the_book_says_of_a_file_is_held_against_it(whole: FilledBook, change: str) -> None:
    tamper(whole.book, f"UPDATE stored_file SET {change}")  # noqa: S608 - of our own making
    assert len(said_of(whole.book)) == 1


def test_files_that_no_entry_names_are_a_note(in_file: FilledBook) -> None:
    (kept,) = kept_in(in_file.book)
    (kept.parent / ("0" * 64)).write_bytes(b"left from a kill")
    (kept.parent / ".incoming-x").write_bytes(b"half")
    (in_file.book.files / "notes.txt").write_text("by hand", encoding="utf-8")
    examined = check(in_file.book)
    assert examined.damages == []
    assert [note.what for note in examined.notes] == [
        "files that no entry names: 2", "files left unfinished: 1"
    ]  # fmt: skip
    assert "notes.txt" in examined.notes[0].where


def test_files_of_another_book_in_a_shared_folder_are_none(
    in_file: FilledBook, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    from recondition.book.engine import open_book  # noqa: PLC0415 - reads the variable at opening

    shared = shutil.copytree(in_file.book.files, tmp_path / "shared")
    (shared / "00").mkdir()
    (shared / "00" / ("0" * 64)).write_bytes(b"of another book")
    monkeypatch.setenv("RECONDITION_FILES", str(shared))
    book = open_book(in_file.book.location)
    examined = check(book)
    assert (examined.damages, examined.notes) == ([], [])
