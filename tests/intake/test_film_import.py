"""Readings and work of one file: what was read after a step follows the lines of that step."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from recondition.book import questions
from recondition.condition.film import shown
from recondition.intake.load import load
from recondition.intake.problems import ImportRefused
from tests.intake.sheetmaker import base, write_folder

if TYPE_CHECKING:
    from pathlib import Path

    from recondition.book.engine import Book

DAY = "2031-03-04"


def one_day(takes: str) -> dict[str, list[list[Any]]]:
    """Give readings before and after one pass, and the pass, all of one day."""
    gauge = [["instrument", "name", "principle", "uncertainty"], ["G1", "gauge", "magnetic", "2.5"]]
    head = ["ref", "vehicle", "panel", "readings", "instrument", "read on", "place",
            "before or after"]  # fmt: skip
    values = {"before": "90 91 92 93 94", "after": "84 86 87 88 89"}
    readings = [head] + [
        [f"T-{side}", "0007", "bonnet", read, "G1", DAY, "centre", side]
        for side, read in values.items()
    ]
    lines = [
        ["ref", "vehicle", "work date", "person", "hours", "words (a buyer may read)", "findings",
         "panel", "film it takes"],
        ["L-1", "0007", DAY, "HK", 1, "first pass", "F-001", "bonnet", takes],
    ]  # fmt: skip
    floor = [["setting", "value"], ["film floor", "80"]]
    return base() | {"instruments": gauge, "film readings": readings, "labour": lines,
                     "settings": floor}  # fmt: skip


def test_a_pass_is_judged_by_what_was_read_before_it(book: Book, tmp_path: Path) -> None:
    report = load(book, write_folder(tmp_path / "sheets", one_day("5 um")), author_ref="HK")
    counts = {count.sheet: count.new for count in report.counts}
    assert counts["film readings"] == 2
    with book.reading() as conn:
        room = questions.headroom_of(conn, "0007", "bonnet")
    assert not isinstance(room, str)
    assert (shown(room.um), room.since_um) == ("1.5", 0)
    again = load(book, tmp_path / "sheets", author_ref="HK")
    assert again.changed == 0


def test_a_pass_beyond_the_headroom_is_a_problem_of_its_row(book: Book, tmp_path: Path) -> None:
    with pytest.raises(ImportRefused, match="1 problem") as refused:
        load(book, write_folder(tmp_path / "sheets", one_day("8 um")), author_ref="HK")
    assert "headroom 7.5 um (lowest 90" in refused.value.words()
    assert "labour, row 2" in refused.value.words()
