"""A shop with one polish in stock, and briefly written events on it.

The products, vehicles, people and firms are invented.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import Any

from recondition.amounts import Quantity
from recondition.book.engine import Book
from recondition.fields import Id, Words
from recondition.ledger.lines import Consumable, Count, Purpose, Reversal, Unlinked, Use
from recondition.ledger.people import Setting, Supplier
from recondition.materials.products import Product
from recondition.materials.receiving import (
    Container,
    LateFreight,
    Receipt,
    StockReversal,
    SupplierReturn,
)
from recondition.reports import stock
from recondition.reports.table import Table
from recondition.reports.terminal import to_terminal
from tests.book.make import Shop, add, line, shop, usd

TODAY = date(2031, 4, 14)
WIDTH = 80


def march(day: int) -> date:
    return date(2031, 3, day)


def ml(amount: str) -> Quantity:
    return Quantity.of(amount, "ml")


class Stockroom:
    """Posts events on the stock of one product, a polish kept by volume."""

    def __init__(self, book: Book, method: str = "moving average", **product: Any) -> None:
        """Start a shop that values stock by a method; ``product`` changes the polish."""
        self.book = book
        self.shop: Shop = shop(book)
        add(book, "setting", "stock value", Setting(value=method))
        self.supplier = add(book, "supplier", "SU-1", Supplier(name=Words("Lindqvist Supplies")))
        entry = Product(
            name="Cut 3",
            material_type="compound",
            unit="ml",
            supplier=self.supplier,
            density_g_ml=Decimal("1.08"),
            shelf_life_open=Quantity.of("30", "day"),
            reorder_at=ml("300"),
        )
        self.product = add(book, "product", "CUT", replace(entry, **product))

    def receive(self, ref: str, day: int, amount: str, price: str, **more: Any) -> Id:
        """Take millilitres in on a day of March."""
        entry = Receipt(
            product=self.product, received_on=march(day), quantity=ml(amount), price=usd(price),
            supplier=self.supplier, **more,
        )  # fmt: skip
        return add(self.book, "receipt", ref, entry)

    def use(
        self, ref: str, day: int, amount: str | None, vehicle: Id | None = None, **more: Any
    ) -> Id:
        """Use some on a vehicle, the own one unless another is named."""
        fields = line(vehicle or self.shop.own, work_date=march(day), operation="cutting")
        quantity = None if amount is None else ml(amount)
        entry = Consumable(product=self.product, quantity=quantity, **(fields | more))
        return add(self.book, "consumable", ref, entry)

    def count(self, ref: str, day: int, found: str, why: str) -> Id:
        """Count what is there."""
        fields = line(None, work_date=march(day), unlinked=Unlinked.OVERHEAD, words=Words(why))
        fields["purpose"] = Purpose.OVERHEAD
        entry = Count(product=self.product, counted=ml(found), **fields)
        return add(self.book, "count", ref, entry)

    def freight(self, ref: str, receipt: Id, day: int, price: str) -> Id:
        """Add freight to a receipt."""
        entry = LateFreight(
            product=self.product, receipt=receipt, billed_on=march(day), price=usd(price),
            words=Words("carrier's second bill"),
        )  # fmt: skip
        return add(self.book, "late freight", ref, entry)

    def send_back(self, ref: str, receipt: Id, day: int, amount: str, credit: str) -> Id:
        """Return some of a receipt."""
        entry = SupplierReturn(
            product=self.product, receipt=receipt, returned_on=march(day), quantity=ml(amount),
            credit=usd(credit), words=Words("leaked"),
        )  # fmt: skip
        return add(self.book, "supplier return", ref, entry)

    def undo(self, ref: str, what: Id, day: int) -> Id:
        """Take back a receipt, late freight or a return."""
        entry = StockReversal(
            product=self.product, reverses=what, reversed_on=march(day), why=Words("typed twice")
        )
        return add(self.book, "stock reversal", ref, entry)

    def take_back(self, ref: str, what: Id, day: int, vehicle: Id | None = None) -> Id:
        """Take back a line, one of the own vehicle unless another is named."""
        entry = Reversal(
            vehicle=vehicle or self.shop.own, reverses=what, work_date=march(day),
            why=Words("other bottle"),
        )  # fmt: skip
        return add(self.book, "reversal", ref, entry)

    def bottle(self, ref: str, receipt: Id | None, **more: Any) -> Id:
        """Label a container, or say something new of it."""
        return add(self.book, "container", ref, Container(
            product=self.product, receipt=receipt, **more
        ))  # fmt: skip

    def tables(self, report: str, which: str | None = None, today: date = TODAY) -> list[Table]:
        """Build a report, and hold that it fits a terminal."""
        with self.book.reading() as conn:
            found: list[Table] = getattr(stock, report)(conn, which, today)
        for table in found:
            shown = to_terminal(table, WIDTH).splitlines()
            assert max(map(len, shown)) <= WIDTH
        return found


def column(table: Table, key: str) -> list[Any]:
    place = [c.key for c in table.columns].index(key)
    return [row[place] for row in table.rows]


def facts(table: Table) -> dict[str, Any]:
    """Give a table of fields and their values."""
    return {str(field): value for field, value in table.rows}


def numbers(table: Table, key: str) -> list[str]:
    return [f"{cell:f}" for cell in column(table, key)]


def a_month(book: Book) -> Stockroom:
    """Post one event of every kind, valued by moving average."""
    room = Stockroom(book)
    first = room.receive("RC-1", 1, "1000", "80.00", freight=usd("4.00"), batch_number="B77")
    one = room.use("L-1", 4, "100", receipt=first, panel="bonnet")
    room.use("L-2", 5, "50", room.shop.consigned)
    room.use("L-3", 6, "10", use=Use.WASTED)
    room.freight("LF-1", first, 10, "5.00")
    room.count("N-1", 11, "800", "spilled")
    second = room.receive("RC-2", 2, "500", "40.00")
    room.undo("SX-1", second, 20)
    room.count("N-2", 21, "820", "wrong tare")
    room.take_back("V-1", one, 22)
    return room
