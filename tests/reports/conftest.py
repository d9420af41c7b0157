"""An empty book for reports."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.places import copied_book, opened

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from recondition.book.engine import Book


@pytest.fixture
def book(empty_file: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Book]:
    """Give an empty book."""
    monkeypatch.delenv("RECONDITION_FILES", raising=False)
    book = opened(copied_book(empty_file, tmp_path / "reports.sqlite"))
    yield book
    book.close()
