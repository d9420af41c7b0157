"""Rules that rest on other chains, on PostgreSQL, with two writers laid over each other by hand.

The second has looked at the book before the first posts and posts after it: it must be overtaken,
and tried again it must meet the rule.
"""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, Any

import pytest
from sqlalchemy import select

from recondition.accounts.invoices import PaidTooMuch, Way
from recondition.amounts import Quantity
from recondition.book.check import check
from recondition.book.engine import Book
from recondition.book.errors import BookInUse
from recondition.book.posting import Poster
from recondition.book.settings import StockValueFixed
from recondition.book.tables import entity
from recondition.book.timesheet import OverlappingHours
from recondition.fields import Words
from recondition.ledger.approvals import OwnerInvoice
from recondition.ledger.booked import EntryReversal, StillRelied
from recondition.ledger.clocks import Clock, Mark, MoreThanADay, Tick
from recondition.ledger.lines import Consumable, Unlinked
from recondition.ledger.people import Person, Rate, Setting
from recondition.ledger.rules import ClockRunsAlready, KeyReused
from recondition.materials.measuring import Measure, MoreThanMixed
from recondition.materials.measuring import Way as Read
from recondition.materials.products import Product
from recondition.materials.receiving import MixedBatch
from recondition.materials.valuation import NotInStock
from tests.book.make import (
    ACTING,
    DAY,
    Shop,
    add,
    charge,
    counted,
    draft,
    labour,
    line,
    post,
    shop,
    usd,
)
from tests.book.make_sales import payment, sale
from tests.book.make_stock import ml, received

if TYPE_CHECKING:
    from recondition.errors import Refused
    from recondition.fields import Id
    from recondition.ledger.drafts import Draft

Pair = tuple[Book, Book]


def post_late(pair: Pair, one: Draft, other: Draft) -> None:
    """Post as a writer whose view of the book is from before the first one's posting."""
    first, second = pair
    with second.writing() as late:
        late.execute(select(entity.c.ref)).all()
        post(first, one)
        Poster(second, late, ACTING).post(other)


def meet(pair: Pair, one: Draft, other: Draft, refusal: type[Refused]) -> None:
    """Hold that two postings which exclude each other do not both get in at once."""
    first, second = pair
    with pytest.raises(BookInUse):
        post_late(pair, one, other)
    before = counted(first)
    with pytest.raises(refusal):
        post(second, other)
    assert counted(first) == before
    assert check(first).damages == []


def pass_by(pair: Pair, one: Draft, other: Draft) -> None:
    """Hold that two postings do not wait for each other, though neither has ended."""
    first, second = pair
    with first.writing() as mine:
        Poster(first, mine, ACTING).post(one)
        post(second, other)
    assert check(first).damages == []


def wait(pair: Pair, one: Draft, other: Draft) -> None:
    """Hold that a second posting waits for the first, and is told after its wait."""
    first, second = pair
    with first.writing() as mine:
        Poster(first, mine, ACTING).post(one)
        with pytest.raises(BookInUse):
            post(second, other)
    post(second, other)
    assert check(first).damages == []


def worked(made: Shop, vehicle: Id, hours: str, **more: Any) -> Draft:
    return draft("labour", f"L-{vehicle[:6]}", labour(vehicle, made.person, hours, **more))


def used(vehicle: Id, product: Id, amount: str, **more: Any) -> Consumable:
    return Consumable(product=product, quantity=ml(amount), **line(vehicle, **more))


def stocked(book: Book, amount: str = "1000") -> Id:
    polish = Product(name="Paste", material_type="paste", unit="ml", density_g_ml=Decimal(1))
    product = add(book, "product", "PR-1", polish)
    add(book, "receipt", "RC-1", received(product, amount))
    return product


def test_writers_on_different_cars_do_not_wait(pair: Pair) -> None:
    made = shop(pair[0])
    pass_by(pair, draft("charge", "L-1", charge(made.own)),
            draft("charge", "L-2", charge(made.consigned)))  # fmt: skip


def test_writers_on_one_car_wait(pair: Pair) -> None:
    made = shop(pair[0])
    wait(pair, draft("charge", "L-1", charge(made.own)), draft("charge", "L-2", charge(made.own)))


@pytest.mark.long
def test_writers_on_the_stock_of_one_product_wait(pair: Pair) -> None:
    made = shop(pair[0])
    product = stocked(pair[0])
    wait(pair, draft("consumable", "L-1", used(made.own, product, "10")),
         draft("consumable", "L-2", used(made.consigned, product, "10")))  # fmt: skip


@pytest.mark.long
def test_two_cannot_take_the_same_stock(pair: Pair) -> None:
    made = shop(pair[0])
    product = stocked(pair[0])
    meet(pair, draft("consumable", "L-1", used(made.own, product, "600")),
         draft("consumable", "L-2", used(made.consigned, product, "600")), NotInStock)  # fmt: skip


