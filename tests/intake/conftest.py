"""A fresh book for each test, copied from one that was made once."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.places import copied_book, opened

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from recondition.book.engine import Book


@pytest.fixture
def book(empty_file: Path, tmp_path: Path) -> Iterator[Book]:
    book = opened(copied_book(empty_file, tmp_path / "book.sqlite"))
    yield book
    book.close()
