"""An empty book for reports."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from recondition.book.engine import Book, open_book
from tests.once import copied_book

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path


@pytest.fixture
def book(empty_file: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Book]:
    """Give an empty SQLite book."""
    monkeypatch.delenv("RECONDITION_FILES", raising=False)
    opened = open_book(copied_book(empty_file, tmp_path / "reports.sqlite"))
    yield opened
    opened.close()
