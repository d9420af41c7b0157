"""How much longer an import takes whose every line is held against film and order of work."""

from __future__ import annotations

from time import perf_counter
from typing import TYPE_CHECKING

import pytest

from recondition.book.engine import create_book
from recondition.intake.load import load
from tests.intake.sheetmaker import base, write_folder

if TYPE_CHECKING:
    from pathlib import Path

LINES = 3000
DAYS = [f"20{24 + n // 336 % 40:02}-{1 + n % 12:02}-{1 + n // 12 % 28:02}" for n in range(LINES)]


def _seconds(folder: Path, operation: str, takes: str) -> float:
    sheets = base() | {
        "labour": [
            ["ref", "vehicle", "work date", "person", "hours", "words (a buyer may read)",
             "findings", "panel", "operation", "film it takes"],
            *([f"L-{n:05}", "0007", day, "HK", 0.1, "bonnet", "F-001", "bonnet", operation, takes]
              for n, day in enumerate(sorted(DAYS))),
        ]
    }  # fmt: skip
    write_folder(folder, sheets)
    book = create_book(str(folder / "book.sqlite"))
    started = perf_counter()
    load(book, folder, author_ref="HK")
    return perf_counter() - started


@pytest.mark.bench
def test_judging_every_line_costs_less_than_posting_it(tmp_path: Path) -> None:
    plain = _seconds(tmp_path / "plain", "note", "")
    judged = _seconds(tmp_path / "judged", "polish", "0.1 um")
    print(f"\n{LINES} lines: {plain:.1f} s, judged {judged:.1f} s, ratio {judged / plain:.2f}")  # noqa: T201
    assert judged < 2 * plain
