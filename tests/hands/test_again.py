"""Operations that are tried again, and one of which nobody knows whether it was kept."""

from __future__ import annotations

import threading
import time
from typing import TYPE_CHECKING, Any

import pytest
from sqlalchemy import text

from recondition.book import again as agains
from recondition.book import closing
from recondition.book.again import NotKnownWhetherKept, again
from recondition.book.check import check
from recondition.book.engine import Book, open_book
from recondition.book.errors import BookInUse
from recondition.book.posting import Poster, Status
from recondition.book.reading import all_refs
from recondition.errors import Refused
from recondition.fields import Words
from recondition.intake import load as loads
from recondition.intake.form import one_row
from recondition.intake.load import load
from recondition.ledger.periods import PeriodClosed, PeriodEvent, PeriodStep
from tests.book.make import ACTING, DAY, add, charge, draft, post, shop, usd
from tests.intake.sheetmaker import write_folder
from tests.intake.test_twice import HEADS
from tests.intake.test_twice import charge as charge_row

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from recondition.book import Connection
    from recondition.fields import Id

Two = tuple[Book, Book]
MARCH = "2031-03"


def refs(book: Book, kind: str = "charge") -> list[str]:
    with book.reading() as conn:
        return sorted(all_refs(conn, kind))


def beside(work: Callable[[], object]) -> tuple[threading.Thread, list[object]]:
    """Start something in another thread; give it with the list that its outcome comes into."""
    came: list[object] = []

    def run() -> None:
        try:
            came.append(work())
        except Refused as refused:
            came.append(refused)

    thread = threading.Thread(target=run)
    thread.start()
    return thread, came


def enter(book: Book, stock: str, **more: Any) -> Any:
    values = {"vehicle": stock, "work_date": DAY.isoformat(), "price": "5", "words": "toll",
              "unlinked": "whole vehicle"}  # fmt: skip
    return one_row(book, "charges", values, author_ref="HK", **more)


@pytest.mark.long
def test_a_command_waits_for_another_writer_and_is_then_kept(two: Two) -> None:
    """Longer than one wait: the other writer holds the book or its chain for two of them."""
    first, second = two
    made = shop(first)
    with first.writing() as conn:
        Poster(first, conn, ACTING).post(draft("charge", "X-001", charge(made.own)))
        thread, came = beside(lambda: enter(second, "0007"))
        time.sleep(2.2)
        assert thread.is_alive()
    thread.join()
    (result,) = came
    assert result.status is Status.NEW  # type: ignore[attr-defined]
    assert refs(first) == ["X-001", "X-002"]
    assert check(first).damages == []


@pytest.mark.long
def test_a_command_gives_up_after_its_time(two: Two, monkeypatch: pytest.MonkeyPatch) -> None:
    gives_up = agains.SECONDS
    monkeypatch.setattr(agains, "SECONDS", 0.5)
    first, second = two
    made = shop(first)
    with first.writing() as conn:
        Poster(first, conn, ACTING).post(draft("charge", "X-1", charge(made.own)))
        began = time.monotonic()
        with pytest.raises(BookInUse, match="somebody else"):
            enter(second, "0007")
        assert time.monotonic() - began < gives_up
    assert refs(first) == ["X-1"]


def test_an_operation_within_another_is_not_tried_by_itself(two: Two) -> None:
    tries: list[str] = []

    @again
    def inner(book: Book) -> None:
        tries.append("inner")
        raise BookInUse(book.location)

    @again
    def outer(book: Book) -> int:
        tries.append("outer")
        if len(tries) < 4:
            inner(book)
        return book.turn.tries if book.turn else 0

    assert outer(two[0]) == 3
    assert tries == ["outer", "inner", "outer", "inner", "outer"]
    assert two[0].turn is None


@pytest.mark.long
def test_a_key_that_two_use_at_once_makes_one_record(two: Two) -> None:
    shop(two[0])
    threads = [
        beside(lambda book=book: enter(book, "0007", key="the same"))  # type: ignore[misc]
        for book in two
    ]
    for thread, _ in threads:
        thread.join()
    results: list[Any] = [came[0] for _, came in threads]
    assert sorted(result.status for result in results) == [Status.SAME, Status.NEW]
    assert len({result.record for result in results}) == 1
    assert refs(two[0]) == ["X-001"]


@pytest.mark.long
def test_automatic_refs_of_many_at_once_are_all_different(two: Two) -> None:
    shop(two[0])
    threads = [
        beside(lambda n=n: [enter(two[n % 2], ("0007", "0008")[n % 2]) for _ in range(4)])  # type: ignore[misc]
        for n in range(6)
    ]
    for thread, _ in threads:
        thread.join()
    assert [type(came[0]) for _, came in threads] == [list] * 6
    assert refs(two[0]) == [f"X-{n:03}" for n in range(1, 25)]
    assert check(two[0]).damages == []


