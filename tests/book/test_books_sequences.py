"""Whatever is posted, taken back, sold and closed in a real book, its books tie."""

from __future__ import annotations

from collections import Counter
from datetime import UTC, date, datetime
from itertools import count
from typing import TYPE_CHECKING, Any

import formulas
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from openpyxl import load_workbook

from recondition.accounts.invoices import Way
from recondition.amounts import Quantity
from recondition.book import closing, owed, reading
from recondition.book.check import check
from recondition.book.engine import Book
from recondition.book.reversing import reverse_line
from recondition.book.scope import Scope
from recondition.errors import Refused
from recondition.fields import Id, Words
from recondition.ledger.items import CostItem
from recondition.ledger.lines import Consumable, Labour, Origin, Part, PartState, Purpose
from recondition.ledger.rollup import entered_of
from recondition.materials.products import Product
from recondition.materials.receiving import Receipt
from recondition.reports.books_cars import inventory
from recondition.reports.books_journal import balances as accounts
from recondition.reports.books_view import view_of
from recondition.reports.workbook import Wanted, write_books
from tests.book import make
from tests.book.make import Shop, shop, usd
from tests.book.make_sales import entries, paid_for, payment, sale, undo
from tests.places import copied_book, opened

if TYPE_CHECKING:
    from pathlib import Path

EVENTS = (
    "buy", "work", "use", "receive", "tear", "reverse", "sell", "undo", "close", "reopen", "bill",
    "pay",
)  # fmt: skip
NUMBER = count(1)


class Sequence:
    """Posts drawn events on a small shop; what the book refuses is left out and counted."""

    def __init__(self, book: Book) -> None:
        """Start the shop with one product on the shelf."""
        self.book = book
        self.made: Shop = shop(book)
        mix = Product(name="Mixed", material_type="supplies", unit="ml")
        self.product = make.add(book, "product", "PR-1", mix)
        self.lines: list[str] = []
        self.sales: list[tuple[Id, Id]] = []
        self.closed: dict[str, list[Any]] = {}
        self.told: Counter[str] = Counter()

    def post(self, event: str, month: int, cents: int, *, own: bool) -> None:
        """Post one event in a month; ``cents`` is what it is about."""
        day, car = date(2031, month, 1 + cents % 28), self.made.own if own else self.made.consigned
        ref = f"{next(NUMBER)}"
        try:
            getattr(self, f"_{event}")(ref, day, car, cents)
            self.told[event] += 1
        except Refused:
            self.told["refused"] += 1

    def _add(self, kind: str, ref: str, entry: Any) -> Id:
        made = make.add(self.book, kind, ref, entry)
        if kind in ("charge", "labour", "consumable", "part"):
            self.lines.append(ref)
        return made

    def _buy(self, ref: str, day: date, car: Id, cents: int) -> None:
        price = f"{cents / 100:.2f}"
        self._add("charge", ref, paid_for(car, CostItem.SEA_FREIGHT, price, day))

    def _work(self, ref: str, day: date, car: Id, cents: int) -> None:
        hours = Quantity.of(str(1 + cents % 4), "h")
        line = make.line(car, work_date=day)
        self._add("labour", ref, Labour(person=self.made.person, quantity=hours, **line))

    def _use(self, ref: str, day: date, car: Id, cents: int) -> None:
        amount = Quantity.of(str(1 + cents % 300), "ml")
        line = make.line(car, work_date=day)
        self._add("consumable", ref, Consumable(product=self.product, quantity=amount, **line))

    def _tear(self, ref: str, day: date, car: Id, cents: int) -> None:
        """Spoil a part; an owner is billed for it where that is said."""
        asked = usd("3.00") if car == self.made.consigned and cents % 2 else None
        torn = Part(price=usd(f"{cents / 100:.2f}"), part_name=Words("stripe"),
                    quantity=Quantity.of(1, "piece"), origin=Origin.REPRODUCTION, billed=asked,
                    part_state=PartState.SPOILED,
                    **make.line(car, work_date=day, purpose=Purpose.SPOILAGE))  # fmt: skip
        self._add("part", ref, torn)

    def _receive(self, ref: str, day: date, _car: Id, cents: int) -> None:
        came = Receipt(product=self.product, received_on=day, price=usd(f"{cents / 100:.2f}"),
                       quantity=Quantity.of(str(1 + cents % 700), "ml"))  # fmt: skip
        self._add("receipt", ref, came)

    def _reverse(self, _ref: str, day: date, _car: Id, cents: int) -> None:
        if self.lines:
            which = self.lines[cents % len(self.lines)]
            reverse_line(self.book, which, "wrong", author_ref="HK", day=str(day), period=None)

    def _sell(self, ref: str, day: date, car: Id, cents: int) -> None:
        made = self._add("sale", ref, sale(car, f"{cents / 100:.2f}", day, fees=usd("0.50")))
        self.sales.append((made, car))

    def _undo(self, ref: str, day: date, _car: Id, cents: int) -> None:
        if self.sales:
            sold, car = self.sales[cents % len(self.sales)]
            undo(self.book, ref, sold, day, car)

    def _close(self, _ref: str, day: date, _car: Id, _cents: int) -> None:
        period = str(day)[:7]
        closing.close(self.book, period, "month end", author_ref="HK")
        self.closed[period] = [each for each in entries(self.book) if each.period == period]

    def _reopen(self, _ref: str, day: date, _car: Id, _cents: int) -> None:
        closing.reopen(self.book, str(day)[:7], "a late bill", author_ref="HK")
        self.closed.pop(str(day)[:7])

    def _bill(self, ref: str, day: date, _car: Id, _cents: int) -> None:
        with self.book.reading() as conn:
            entry = owed.unbilled(conn, "0008", day)
        self._add("owner invoice", ref, entry)

    def _pay(self, ref: str, day: date, _car: Id, cents: int) -> None:
        if self.sales:
            sold, _ = self.sales[cents % len(self.sales)]
            self._add("payment", ref, payment("0.01", day, way=Way.RECEIVED, sale=sold))

    def check(self) -> None:
        """Hold everything that must be so."""
        found = entries(self.book)
        assert all(sum(leg.amount for leg in entry.legs) == 0 for entry in found)
        for period, kept in self.closed.items():
            assert [entry for entry in found if entry.period == period] == kept
        with self.book.reading() as conn:
            cars, owners, stock = inventory(conn, (), None)
            (trial,) = accounts(conn, None)
            lines = {line.id: line for line in reading.lines(conn, self.made.consigned)}
            waiting = sum(
                line.priced.cost.minor
                for line in lines.values()
                if line.priced
                and line.priced.billed
                and entered_of(line, lines)[1].purpose is not Purpose.SPOILAGE
            )
            billed = sum(amount for (_, role), amount in view_of(conn).balances.items()
                         if role == "cost of service sales")  # fmt: skip
        assert all(str(row[-1]) == "0.00" for row in cars.rows)
        assert str(stock.rows[-1][1]) == "0.00"
        assert trial.total is not None
        assert str(trial.total[-1]) == "0.00"
        assert owners.total is not None
        assert owners.total[-1] == make.Money(waiting - billed, "USD")
        assert check(self.book).damages == []


