"""An empty book for reports."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from recondition.book.engine import Book, create_book

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path


@pytest.fixture
def book(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Book]:
    """Give an empty SQLite book."""
    monkeypatch.delenv("RECONDITION_FILES", raising=False)
    made = create_book(str(tmp_path / "reports.sqlite"))
    yield made
    made.close()
