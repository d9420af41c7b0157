"""Reports of stock from a real book; every expected figure is worked out by hand here.

The products, vehicles, people and firms are invented.
"""

from __future__ import annotations

from decimal import Decimal

import pytest

from recondition.amounts import Quantity
from recondition.book.context import NotThere
from recondition.book.engine import Book
from recondition.fields import Words
from recondition.ledger.lines import Reversal
from recondition.materials.conversion import DensityNeeded
from recondition.materials.measuring import Measure, Way
from recondition.materials.products import Product
from recondition.materials.receiving import (
    StandardAmount,
)
from recondition.reports import stock
from recondition.reports.table import Table
from tests.book.make import add, shop, usd
from tests.reports.stockroom import TODAY, Stockroom, a_month, column, march, ml, numbers


def test_movements_stand_in_the_order_of_posting_with_what_each_left(book: Book) -> None:
    # 84.00 for 1000 ml: 8.40, 4.20 and 0.84 leave 70.56 for 840 ml. Freight of 5.00 puts
    # 5.00 x 840/1000 = 4.20 on stock. The count takes 74.76 x 40/840 = 3.56, the other gains
    # 71.20 x 20/800 = 1.78, and the line taken back restores its own 8.40.
    moved, _ = a_month(book).tables("moves", "CUT")
    assert column(moved, "number") == list(range(1, 11))
    assert numbers(moved, "quantity_ml") == [
        "1000", "-100", "-50", "-10", "0", "-40", "500", "-500", "20", "100",
    ]  # fmt: skip
    assert [str(cost) for cost in column(moved, "cost")] == [
        "84.00", "-8.40", "-4.20", "-0.84", "5.00", "-3.56", "40.00", "-40.00", "1.78", "8.40",
    ]  # fmt: skip
    assert column(moved, "price_difference") == [None] * 4 + [usd("0.80")] + [None] * 5
    assert numbers(moved, "on_hand_ml") == [
        "1000", "900", "850", "840", "840", "800", "1300", "800", "820", "920",
    ]  # fmt: skip
    assert [str(value) for value in column(moved, "value")] == [
        "84.00", "75.60", "71.40", "70.56", "74.76", "71.20", "111.20", "71.20", "72.98", "81.38",
    ]  # fmt: skip


def test_each_movement_names_its_flow_its_record_and_its_vehicle(book: Book) -> None:
    moved, _ = a_month(book).tables("moves", "CUT")
    assert column(moved, "what") == [
        "received",
        "issued, dispensed, measured",
        "issued, dispensed, measured",
        "wasted, dispensed, measured",
        "late freight",
        "count loss, measured",
        "received, posted late",
        "received, taken back",
        "count gain, measured",
        "issued, taken back",
    ]
    assert column(moved, "record") == [
        "RC-1", "L-1, 0007", "L-2, 0008", "L-3, 0007", "LF-1", "N-1, shop", "RC-2", "SX-1",
        "N-2, shop", "V-1, 0007",
    ]  # fmt: skip


def test_where_it_went_adds_up_on_both_sides(book: Book) -> None:
    _, went = a_month(book).tables("moves", "CUT")
    assert [(row[1], f"{row[2]:f}", str(row[3])) for row in went.all_rows] == [
        ("received", "1000", "89.00"),
        ("count gains", "20", "1.78"),
        ("all of it", "1020", "90.78"),
        ("issued", "50", "4.20"),
        ("wasted", "10", "0.84"),
        ("count losses", "40", "3.56"),
        ("returned", "0", "0.00"),
        ("price difference", "0", "0.80"),
        ("on hand", "920", "81.38"),
        ("all of it", "1020", "90.78"),
    ]
    assert went.note.startswith("Both sides agree.")


def test_what_is_on_hand_with_its_average_cost_and_when_it_was_counted(book: Book) -> None:
    room = a_month(book)
    add(book, "product", "OLD", Product(name="Old wax", material_type="wax", unit="g"))
    (table,) = room.tables("on_hand")
    assert table.rows == (
        # 81.38 / 920 = 0.088456...
        ("CUT", "Cut 3", Decimal(920), "ml", usd("81.38"), "0.0885 per ml",
         "enough (at 300 ml)", march(21)),
    )  # fmt: skip
    assert table.total is not None
    assert table.total[4] == usd("81.38")
    assert "moving average" in table.note
    assert "1 product was never received into stock" in table.note


