"""Candidate work that contradicts itself is named when it is entered, with sheet and row."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from recondition.book.posting import Status
from recondition.intake.form import one_row
from recondition.intake.load import load
from recondition.intake.problems import ImportRefused
from recondition.worth.contradictions import NeedsItself, needs_itself, rings
from tests.intake.sheetmaker import Rows, base, write_workbook

if TYPE_CHECKING:
    from pathlib import Path

    from recondition.book.engine import Book

HEADS = ["ref", "vehicle", "work", "hours low", "hours likely", "hours high", "uplift low",
         "uplift likely", "uplift high", "requires", "excludes", "panels", "state",
         "no touch"]  # fmt: skip


def piece(ref: str, requires: str = "", excludes: str = "", **other: str) -> list[Any]:
    """Give a row with an uplift unless ``bare`` is named."""
    uplift: list[Any] = [None] * 3 if "bare" in other else [100, 200, 300]
    more = [other.get(name) for name in ("panels", "state", "no_touch")]
    return [ref, "0007", "polish", 1, 2, 3, *uplift, requires, excludes, *more]


def problems(book: Book, path: Path, sheets: dict[str, Rows]) -> list[tuple[str, int, str, str]]:
    """Give sheet, row, kind and column of every problem of an import."""
    with pytest.raises(ImportRefused) as caught:
        load(book, write_workbook(path / "job.xlsx", sheets), author_ref="HK")
    listed = caught.value.problems.listed
    return [(p.sheet, p.row, p.kind, p.column.partition(" (")[0]) for p in listed]


def test_every_contradiction_is_in_the_list(book: Book, tmp_path: Path) -> None:
    rows = [
        HEADS,
        piece("C-001", requires="C-002", excludes="C-002"),
        piece("C-002"),
        piece("C-003", requires="C-004"),
        piece("C-004", requires="C-005"),
        piece("C-005", requires="C-003"),
        piece("C-006", requires="C-006"),
        piece("C-007", bare="yes"),
    ]
    together: Rows = [
        ["ref", "vehicle", "candidates", "uplift together"],
        ["I-001", "0007", "C-002", 50],
    ]
    sheets = {**base(), "candidates": rows, "interactions": together}
    assert sorted(problems(book, tmp_path, sheets)) == [
        ("candidates", 2, "needs and excludes", "excludes"),
        ("candidates", 4, "needs itself", "requires"),
        ("candidates", 7, "needs itself", "requires"),
        ("candidates", 8, "no uplift", "uplift low"),
        ("interactions", 2, "not a term", "candidates"),
    ]


def test_work_that_is_not_to_be_done_needs_no_uplift(book: Book, tmp_path: Path) -> None:
    rows = [
        HEADS,
        piece("C-001", bare="yes", state="left"),
        piece("C-002", bare="yes", state="done"),
        piece("C-003", bare="yes", no_touch="yes"),
        piece("C-004", bare="yes", panels="roof"),
    ]
    panels: Rows = [["ref", "vehicle", "panel", "no touch"], ["N-001", "0007", "roof", "yes"]]
    sheets = {**base(), "panels": panels, "candidates": rows}
    assert load(book, write_workbook(tmp_path / "a.xlsx", sheets), author_ref="HK").changed == 11
    # The mark on the panel is in the book now, and need not stand in the file.
    more = {"candidates": [HEADS, piece("C-005", bare="yes", panels="roof")]}
    assert load(book, write_workbook(tmp_path / "b.xlsx", more), author_ref="HK").changed == 1
    other = {"candidates": [HEADS, piece("C-006", bare="yes", panels="bonnet")]}
    assert problems(book, tmp_path, other) == [("candidates", 2, "no uplift", "uplift low")]


def test_a_ring_through_the_book(book: Book, tmp_path: Path) -> None:
    sheets = {**base(), "candidates": [HEADS, piece("C-001"), piece("C-002", requires="C-001")]}
    load(book, write_workbook(tmp_path / "a.xlsx", sheets), author_ref="HK")
    closing = {"candidates": [HEADS, piece("C-001", requires="C-002")]}
    assert problems(book, tmp_path, closing) == [("candidates", 2, "needs itself", "requires")]
    done = {"candidates": [HEADS, piece("C-001", requires="C-002", state="done")]}
    assert load(book, write_workbook(tmp_path / "b.xlsx", done), author_ref="HK").changed == 1


def test_a_command_is_refused_as_a_row_is(book: Book, tmp_path: Path) -> None:
    sheets = {**base(), "candidates": [HEADS, piece("C-001"), piece("C-002", requires="C-001")]}
    load(book, write_workbook(tmp_path / "a.xlsx", sheets), author_ref="HK")
    values = {"vehicle": "0007", "name": "polish"}
    for base_, low in (("hours", 1), ("uplift", 100)):
        values |= {f"{base_}.{point}": str(low) for point in ("low", "likely", "high")}
    with pytest.raises(NeedsItself, match="C-001 needs C-002 needs C-001") as refused:
        one_row(book, "candidates", {**values, "requires": "C-002"}, author_ref="HK", ref="C-001")
    assert refused.value.where == "requires"
    good = one_row(book, "candidates", values, author_ref="HK", ref="C-001")
    assert good.status is Status.VERSION


def test_a_long_way_has_no_ring_and_is_walked_once() -> None:
    way = {str(step): (str(step + 1),) for step in range(20_000)}
    assert list(rings(way)) == []
    (ring,) = rings({**way, "20000": ("0",)})
    assert len(ring) == 20_002
    assert needs_itself(ring).what == (
        "0 needs 1 needs 2 needs ... (19997 more) needs 20000 needs 0: none of them can ever start."
    )
