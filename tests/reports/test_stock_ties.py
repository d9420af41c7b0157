"""Movements and the table of where they went tie, whatever is posted.

The products, vehicles, people and firms are invented.
"""

from __future__ import annotations

from decimal import Decimal
from itertools import count
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from recondition.book.engine import Book
from recondition.fields import Id
from recondition.ledger.lines import Use
from recondition.materials.products import Product
from recondition.materials.stock import Method
from tests.book.make import add, usd
from tests.reports.stockroom import Stockroom, column


class Sequence:
    """Posts drawn events on one product, leaving out those its stock does not allow."""

    def __init__(self, room: Stockroom, number: int) -> None:
        """Start a product of its own."""
        self.room = room
        self.number = number
        entry = Product(name=f"Polish {number}", material_type="polish", unit="ml")
        room.product = add(room.book, "product", self.ref, entry)
        self.receipts: dict[Id, Decimal] = {}
        self.uses: list[Id] = []
        self.posted = 0

    @property
    def ref(self) -> str:
        """The product's ref."""
        return f"P-{self.number}"

    @property
    def on_hand(self) -> Decimal:
        """What the newest movement left."""
        moved = self.room.tables("moves", self.ref)[0]
        return Decimal(column(moved, "on_hand_ml")[-1]) if moved.rows else Decimal(0)

    def post(self, event: str, hundredths: int, cents: int) -> None:
        """Post one event; ``hundredths`` of a millilitre, or of what is on hand at most."""
        self.posted += 1
        name = f"{self.number}-{self.posted}"
        amount, price = Decimal(hundredths) / 100, f"{Decimal(cents) / 100:.2f}"
        there = self.on_hand
        if event == "receive":
            made = self.room.receive(name, 1 + cents % 28, f"{amount:f}", price)
            self.receipts[made] = amount
        elif event == "count" and amount != there:
            self.room.count(name, 28, f"{amount:f}", "counted")
        elif event in ("use", "waste") and there:
            more: dict[str, Any] = {"use": Use.WASTED} if event == "waste" else {}
            taken = min(amount, there)
            self.uses.append(self.room.use(name, 28, f"{taken:f}", **more))
        elif event == "freight" and self.receipts:
            # Freight on a receipt keeps it from being taken back, so it is forgotten here.
            self.room.freight(name, self.receipts.popitem()[0], 28, price)
        elif event == "return" and self.receipts and there:
            back, _ = self.receipts.popitem()
            self.room.send_back(name, back, 28, f"{min(amount, there):f}", price)
        elif event == "undo" and self.receipts and [*self.receipts.values()][-1] <= there:
            self.room.undo(name, self.receipts.popitem()[0], 28)
        elif event == "take back" and self.uses:
            self.room.take_back(name, self.uses.pop(), 28)


EVENTS = st.lists(
    st.tuples(
        st.sampled_from(
            ["receive", "use", "waste", "count", "freight", "return", "undo", "take back"]
        ),
        st.integers(1, 50_000),
        st.integers(0, 20_000),
    ),
    max_size=7,
)


@pytest.mark.parametrize("method", list(Method))
def test_both_sides_and_every_row_tie_whatever_is_posted(book: Book, method: Method) -> None:
    room = Stockroom(book, method)
    numbers_used = count(1)

    @settings(max_examples=8, deadline=None)
    @given(events=EVENTS)
    def holds(events: list[tuple[str, int, int]]) -> None:
        made = Sequence(room, next(numbers_used))
        made.post("receive", 40_000, 1234)
        for event in events:
            made.post(*event)
        moved, went = room.tables("moves", made.ref)
        left, value = Decimal(0), usd("0")
        for row in moved.rows:
            cells: dict[str, Any] = dict(zip((c.key for c in moved.columns), row, strict=True))
            left += cells["quantity_ml"]
            value += cells["cost"] - (cells["price_difference"] or usd("0"))
            assert (cells["on_hand_ml"], cells["value"]) == (left, value)
        by_words = {row[1]: row[2:] for row in went.rows}
        assert went.total is not None
        assert by_words["all of it"] == went.total[2:]
        assert by_words["on hand"] == (left, value)
        assert went.note.startswith("Both sides agree.")

    holds()
