"""Whoever is overtaken while typing or keeping pictures is told so, not that a row is wrong."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from recondition.book import again as agains
from recondition.book import reading
from recondition.book.again import Turn
from recondition.book.errors import BookInUse
from recondition.book.posting import Poster
from recondition.intake.photographs import keep_folder
from recondition.intake.typed import enter
from tests.book.make import ACTING, charge, draft, shop
from tests.pictures import photograph

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from recondition.book.engine import Book


def typed(book: Book, _: Path) -> object:
    return enter(book, "0007", ["roof: dull; 2"], author_ref="HK")


def pictured(book: Book, folder: Path) -> object:
    (folder / "good.jpg").write_bytes(photograph("2031:03:04 09:30:00", "-05:00"))
    return keep_folder(book, "0007", folder, {}, author_ref="HK", zone="")


@pytest.mark.long
@pytest.mark.parametrize("work", [typed, pictured])
def test_another_writer_is_no_slip_of_a_row(
    pair: tuple[Book, Book], tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
    work: Callable[[Book, Path], object],
) -> None:  # fmt: skip
    """The other one has taken the car's chain, and keeps it for longer than the work waits."""
    monkeypatch.setattr(agains, "SECONDS", 0.6)
    first, second = pair
    made = shop(first)
    folder = tmp_path / "camera"
    folder.mkdir()
    taking = replace(first, turn=Turn(first.location))
    with first.writing() as conn:
        Poster(taking, conn, ACTING).post(draft("charge", "X-1", charge(made.own)))
        with pytest.raises(BookInUse):
            work(second, folder)
    work(second, folder)
    with first.reading() as conn:
        assert len(reading.all_refs(conn, "finding")) + len(reading.all_refs(conn, "document")) == 4
