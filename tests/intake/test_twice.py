"""A line entered twice under two refs is told, not refused."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from recondition.intake.load import load
from tests.intake.sheetmaker import Rows, base, write_workbook

if TYPE_CHECKING:
    from pathlib import Path

    from recondition.book.engine import Book

HEADS = ["ref", "vehicle", "work date", "amount", "words (a buyer may read)",
         "no finding because"]  # fmt: skip


def charge(ref: str | None, amount: int = 250, vehicle: str | None = "0007") -> list[Any]:
    reason = "transport" if vehicle else "overhead"
    return [ref, vehicle, "2024-05-02", amount, "brought here", reason]


def notices(book: Book, path: Path, sheets: dict[str, Rows]) -> list[str]:
    report = load(book, write_workbook(path, sheets), author_ref="HK")
    return [notice for notice in report.notices if "entered twice" in notice]


def said(ref: str, other: str) -> str:
    return f"charges: {ref} says the same as {other}; probably entered twice"


def test_in_the_file_and_in_the_book(book: Book, tmp_path: Path) -> None:
    rows = [HEADS, charge("X-001"), charge("X-002", 251), charge("X-003"), charge("X-004", 9, None)]
    first = {**base(), "charges": rows}
    assert notices(book, tmp_path / "a.xlsx", first) == [said("X-003", "X-001")]
    assert notices(book, tmp_path / "a2.xlsx", first) == []
    more = [HEADS, charge("X-005", 251), charge("X-006", 252), charge("X-007", 9, None)]
    found = notices(book, tmp_path / "b.xlsx", {"charges": more})
    assert found == [said("X-005", "X-002"), said("X-007", "X-004")]


def test_a_line_of_the_book_that_stands_in_the_file_too(book: Book, tmp_path: Path) -> None:
    notices(book, tmp_path / "a.xlsx", {**base(), "charges": [HEADS, charge("X-002")]})
    both = [HEADS, charge("X-001"), charge("X-002")]
    found = notices(book, tmp_path / "b.xlsx", {"charges": both})
    assert found == [said("X-001", "X-002")]


def test_labour_is_compared_with_its_findings_and_person(book: Book, tmp_path: Path) -> None:
    sheets = base()
    assert notices(book, tmp_path / "a.xlsx", sheets) == []
    line = sheets["labour"][1]
    again = [sheets["labour"][0], ["L-002", *line[1:]], ["L-003", *line[1:-1], "F-001"]]
    found = notices(book, tmp_path / "b.xlsx", {"labour": again})
    assert found == ["labour: L-002 says the same as L-001; probably entered twice"]


def test_many_are_counted(book: Book, tmp_path: Path) -> None:
    rows = [HEADS, *(charge(f"X-{number:03d}") for number in range(1, 31))]
    found = notices(book, tmp_path / "a.xlsx", {**base(), "charges": rows})
    assert len(found) == 21
    assert found[-1] == "charges: and 9 more that were probably entered twice"