EVENT = st.tuples(st.sampled_from(EVENTS), st.integers(1, 4), st.integers(1, 99_999), st.booleans())
DRAWN = given(events=st.lists(EVENT, min_size=4, max_size=14))
SLOW = {"deadline": None, "suppress_health_check": [HealthCheck.function_scoped_fixture]}
Events = list[tuple[str, int, int, bool]]


def _tie(events: Events, empty_file: Path, tmp_path: Path) -> None:
    place = tmp_path / f"{next(NUMBER)}.sqlite"
    sequence = Sequence(opened(copied_book(empty_file, place)))
    for event, month, cents, own in events:
        sequence.post(event, month, cents, own=own)
    sequence.check()
    sequence.book.close()


@settings(max_examples=6, **SLOW)
@DRAWN
def test_the_books_tie_whatever_is_posted(events: Events, empty_file: Path, tmp_path: Path) -> None:
    _tie(events, empty_file, tmp_path)


@pytest.mark.long
@settings(max_examples=40, **SLOW)
@DRAWN
def test_the_books_tie_at_length(events: Events, empty_file: Path, tmp_path: Path) -> None:
    _tie(events, empty_file, tmp_path)


def _recalculate(book: Book, path: Path) -> None:
    """Hold every control total of the workbook against an independent formula engine."""
    with book.reading() as conn:
        made_at = datetime(2031, 4, 30, 12, 30, tzinfo=UTC)
        write_books(path, conn, Wanted(scope=Scope(), stock=None, made_at=made_at))
    solved = formulas.ExcelModel().loads(str(path)).finish().calculate()
    checked = 0
    for name in ("vehicles", "stock", "notes"):
        sheet = load_workbook(path)[name]
        for row in sheet.iter_rows(min_row=2):
            for cell in row:
                if cell.data_type == "f" and "difference" in str(sheet.cell(1, cell.column).value):
                    found = solved[f"'[books.xlsx]{name.upper()}'!{cell.coordinate}"]
                    assert found.value[0, 0] == 0, (name, cell.coordinate)
                    checked += 1
    assert checked > 30


@pytest.mark.long
@pytest.mark.filterwarnings("ignore")
def test_a_long_year_ties_too(empty_file: Path, tmp_path: Path) -> None:
    """Every kind of event once or more, in an order that was once drawn."""
    sequence = Sequence(opened(copied_book(empty_file, tmp_path / "long.sqlite")))
    for number in range(60):
        event = EVENTS[(number * 7) % len(EVENTS)]
        month = 1 + number // 15 if event != "close" else max(number // 15, 1)
        sequence.post(event, month, 1 + number * 977 % 9_000, own=number % 3 != 0)
    sequence.check()
    _recalculate(sequence.book, tmp_path / "books.xlsx")
    posted = {"buy", "work", "use", "receive", "reverse", "sell", "bill", "close"}
    assert posted <= set(sequence.told)
    sequence.book.close()