def test_a_day_of_one_person_has_no_more_than_its_hours_on_two_cars(pair: Pair) -> None:
    made = shop(pair[0])
    meet(pair, worked(made, made.own, "14"), worked(made, made.consigned, "14"), MoreThanADay)


@pytest.mark.long
def test_one_person_does_not_work_on_two_cars_at_once(pair: Pair) -> None:
    made = shop(pair[0])
    times = {"started_at": "2031-03-04T08:00:00+00:00", "ended_at": "2031-03-04T10:00:00+00:00"}
    meet(pair, worked(made, made.own, "2", **times), worked(made, made.consigned, "2", **times),
         OverlappingHours)  # fmt: skip


@pytest.mark.long
def test_one_person_has_one_clock_open(pair: Pair) -> None:
    made = shop(pair[0])
    mark = Mark(tick=Tick.START, at="2031-03-04T08:00:00-05:00")
    clocks = [
        draft("clock", f"CK-{number}", Clock(
            vehicle=vehicle, person=made.person, words=Words("polish"), marks=(mark,),
            unlinked=Unlinked.WHOLE_VEHICLE,
        ))
        for number, vehicle in enumerate((made.own, made.consigned))
    ]  # fmt: skip
    meet(pair, *clocks, ClockRunsAlready)


@pytest.mark.long
def test_no_more_is_sprayed_than_was_mixed(pair: Pair) -> None:
    made = shop(pair[0])
    paste = Product(name="Paste", material_type="paste", unit="ml", density_g_ml=Decimal(1))
    product = add(pair[0], "product", "PR-1", paste)
    batch = MixedBatch(product=product, mixed_on=DAY, concentrate=ml("70"), water=ml("700"))
    mix = add(pair[0], "mixed batch", "X-1", batch)
    sprayed = Measure(way=Read.DISPENSED, sprayed=ml("500"))
    drafts = [
        draft("consumable", f"L-{number}", Consumable(
            product=product, mixed=mix, measure=sprayed, price=usd("5"),
            price_per=Quantity.of(1, "l"), **line(vehicle),
        ))
        for number, vehicle in enumerate((made.own, made.consigned))
    ]  # fmt: skip
    meet(pair, *drafts, MoreThanMixed)


@pytest.mark.long
def test_a_sale_is_not_taken_back_while_it_is_paid(pair: Pair) -> None:
    made = shop(pair[0])
    sold = add(pair[0], "sale", "Y-1", sale(made.own, "9000", DAY))
    paid = draft("payment", "PY-1", payment("100", DAY, way=Way.RECEIVED, sale=sold))
    back = EntryReversal(
        vehicle=made.own, reverses=sold, reversed_on=DAY, why=Words("fell through")
    )
    meet(pair, paid, draft("entry reversal", "Y-1-reversed", back), StillRelied)


@pytest.mark.long
def test_an_owners_invoice_is_not_paid_twice(pair: Pair) -> None:
    made = shop(pair[0])
    billed = add(pair[0], "charge", "L-1", charge(made.consigned, billed=usd("80")))
    invoice = OwnerInvoice(
        vehicle=made.consigned, issued_on=DAY, lines=(billed,), total=usd("80.00")
    )
    owed = add(pair[0], "owner invoice", "IV-1", invoice)
    paid = [
        draft("payment", f"PY-{each}", payment("80", DAY, way=Way.RECEIVED, owner_invoice=owed))
        for each in "12"
    ]
    meet(pair, *paid, PaidTooMuch)


def test_stock_is_valued_one_way_from_its_first_receipt(pair: Pair) -> None:
    shop(pair[0])
    paste = Product(name="Paste", material_type="paste", unit="ml")
    product = add(pair[0], "product", "PR-1", paste)
    fifo = draft("setting", "stock value", Setting(value="first in first out"))
    meet(pair, draft("receipt", "RC-1", received(product)), fifo, StockValueFixed)


@pytest.mark.long
def test_one_key_is_used_once(pair: Pair) -> None:
    made = shop(pair[0])
    keyed = [
        draft("charge", ref, charge(vehicle), key="one try")
        for ref, vehicle in (("L-1", made.own), ("L-2", made.consigned))
    ]
    meet(pair, *keyed, KeyReused)


@pytest.mark.long
def test_what_two_people_did_at_one_time_does_not_wait(pair: Pair) -> None:
    made = shop(pair[0])
    other = add(pair[0], "person", "LM", Person(name=Words("Lene Morl"), role="preparer"))
    rate = Rate(
        person=other, from_date=date(2031, 1, 1), cost_rate=usd("40"), charge_out_rate=usd("90")
    )
    add(pair[0], "rate", "R-2", rate)
    pass_by(pair, worked(made, made.own, "2"),
            draft("labour", "L-2", labour(made.consigned, other, "2")))  # fmt: skip