def test_a_count_that_was_taken_back_is_not_the_last_one(book: Book) -> None:
    room = Stockroom(book)
    room.receive("RC-1", 1, "1000", "80.00")
    room.count("N-1", 8, "900", "first")
    second = room.count("N-2", 9, "880", "misread")
    misread = Reversal(reverses=second, work_date=march(9), why=Words("misread"))
    add(book, "reversal", "V-1", misread)
    (table,) = room.tables("on_hand")
    assert column(table, "last_counted") == [march(8)]
    each, months = room.tables("unrecorded")
    assert [text.endswith("; taken back") for text in column(each, "reason")] == [False, True]
    assert numbers(months, "missing") == ["100"]


def test_a_product_is_due_at_its_reorder_point_and_not_above(book: Book) -> None:
    room = Stockroom(book)
    room.receive("RC-1", 1, "301", "80.00")
    (table,) = room.tables("reorder")
    assert not table.rows
    assert table.note == "No product is at or below its reorder point."
    room.use("L-1", 2, "1")
    (table,) = room.tables("reorder")
    assert table.rows == (
        ("CUT", "Cut 3", Decimal(300), "ml", "300 ml", "SU-1 Lindqvist Supplies"),
    )
    assert column(room.tables("on_hand")[0], "reorder") == ["order due (at 300 ml)"]


def test_a_reorder_point_that_cannot_be_compared_is_refused(book: Book) -> None:
    with pytest.raises(DensityNeeded):
        Stockroom(book, density_g_ml=None, reorder_at=Quantity.of("300", "g"))


def test_counts_are_set_against_the_book_and_against_what_the_month_used(book: Book) -> None:
    room = a_month(book)
    each, months = room.tables("unrecorded")
    # 40 of 840 are less than 5 percent; 20 ml are small whatever the book says.
    assert each.rows == (
        ("2031-03", "N-1", "Cut 3", "ml", Decimal(840), Decimal(800), Decimal(-40), "within",
         "spilled (measured)"),
        ("2031-03", "N-2", "Cut 3", "ml", Decimal(800), Decimal(820), Decimal(20), "within",
         "wrong tare (measured)"),
    )  # fmt: skip
    assert "common practice, no source" in each.note
    # 40 - 20 missing of the 50 ml that stand as issued, for 3.56 - 1.78.
    assert months.rows == (
        ("CUT", "Cut 3", "2031-03", "ml", Decimal(20), Decimal(50), Decimal("0.400"), usd("1.78")),
    )
    room.count("N-3", 23, "800", "unknown")
    room.count("N-4", 24, "800", "month end")
    assert column(room.tables("unrecorded")[0], "tolerance")[2:] == ["to look into", "agrees"]


@pytest.mark.parametrize("report", ["on_hand", "reorder", "opened", "unrecorded"])
def test_an_empty_book_is_told_in_words(book: Book, report: str) -> None:
    shop(book)
    with book.reading() as conn:
        tables: list[Table] = getattr(stock, report)(conn, None, TODAY)
    assert all(table.note and not table.rows for table in tables)


def test_a_product_without_movements_says_so(book: Book) -> None:
    (table,) = Stockroom(book).tables("moves", "CUT")
    assert table.note == "It was never received into stock."


@pytest.mark.parametrize("report", ["moves", "trace"])
def test_what_nobody_knows_is_refused_by_name(book: Book, report: str) -> None:
    room = Stockroom(book)
    with pytest.raises(NotThere, match="XYZ"):
        room.tables(report, "XYZ")


def test_a_standard_amount_shows_as_assumed(book: Book) -> None:
    room = Stockroom(book)
    room.receive("RC-1", 1, "1000", "80.00")
    standard = StandardAmount(product=room.product, operation="cutting", quantity=ml("30"))
    add(book, "standard amount", "ST-1", standard)
    room.use("L-1", 2, None, measure=Measure(way=Way.STANDARD))
    moved, _ = room.tables("moves", "CUT")
    assert column(moved, "what")[1] == "issued, standard amount, assumed"
