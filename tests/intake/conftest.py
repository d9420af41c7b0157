"""A fresh book for each test, copied from one that was made once."""

from __future__ import annotations

import shutil
from typing import TYPE_CHECKING

import pytest

from recondition.book.engine import Book, create_book, open_book

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path


@pytest.fixture(scope="session")
def empty_book_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("book") / "empty.sqlite"
    create_book(str(path)).close()
    return path


@pytest.fixture
def book(empty_book_file: Path, tmp_path: Path) -> Iterator[Book]:
    path = tmp_path / "book.sqlite"
    shutil.copy(empty_book_file, path)
    opened = open_book(str(path))
    yield opened
    opened.close()
