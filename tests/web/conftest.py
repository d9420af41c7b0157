"""What all tests of the pages share: hashing that takes no time, and books to look at."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from recondition.book import passwords
from tests.cli.released import released
from tests.places import copied, copied_book, key_of, opened

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from recondition.book.engine import Book


@pytest.fixture(autouse=True)
def quick_hashes(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Hash with little memory and one pass; ``tests/book`` holds the real parameters."""
    for name, value in (("_PASSES", 1), ("_MEMORY_KIB", 64), ("_LANES", 1)):
        monkeypatch.setattr(passwords, name, value)
    passwords._hasher.cache_clear()  # noqa: SLF001 - made anew with those
    passwords._nobody.cache_clear()  # noqa: SLF001 - as above
    yield
    passwords._hasher.cache_clear()  # noqa: SLF001 - as above
    passwords._nobody.cache_clear()  # noqa: SLF001 - as above


@pytest.fixture
def empty_book(empty_file: Path, tmp_path: Path) -> Iterator[Book]:
    """Give an empty book with nobody in it."""
    made = opened(copied_book(empty_file, tmp_path / "shop.book"), keep=True)
    yield made
    made.close()


@pytest.fixture
def released_book(
    tmp_path_factory: pytest.TempPathFactory, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> Iterator[Book]:
    """Give a copy of the book with one car and its first edition, and its key."""
    folder = copied(released(tmp_path_factory), tmp_path / "shop")
    monkeypatch.setenv("RECONDITION_KEY", key_of(folder / "shop.book"))
    made = opened(folder / "shop.book", keep=True)
    yield made
    made.close()


@pytest.fixture
def shop_book(demo: tuple[Path, str], tmp_path: Path) -> Iterator[Book]:
    """Give a copy of the demo's book of one's own, to write into."""
    made = opened(copied_book(demo[0] / "made" / "demo.book", tmp_path / "shop.book"), keep=True)
    yield made
    made.close()
