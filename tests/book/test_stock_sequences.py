"""No sequence of stock events breaks conservation of quantity or cost, in a real SQLite book."""

from __future__ import annotations

import shutil
import tempfile
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from recondition.book import reading
from recondition.book.admission_stock import (
    FreightStands,
    ReversedReceipt,
    StockAlreadyReversed,
)
from recondition.book.check import check
from recondition.book.engine import Book
from recondition.fields import Id, Words
from recondition.ledger.days import BeforeItsCause
from recondition.ledger.lines import Consumable, Count, Purpose, Reversal, Unlinked, Use
from recondition.ledger.people import Setting
from recondition.ledger.rules import AlreadyReversed
from recondition.materials.balance import balance
from recondition.materials.products import Product
from recondition.materials.receiving import LateFreight, StockReversal, SupplierReturn
from recondition.materials.valuation import NotInStock
from tests.book.make import DAY, Shop, add, line, links, shop, usd
from tests.book.make_stock import ml, received
from tests.places import copied_book, dropped, opened, passing

if TYPE_CHECKING:
    from collections.abc import Iterator

METHODS = ("moving average", "first in first out")
EVENTS = ("receive", "use", "waste", "count", "freight", "return", "take back", "take back stock")
STEPS = st.lists(
    st.tuples(st.sampled_from(EVENTS), st.integers(0, 1), st.integers(1, 90), st.integers(0, 9)),
    min_size=3,
    max_size=14,
)


@dataclass
class Played:
    """A book while events are played on it."""

    book: Book
    made: Shop
    products: tuple[Id, Id]
    receipts: dict[int, list[Id]] = field(default_factory=lambda: {0: [], 1: []})
    lines: list[tuple[Id, Id | None]] = field(default_factory=list)
    stock: list[tuple[Id, Id]] = field(default_factory=list)
    number: int = 0

    def play(self, event: str, which: int, amount: int, pick: int) -> None:
        """Post one event; a refusal leaves everything as it was."""
        product, self.number = self.products[which], self.number + 1
        receipts = self.receipts[which]
        chosen = receipts[pick % len(receipts)] if receipts else None
        ref = f"N-{self.number}"
        if event == "receive":
            day = DAY - timedelta(days=pick)
            entry: Any = received(product, str(amount), f"{amount * 7 % 50}.{pick}3",
                                  received_on=day)  # fmt: skip
            self.receipts[which].append(self._stock("receipt", ref, entry, product))
        elif event in ("use", "waste"):
            vehicle, found = self._vehicle(pick)
            entry = Consumable(
                product=product, quantity=ml(f"{amount}.5"),
                use=Use.WASTED if event == "waste" else None, **line(vehicle, links=links(found)),
            )  # fmt: skip
            self.lines.append((add(self.book, "consumable", ref, entry), vehicle))
        elif event == "count":
            shelf = line(None, unlinked=Unlinked.OVERHEAD) | {"purpose": Purpose.OVERHEAD}
            entry = Count(product=product, counted=ml(str(amount)), **shelf)
            self.lines.append((add(self.book, "count", ref, entry), None))
        elif event == "freight" and chosen:
            entry = LateFreight(product=product, receipt=chosen, billed_on=DAY,
                                price=usd(f"{amount}.07"), words=Words("late"))  # fmt: skip
            self._stock("late freight", ref, entry, product)
        elif event == "return" and chosen:
            entry = SupplierReturn(product=product, receipt=chosen, returned_on=DAY,
                                   quantity=ml(str(amount)), credit=usd(f"{pick}.11"),
                                   words=Words("dented"))  # fmt: skip
            self._stock("supplier return", ref, entry, product)
        else:
            self._take_back(event, ref, pick)

    def _take_back(self, event: str, ref: str, pick: int) -> None:
        if event == "take back" and self.lines:
            reverses, vehicle = self.lines[pick % len(self.lines)]
            entry: Any = Reversal(vehicle=vehicle, reverses=reverses, work_date=DAY,
                                  why=Words("wrong"))  # fmt: skip
            add(self.book, "reversal", ref, entry)
        elif event == "take back stock" and self.stock:
            reverses, product = self.stock[pick % len(self.stock)]
            entry = StockReversal(product=product, reverses=reverses, reversed_on=DAY,
                                  why=Words("wrong"))  # fmt: skip
            add(self.book, "stock reversal", ref, entry)

    def _stock(self, kind: str, ref: str, entry: Any, product: Id) -> Id:
        made = add(self.book, kind, ref, entry)
        self.stock.append((made, product))
        return made

    def _vehicle(self, pick: int) -> tuple[Id, Id]:
        if pick % 2:
            return self.made.own, self.made.own_findings[0]
        return self.made.consigned, self.made.consigned_finding


@pytest.fixture(scope="module")
def started(empty_file: Path) -> Iterator[dict[str, tuple[Path, Shop, tuple[Id, Id]]]]:
    """Make one shop for each way to value stock; each example plays on a copy."""
    folder = Path(tempfile.mkdtemp())
    found = {}
    for method in METHODS:
        path = folder / f"{method}.sqlite"
        book = opened(copied_book(empty_file, path))
        made = shop(book)
        add(book, "setting", "stock value", Setting(value=method))
        product = Product(name="Cut 3", material_type="compound", unit="ml")
        both = (add(book, "product", "PR-1", product), add(book, "product", "PR-2", product))
        book.close()
        found[method] = (path, made, both)
    yield found
    dropped(folder)
    shutil.rmtree(folder)


def costs(book: Book) -> dict[str, int]:
    """Give what each posted line cost."""
    with book.reading() as conn:
        return {item.id: item.priced.cost.minor for item in reading.lines(conn) if item.priced}


def hold(played: Played) -> None:
    """Hold the identity of each product, and that lines cost what left stock."""
    with played.book.reading() as conn:
        moves = [item.entry for item in reading.stored(conn, "movement")]
    flows = 0
    for product in played.products:
        own = [move for move in moves if move.product == product]
        summed = balance(own, "USD")
        if own:
            assert (summed.on_hand, summed.value) == (own[-1].on_hand, own[-1].value)
            assert min(move.on_hand for move in own) >= 0
            assert min(move.value.minor for move in own) >= 0
        out = ("issued", "wasted", "count loss")
        flows += sum(cost.minor for flow, cost in summed.cost.items() if flow.value in out)
        flows -= sum(c.minor for flow, c in summed.cost.items() if flow.value == "count gain")
    assert sum(costs(played.book).values()) == flows


@pytest.mark.parametrize("method", METHODS)
@settings(
    max_examples=5, deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)  # fmt: skip
@given(steps=STEPS)
def test_no_sequence_breaks_conservation(
    method: str,
    steps: list[tuple[str, int, int, int]],
    started: dict[str, tuple[Path, Shop, tuple[Id, Id]]],
) -> None:
    path, made, products = started[method]
    with passing() as folder:
        copy = copied_book(path, folder / "book.sqlite")
        played = Played(opened(copy), made, products)
        before: dict[str, int] = {}
        played.play("receive", 0, 90, 3)
        for step in steps:
            with suppress(NotInStock, FreightStands, ReversedReceipt, StockAlreadyReversed,
                          AlreadyReversed, BeforeItsCause):  # fmt: skip
                played.play(*step)
            now = costs(played.book)
            assert before.items() <= now.items()  # what was issued is never priced anew
            before = now
            hold(played)
        assert played.stock
        assert check(played.book).damages == []
        played.book.close()