@pytest.mark.long
def test_closing_a_period_waits_for_those_who_post_in_it(pair: Two) -> None:
    first, second = pair
    made = shop(first)
    add(first, "charge", "X-1", charge(made.own, "4.00"))
    with first.writing() as conn:
        Poster(first, conn, ACTING).post(draft("charge", "X-2", charge(made.own, "6.00")))
        thread, came = beside(lambda: closing.close(second, MARCH, "month end", author_ref="HK"))
        time.sleep(0.3)
        assert thread.is_alive()
    thread.join()
    (event,) = came
    assert str(event.debits) == "10.00"  # type: ignore[attr-defined]
    assert check(first).damages == []


def test_whoever_posts_waits_for_the_closing_and_then_meets_it(pair: Two) -> None:
    """The closing is begun by hand here, so that a posting can come while it is under way."""
    first, second = pair
    made = shop(first)
    late = draft("charge", "X-2", charge(made.own, period=MARCH))
    add(first, "charge", "X-1", charge(made.own))
    with first.writing(alone=True) as conn:
        thread, came = beside(lambda: post(second, late))
        time.sleep(0.3)
        assert thread.is_alive()
        event = PeriodEvent(
            period=MARCH, step=PeriodStep.CLOSED, why=Words("month end"), map_version="m",
            journal="[]", debits=usd("0"), heads="h",
        )  # fmt: skip
        closed = draft("period event", f"{MARCH} closed 1", event)
        Poster(first, conn, ACTING).post(closed)
    thread.join()
    assert [type(each) for each in came] == [PeriodClosed]
    assert refs(first) == ["X-1"]


def cut_off(book: Book, conn: Connection) -> None:
    """Let the server end a connection, seen from another one."""
    number = conn.execute(text("SELECT pg_backend_pid()")).scalar_one()
    with book.engine.connect() as other:
        other.execute(text("SELECT pg_terminate_backend(:number)"), {"number": number})


def lose_at_the_end(pair: Two, vehicle: Id) -> None:
    first, second = pair
    with first.writing() as conn:
        Poster(first, conn, ACTING).post(draft("charge", "X-1", charge(vehicle)))
        conn.info["before_commit"] = [lambda: cut_off(second, conn)]


def lose_before(pair: Two, vehicle: Id) -> None:
    first, second = pair
    with first.writing() as conn:
        Poster(first, conn, ACTING).post(draft("charge", "X-1", charge(vehicle)))
        cut_off(second, conn)
        Poster(first, conn, ACTING).post(draft("charge", "X-2", charge(vehicle)))


def test_a_connection_lost_at_the_end_leaves_open_what_was_kept(pair: Two) -> None:
    made = shop(pair[0])
    with pytest.raises(NotKnownWhetherKept, match="not known") as lost:
        lose_at_the_end(pair, made.own)
    assert "--key" in lost.value.todo
    assert refs(pair[0]) == []
    with pytest.raises(Refused) as known:
        lose_before(pair, made.own)
    assert not isinstance(known.value, NotKnownWhetherKept | BookInUse)
    assert refs(pair[0]) == []


@pytest.mark.long
def test_a_connection_that_is_kept_is_found_again(fresh: Callable[[str], str]) -> None:
    """After the server let it go, the next posting has a new one."""
    book = open_book(fresh("postgresql"), keep=True)
    made = shop(book)
    with pytest.raises(Refused):
        lose_before((book, book), made.own)
    add(book, "charge", "X-1", charge(made.own))
    assert refs(book) == ["X-1"]
    book.close()


@pytest.mark.long
def test_an_import_that_was_overtaken_begins_anew_and_alone(
    pair: Two, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(loads, "CHUNK", 1)
    first, second = pair
    made = shop(first)
    sheets = {"charges": [HEADS, *(charge_row(f"X-{n}", vehicle=f"000{n}") for n in (7, 8))]}
    outcomes: list[str] = []

    def meanwhile(words: str, done: int, _total: int | None) -> None:
        if not words.startswith("writing charges") or done != 1:
            return
        try:
            add(first, "charge", f"L-{len(outcomes)}", charge(made.consigned))
            outcomes.append("kept")
        except BookInUse:
            outcomes.append("had to wait")

    load(second, write_folder(tmp_path / "in", sheets), author_ref="HK", progress=meanwhile)
    assert outcomes == ["kept", "had to wait"]
    assert refs(first) == ["L-0", "X-7", "X-8"]
    assert check(first).damages == []
