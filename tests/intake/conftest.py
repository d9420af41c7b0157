"""A fresh book for each test, copied from one that was made once."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from recondition.book.engine import Book, open_book
from tests.once import copied_book

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path


@pytest.fixture
def book(empty_file: Path, tmp_path: Path) -> Iterator[Book]:
    opened = open_book(copied_book(empty_file, tmp_path / "book.sqlite"))
    yield opened
    opened.close()
