"""What is sent twice under one key, since its answer was lost, is entered once: rows and clocks."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any

import pytest

from recondition.book import reading
from recondition.book.posting import Status
from recondition.intake import bench, clocking
from recondition.intake.clocking import ClockAhead
from recondition.intake.form import one_row
from recondition.ledger.clocks import Tick
from recondition.ledger.lines import HoursTaken
from recondition.ledger.rules import ClockRunsAlready, KeyReused
from tests.book.make import counted, one, shop

if TYPE_CHECKING:
    from recondition.book.engine import Book

NOW = datetime(2031, 3, 5, 15, 0, tzinfo=UTC)
WORK = {"vehicle": "0007", "words": "polish bonnet", "unlinked": "whole vehicle"}
FINDING = {"vehicle": "0007", "panel": "roof", "defect": "stain", "found_on": "2031-03-05"}


@pytest.fixture
def bench_book(book: Book) -> Book:
    """Give a book with a vehicle and a person, at a moment that stands still."""
    shop(book)
    return replace(book, now=lambda: NOW)


def author(book: Book) -> str:
    with book.reading() as conn:
        return min(reading.all_refs(conn, "person"))


def test_a_row_sent_again_is_there_already_under_its_first_ref(bench_book: Book) -> None:
    mr = author(bench_book)
    first = one_row(bench_book, "findings", FINDING, author_ref=mr, key="k")
    before = counted(bench_book)
    again = one_row(bench_book, "findings", FINDING, author_ref=mr, key="k")
    assert (again.status, again.record, again.draft.ref) == (
        Status.SAME, first.record, first.draft.ref,
    )  # fmt: skip
    assert counted(bench_book) == before


def test_what_was_taken_for_granted_is_not_looked_at_again(bench_book: Book) -> None:
    mr = author(bench_book)
    given = ("vehicle", "panel", "defect")
    one_row(bench_book, "findings", FINDING, author_ref=mr, key="k", said=given)
    later = FINDING | {"found_on": "2031-03-06"}  # it was sent again after midnight
    again = one_row(bench_book, "findings", later, author_ref=mr, key="k", said=given)
    assert again.status is Status.SAME
    other = one_row(bench_book, "findings", later | {"defect": "rust"}, author_ref=mr, key="k",
                    said=given)  # fmt: skip
    assert isinstance(other.refused, KeyReused)
    assert "defect: stain is posted, rust is given" in other.refused.what
    assert "found_on" not in other.refused.what
    whole = one_row(bench_book, "findings", later, author_ref=mr, key="k")
    assert isinstance(whole.refused, KeyReused)


def test_a_row_that_somebody_changed_meanwhile_is_there_already(bench_book: Book) -> None:
    mr = author(bench_book)
    first = one_row(bench_book, "findings", FINDING, author_ref=mr, key="k")
    changed = FINDING | {"words": "comes from the roof rack"}
    one_row(bench_book, "findings", changed, author_ref=mr, ref=first.draft.ref)
    again = one_row(bench_book, "findings", FINDING, author_ref=mr, key="k")
    assert (again.status, again.record) == (Status.SAME, first.record)
    with_ref = one_row(bench_book, "findings", FINDING, author_ref=mr, ref=first.draft.ref, key="k")
    assert with_ref.status is Status.SAME
    assert one(bench_book, "finding", first.draft.ref).version == 2


def test_a_use_sent_again_stays_with_the_clock_of_its_first_time(bench_book: Book) -> None:
    mr = author(bench_book)
    product = {"name": "No 3", "material_type": "fine polish", "unit": "ml"}
    made = one_row(bench_book, "products", product, author_ref=mr).draft.ref
    clocking.start(bench_book, WORK, author_ref=mr, at=None)
    given = {"product": made, "quantity": "35 ml", "price": "24.00", "price_per": "500 ml",
             "work_date": "2031-03-05"}  # fmt: skip
    first = bench.use(bench_book, given, author_ref=mr, key="k")
    later = replace(bench_book, now=lambda: NOW + timedelta(hours=1))
    clocking.stop(later, author_ref=mr, at=None)
    again = bench.use(later, given, author_ref=mr, key="k")
    assert again.result.status is Status.SAME
    assert again.result.record == first.result.record
    assert again.words == first.words
    with pytest.raises(KeyReused, match="quantity"):
        bench.use(later, given | {"quantity": "36 ml"}, author_ref=mr, key="k")


def test_each_turn_of_a_clock_counts_once(bench_book: Book) -> None:
    mr = author(bench_book)
    who: dict[str, Any] = {"author_ref": mr, "read_off": True}
    times = [(NOW - timedelta(minutes=left)).isoformat() for left in (90, 60, 50, 10)]

    def twice(turn: Any, *given: Any, **more: Any) -> list[Any]:
        first = turn(bench_book, *given, **who, **more)
        before = counted(bench_book)
        again = turn(bench_book, *given, **who, **more)
        assert counted(bench_book) == before
        return [first, again]

    first, again = twice(clocking.start, WORK, at=times[0], key="k0")
    assert "clock CK-001: started at" in first
    assert again.startswith("clock CK-001: already there, started at")
    first, again = twice(clocking.turn, Tick.PAUSE, at=times[1], key="k1")
    assert (first, again) == (
        "clock CK-001: paused, 30 min so far", "clock CK-001: already there, paused, 30 min so far",
    )  # fmt: skip
    twice(clocking.turn, Tick.RESUME, at=times[2], key="k2")
    (first, _), (again, _) = twice(clocking.stop, at=times[3], key="k3")
    assert "1 h 10 min hands-on, 1 h 20 min by the clock" in first
    assert again == first.replace(": ", ": already there, ", 1)
    line = one(bench_book, "labour", "L-001").entry
    assert line.taken is HoursTaken.BY_THE_CLOCK  # read off as the button was pressed
    assert one(bench_book, "clock", "CK-001").version == 4
    # Once more from the beginning, as a device that lost every answer does.
    assert "already there" in clocking.start(bench_book, WORK, at=times[0], key="k0", **who)


def test_a_key_of_another_turn_is_refused(bench_book: Book) -> None:
    mr = author(bench_book)
    early = {"author_ref": mr, "at": "2031-03-05T14:00+00:00"}
    clocking.start(bench_book, WORK, key="k0", **early)
    other = WORK | {"words": "polish roof"}
    with pytest.raises(KeyReused, match="CK-001 on 0007: polish bonnet"):
        clocking.start(bench_book, other, key="k0", **early)
    with pytest.raises(KeyReused, match="start at 2031-03-05T14:00"):
        clocking.start(bench_book, WORK, key="k0", author_ref=mr, at="2031-03-05T14:01+00:00")
    with pytest.raises(KeyReused, match="clock CK-001"):
        clocking.turn(bench_book, Tick.PAUSE, author_ref=mr, at=None, key="k0")
    with pytest.raises(ClockRunsAlready):
        clocking.start(bench_book, WORK, key="k1", **early)
    clocking.drop(bench_book, "wrong car", author_ref=mr, key="k2")
    again = clocking.drop(bench_book, "wrong car", author_ref=mr, key="k2")
    assert again == "clock CK-001: already there, dropped, no hours were posted"
    with pytest.raises(KeyReused, match="dropped because wrong car"):
        clocking.drop(bench_book, "another reason", author_ref=mr, key="k2")
    with pytest.raises(KeyReused, match="dropped"):
        clocking.stop(bench_book, author_ref=mr, at=None, key="k2")


def test_a_device_that_is_ahead_of_the_shop_turns_its_clock_now(bench_book: Book) -> None:
    mr = author(bench_book)
    ahead = (NOW + timedelta(seconds=40)).isoformat()
    with pytest.raises(ClockAhead):
        clocking.start(bench_book, WORK, author_ref=mr, at=ahead)
    clocking.start(bench_book, WORK, author_ref=mr, at=ahead, read_off=True)
    (mark,) = one(bench_book, "clock", "CK-001").entry.marks
    assert (datetime.fromisoformat(mark.at), mark.afterwards) == (NOW, False)


def bottle(book: Book, mr: str) -> str:
    """Give a product of which 500 ml came in, in a labelled bottle."""
    product = {"name": "No 3", "material_type": "fine polish", "unit": "ml", "density_g_ml": "1.0"}
    made = one_row(book, "products", product, author_ref=mr).draft.ref
    came = {"product": made, "quantity": "500 ml", "price": "24.00", "received_on": "2031-03-01"}
    receipt = one_row(book, "receipts", came, author_ref=mr).draft.ref
    label = {"product": made, "receipt": receipt, "tare": "40 g", "opened_on": "2031-03-02"}
    assert one_row(book, "containers", label, author_ref=mr, ref="K-1").refused is None
    return made


def test_what_is_thrown_away_is_thrown_away_once(bench_book: Book) -> None:
    mr = author(bench_book)
    bottle(bench_book, mr)
    who: dict[str, Any] = {"author_ref": mr, "key": "k", "rest": "12 ml"}
    given = {"vehicle": "0007", "unlinked": "whole vehicle"}
    first = bench.scrap(bench_book, "K-1", "past its life", given=given, **who)
    before = counted(bench_book)
    again = bench.scrap(bench_book, "K-1", "past its life", given=given, priced=False, **who)
    assert (again.result.status, again.result.draft.ref) == (Status.SAME, first.result.draft.ref)
    assert again.words == first.words.replace(" 0.58 USD,", "")
    with pytest.raises(KeyReused, match="quantity"):
        bench.scrap(bench_book, "K-1", "past its life", given=given, **who | {"rest": "13 ml"})
    with pytest.raises(KeyReused, match="private_note"):
        bench.scrap(bench_book, "K-1", "it leaks", given=given, **who)
    assert counted(bench_book) == before
    assert one(bench_book, "container", "K-1").entry.emptied_on is not None


def test_a_torn_pad_is_thrown_away_once_whatever_is_left_of_it_then(bench_book: Book) -> None:
    mr = author(bench_book)
    pad = {"name": "Pad", "material_type": "pad", "unit": "use", "expected_uses": "20"}
    product = one_row(bench_book, "products", pad, author_ref=mr).draft.ref
    came = {"product": product, "quantity": "20 use", "price": "20.00", "received_on": "2031-03-01"}
    assert one_row(bench_book, "receipts", came, author_ref=mr).refused is None
    one_row(bench_book, "containers", {"product": product}, author_ref=mr, ref="PAD-1")
    used = {"vehicle": "0007", "unlinked": "whole vehicle", "work_date": "2031-03-04"}
    bench.use(bench_book, used | {"container": "PAD-1", "quantity": "3 use"}, author_ref=mr)
    who: dict[str, Any] = {"author_ref": mr, "key": "k", "rest": None, "given": {}}
    first = bench.scrap(bench_book, "PAD-1", "torn", **who)
    assert first.words.split(": ")[1].startswith("17 use, on 0007")
    again = bench.scrap(bench_book, "PAD-1", "torn", **who)
    assert (again.result.status, again.words) == (Status.SAME, first.words)
    with pytest.raises(bench.NothingLeft):
        bench.scrap(bench_book, "PAD-1", "torn", **who | {"key": "another"})


def test_a_count_by_weight_counts_once(bench_book: Book) -> None:
    mr = author(bench_book)
    product = bottle(bench_book, mr)
    who: dict[str, Any] = {"author_ref": mr, "why": "spilled", "day": None, "key": "k"}
    first = bench.count_by_weight(bench_book, product, ["K-1=500"], **who)
    assert first[1].endswith("460 ml on the shelf, differs by -40 ml")
    before = counted(bench_book)
    again = bench.count_by_weight(bench_book, product, ["K-1=500"], **who)
    assert again == [first[0], first[1].split(":")[0] + ": already there, 460 ml on the shelf"]
    with pytest.raises(KeyReused, match="counted"):
        bench.count_by_weight(bench_book, product, ["K-1=501"], **who)
    assert counted(bench_book) == before
