"""Which vehicles got a batch, and what is open or past its day, from a real book.

The products, vehicles, people and firms are invented.
"""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from recondition.book.engine import Book
from recondition.ledger.lines import Use
from recondition.materials.measuring import Measure, Way
from recondition.materials.receiving import (
    MixedBatch,
)
from tests.book.make import add
from tests.reports.stockroom import TODAY, Stockroom, column, facts, march, ml, numbers


def test_a_batch_is_followed_through_lines_containers_and_mixes(book: Book) -> None:
    room = Stockroom(book)
    first = room.receive("RC-1", 1, "1000", "80.00", batch_number="B77", invoice_number="R 9")
    second = room.receive("RC-2", 2, "1000", "80.00", batch_number="B78")
    bottle = room.bottle("K-07", first)
    mix = MixedBatch(
        product=room.product, mixed_on=march(3), concentrate=ml("70"), water=ml("700"),
        container=bottle,
    )  # fmt: skip
    mixed = add(book, "mixed batch", "X-1", mix)
    room.use("L-1", 4, "100", receipt=first, panel="bonnet")
    room.use("L-2", 4, "30", room.shop.consigned, container=bottle)
    room.bottle("K-07", second)  # filled again, from the other batch
    room.use("L-3", 5, "40", container=bottle)
    sprayed = Measure(way=Way.MIXED, sprayed=ml("110"))
    room.use("L-4", 5, None, room.shop.consigned, mixed=mixed, measure=sprayed)
    wrong = room.use("L-5", 6, "7", receipt=first)
    room.take_back("V-1", wrong, 6)
    room.use("L-6", 7, "8", receipt=first, use=Use.WASTED)
    room.use("L-7", 8, "9")

    delivery, uses, vehicles = room.tables("trace", "B77")
    assert facts(delivery) == {
        "product": "CUT Cut 3", "batch number": "B77", "supplier": "SU-1",
        "received on": "2031-03-01", "invoice": "R 9", "amount": "1000 ml",
    }  # fmt: skip
    assert [(*row[:1], *row[2:3], f"{row[5]:f}", row[8]) for row in uses.rows] == [
        ("0007", "L-1", "100", "line"),
        ("0008", "L-2", "30", "K-07"),
        ("0008", "L-4", "10", "X-1"),  # 110 ml of a mix that is one part in eleven
        ("0007", "L-5", "7", "line"),
        ("0007", "L-6", "8", "line"),
    ]
    assert column(uses, "work") == [
        "cutting, done", "cutting, done", "cutting, done", "cutting, done, taken back by V-1",
        "cutting, done, wasted",
    ]  # fmt: skip
    assert column(uses, "panel") == ["bonnet", "", "", "", ""]
    assert uses.total is not None
    assert uses.total[5] == 148
    assert "Since it came, 1 use names no batch at all" in uses.note
    assert [row[:3] for row in vehicles.rows] == [
        ("0007", "Tavorel Lisse", 2), ("0008", "Ostra 9", 2),
    ]  # fmt: skip
    assert (numbers(vehicles, "used_ml"), numbers(vehicles, "wasted_ml")) == (
        ["100", "40"],
        ["8", "0"],
    )
    _, other, _ = room.tables("trace", "RC-2")
    assert column(other, "line") == ["L-3"]


def test_a_batch_that_no_use_names_says_so_and_what_was_priced_from_it(book: Book) -> None:
    room = Stockroom(book, "first in first out")
    first = room.receive("RC-1", 1, "100", "8.00")
    room.receive("RC-2", 2, "100", "9.00")
    room.use("L-1", 3, "130")
    tables = room.tables("trace", "RC-2")
    assert "No use names this receipt" in tables[1].note
    assert tables[-1].rows == (("0007", march(3), "L-1", Decimal(30)),)
    assert "no proof that this batch was in the bottle" in tables[-1].note
    room.send_back("SR-1", first, 4, "10", "0.80")
    receipt = facts(room.tables("trace", "RC-1")[0])
    assert receipt["sent back"] == "10 ml on 2031-03-04 (SR-1)"


def test_a_receipt_that_was_taken_back_says_so(book: Book) -> None:
    room = Stockroom(book)
    room.undo("SX-1", room.receive("RC-1", 1, "100", "8.00"), 2)
    receipt = facts(room.tables("trace", "RC-1")[0])
    assert receipt["taken back"] == "by SX-1 on 2031-03-02: typed twice"


def test_what_is_open_is_listed_by_its_last_good_day(book: Book) -> None:
    room = Stockroom(book)
    first = room.receive("RC-1", 1, "1000", "80.00", use_by=march(31), batch_number="B77")
    room.receive("RC-2", 1, "1000", "80.00", use_by=march(31))
    room.receive("RC-3", 1, "1000", "80.00", use_by=TODAY)
    room.bottle("K-1", first, opened_on=march(18))
    room.bottle("K-2", None, opened_on=march(3))
    room.bottle("K-3", None, opened_on=march(4), emptied_on=march(9))
    room.bottle("K-4", first)
    opened, past = room.tables("opened")
    assert opened.rows == (
        ("K-2", "Cut 3", march(3), date(2031, 4, 2), "12 days past"),
        ("K-1", "Cut 3", march(18), date(2031, 4, 17), "good for 3 days"),
    )
    assert "data sheet" in opened.note
    assert past.rows == (
        ("RC-1", "Cut 3", "B77", march(31), "14 days past", "container K-1, container K-4"),
    )


def test_old_deliveries_are_found_by_their_layers_too(book: Book) -> None:
    room = Stockroom(book, "first in first out", shelf_life_open=None)
    room.receive("RC-1", 1, "100", "8.00", use_by=march(31))
    room.receive("RC-2", 2, "100", "8.00", use_by=march(31))
    room.bottle("K-1", None, opened_on=march(3))
    room.use("L-1", 3, "100")
    opened, past = room.tables("opened")
    assert opened.note.endswith("Open, with no shelf life on record: K-1.")
    assert [(row[0], row[-1]) for row in past.rows] == [("RC-2", "its cost layer")]
