"""Exports while others write: what a batch says is what its file holds, and nobody waits."""

from __future__ import annotations

import csv
import hashlib
import json
from typing import TYPE_CHECKING

import pytest

from recondition.book import reading
from recondition.errors import Refused
from recondition.reports import exporting
from recondition.reports.exporting import Export, plain_file, workbook
from recondition.reports.workbook import silent
from tests.book.make import add, charge, shop

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from recondition.book.engine import Book
    from recondition.ledger.drafts import Stored

LINES = Export(what=exporting.LINES, author_ref="HK")
WORKBOOK = Export(what=exporting.WORKBOOK, author_ref="HK")


def batches(book: Book) -> dict[str, Stored]:
    with book.reading() as conn:
        return {item.ref: item for item in reading.stored(conn, "export batch")}


def refs_in(path: Path) -> list[str]:
    with path.open(encoding="utf-8", newline="") as file:
        return sorted(row["line_id"] for row in csv.DictReader(file))


def once(work: Callable[[], object]) -> Callable[[str, int, int | None], None]:
    """Give a progress that does something at its first word, while the file is written."""
    done: list[object] = []

    def progress(_words: str, _done: int, _total: int | None) -> None:
        if not done:
            done.append(True)
            work()

    return progress


def test_a_line_that_comes_in_while_the_file_is_written_is_not_in_its_batch(
    two: tuple[Book, Book], tmp_path: Path
) -> None:
    first, second = two
    made = shop(first)
    add(first, "charge", "X-1", charge(made.own))
    with second.reading() as conn:
        stood = {head.subject: head.count for head in reading.heads(conn)}
    came = once(lambda: add(second, "charge", "X-2", charge(made.own)))
    said = workbook(first, tmp_path / "a.xlsx", WORKBOOK, came)
    batch = batches(first)["EX-001"].entry
    assert batch.lines == "1"
    assert {subject: int(count) for subject, count in json.loads(batch.upto).items()} == stood
    assert "EX-001" in said[-1]
    said = plain_file(first, tmp_path / "b.csv", LINES, None)
    assert refs_in(tmp_path / "b.csv") == ["X-1", "X-2"]
    assert (
        batches(first)["EX-002"].entry.sha256
        == hashlib.sha256((tmp_path / "b.csv").read_bytes()).hexdigest()
    )


def test_an_export_whose_number_was_taken_is_made_again(
    two: tuple[Book, Book], tmp_path: Path
) -> None:
    first, second = two
    made = shop(first)
    out = tmp_path / "out"
    add(first, "charge", "X-1", charge(made.own))

    def other() -> None:
        add(second, "charge", "X-2", charge(made.own))
        plain_file(second, out / "other.csv", LINES, None)

    said = workbook(first, out / "a.xlsx", WORKBOOK, once(other))
    assert "EX-002" in said[-1]
    found = batches(first)
    assert [found[name].entry.lines for name in ("EX-001", "EX-002")] == ["2", "2"]
    assert {path.name for path in out.iterdir()} == {"a.xlsx", "other.csv"}


def test_what_cannot_be_put_in_its_place_is_not_marked(
    two: tuple[Book, Book], tmp_path: Path
) -> None:
    book = two[0]
    shop(book)
    place = tmp_path / "out"
    (place / "a.xlsx").mkdir(parents=True)
    (place / "b.csv").mkdir()
    for write in (
        lambda: workbook(book, place / "a.xlsx", WORKBOOK, silent),
        lambda: plain_file(book, place / "b.csv", LINES, None),
    ):
        with pytest.raises(Refused, match="cannot be written"):
            write()
    assert batches(book) == {}
    assert sorted(path.name for path in place.iterdir()) == ["a.xlsx", "b.csv"]
