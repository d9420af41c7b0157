"""A book that came to nothing is taken away whole, and texts sort alike on either engine."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from sqlalchemy import inspect, text

from recondition.book import reading
from recondition.book.engine import create_book, open_book
from recondition.book.sorting import by_bytes
from recondition.book.starting import is_there, unmake
from recondition.book.tables import entity
from tests.book.make import add, finding, shop

if TYPE_CHECKING:
    from collections.abc import Callable

    from recondition.book.engine import Book

REFS = ("b", "B-2", "B-10", "b 1", "a", "Z", "ä", "_x", "0007:1", "0007;1", "0007-1")


def test_refs_sort_by_their_bytes(book: Book) -> None:
    made = shop(book)
    for ref in REFS:
        add(book, "finding", ref, finding(made.own))
    with book.reading() as conn:
        found = reading.all_refs(conn, "finding")
        assert {*found} >= {*REFS}
        assert found == sorted(found)
        ours = by_bytes(entity.c.ref)
        between = entity.select().where(ours > "0007:", ours < "0007;")
        assert [row.ref for row in conn.execute(between)] == ["0007:1"]


def test_a_book_in_which_nothing_was_posted_is_taken_away_and_can_be_made_again(book: Book) -> None:
    assert is_there(book.location)
    unmake(book)
    assert not is_there(book.location)
    again = create_book(book.location)
    shop(again)
    again.close()
    assert is_there(book.location)


def test_nothing_of_it_is_left(book: Book) -> None:
    unmake(book)
    if book.path is not None:
        assert not list(book.path.parent.glob(f"{book.path.name}*"))
        return
    with book.reading() as conn:
        assert inspect(conn).get_table_names() == []
        functions = "SELECT count(*) FROM pg_proc WHERE proname LIKE 'posted%'"
        assert conn.execute(text(functions)).scalar() == 0


@pytest.mark.parametrize("engine", ["postgresql"])
def test_on_a_server_a_book_in_which_somebody_posted_stays(
    fresh: Callable[[str], str], engine: str
) -> None:
    book = open_book(fresh(engine))
    shop(book)
    unmake(book)
    with open_book(book.location).reading() as conn:
        assert reading.all_refs(conn, "person")
