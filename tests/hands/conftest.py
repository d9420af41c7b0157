"""One book opened twice: two who write in it, on PostgreSQL or on either engine."""

from __future__ import annotations

import shutil
from typing import TYPE_CHECKING

import pytest

from recondition.book import engine as engines
from recondition.book.engine import open_book

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from recondition.book.engine import Book
    from tests.postgres import Databases

ENGINES = ("sqlite", "postgresql")
PATIENCE = 1


@pytest.fixture
def fresh(
    request: pytest.FixtureRequest, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> Callable[[str], str]:
    """Give a function that copies the empty book of an engine and names the copy."""
    monkeypatch.setenv("RECONDITION_FILES", str(tmp_path / "files"))
    monkeypatch.setattr(engines, "BUSY_SECONDS", PATIENCE)

    def copy(engine: str) -> str:
        if engine == "sqlite":
            path = tmp_path / "book.sqlite"
            shutil.copy(request.getfixturevalue("empty_file"), path)
            return str(path)
        template = request.getfixturevalue("empty_database")
        make: Databases = request.getfixturevalue("new_database")
        return make(f"hands{abs(hash(request.node.nodeid))}", template)

    return copy


@pytest.fixture
def pair(fresh: Callable[[str], str]) -> Iterator[tuple[Book, Book]]:
    """Give a book on PostgreSQL opened twice, by writers who wait for a second at most."""
    location = fresh("postgresql")
    both = open_book(location), open_book(location)
    yield both
    for each in both:
        each.close()


@pytest.fixture(params=ENGINES)
def two(request: pytest.FixtureRequest, fresh: Callable[[str], str]) -> Iterator[tuple[Book, Book]]:
    """Give a book on each engine opened twice."""
    location = fresh(request.param)
    both = open_book(location), open_book(location)
    yield both
    for each in both:
        each.close()
