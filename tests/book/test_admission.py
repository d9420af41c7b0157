"""What is refused because it contradicts itself or the rest of the book."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from recondition.accounts.hours import PaidHours
from recondition.amounts import Quantity
from recondition.book.check import against
from recondition.book.engine import Book
from recondition.book.errors import AnotherBook, LastPerson
from recondition.book.people import erase_person
from recondition.book.posting import Poster
from recondition.book.reading import stored
from recondition.condition.findings import Ended, Outcome, ReasonNeeded
from recondition.fields import Words
from recondition.ledger.chain import Head
from recondition.ledger.days import BeforeItsCause, ImplausibleDay
from recondition.ledger.lines import Consumable, Reversal
from recondition.ledger.people import Person, Rate
from recondition.ledger.rules import SecondFromOneDay
from recondition.materials.conversion import DensityNeeded, OtherUnit
from recondition.materials.products import Product
from tests.book.make import ACTING, DAY, add, charge, draft, finding, line, refused, shop, usd


def test_a_person_has_one_rate_from_a_day(book: Book) -> None:
    made = shop(book)
    rates = [Rate(person=made.person, from_date=DAY, cost_rate=usd(c)) for c in ("40", "41")]
    add(book, "rate", "R-8", rates[0])
    assert "R-8" in str(refused(book, SecondFromOneDay, "rate", rates[1], ref="R-9"))
    with book.writing() as conn:
        later = Rate(person=made.person, from_date=date(2031, 9, 1), cost_rate=usd("42"))
        both = [draft("rate", ref, later) for ref in ("R-10", "R-11")]
        statuses = [r.status.value for r in Poster(book, conn, ACTING).post_many(both)]
    assert statuses == ["new", "refused"]
    add(book, "rate", "R-8", rates[1])  # the same ref is a new version, not a second rate


def test_an_amount_is_of_the_kind_that_the_product_is_counted_in(book: Book) -> None:
    made = shop(book)
    soap = add(book, "product", "P-9", Product(name="Soap", material_type="cleaner", unit="ml"))

    def use(amount: str, unit: str) -> Consumable:
        quantity = Quantity.of(amount, unit)
        return Consumable(**line(made.own), product=soap, quantity=quantity,
                          price=usd("10.00"), price_per=quantity)  # fmt: skip

    assert "ml" in str(refused(book, OtherUnit, "consumable", use("5", "m"), ref="U-1"))
    assert "density" in str(refused(book, DensityNeeded, "consumable", use("5", "kg"), ref="U-1"))
    add(book, "consumable", "U-1", use("0.5", "l"))


@pytest.mark.parametrize("day", [date(1, 1, 1), date(1879, 12, 31), date(2200, 1, 1)])
def test_a_day_far_outside_the_trade_is_refused(book: Book, day: date) -> None:
    made = shop(book)
    refused(book, ImplausibleDay, "charge", charge(made.own, work_date=day), ref="X-1")
    refused(book, ImplausibleDay, "charge", charge(made.own, period="9999-12"), ref="X-1")


def test_nothing_ends_before_it_began(book: Book) -> None:
    made = shop(book)
    found = add(book, "finding", "F-9", replace(finding(made.own), found_on=date(2031, 3, 4)))
    ended = Outcome(
        vehicle=made.own, finding=found, ended=Ended.RESOLVED, ended_on=date(2031, 3, 3)
    )
    refused(book, BeforeItsCause, "outcome", ended, ref="O-9")
    paid = add(book, "charge", "X-1", charge(made.own, work_date=date(2031, 3, 4)))
    back = Reversal(vehicle=made.own, reverses=paid, work_date=date(2031, 3, 3), why=Words("wrong"))
    refused(book, BeforeItsCause, "reversal", back, ref="X-1-reversed")


def test_leaving_alone_needs_its_reason(book: Book) -> None:
    made = shop(book)
    found = add(book, "finding", "F-9", replace(finding(made.own), found_on=DAY))
    left = Outcome(vehicle=made.own, finding=found, ended=Ended.LEFT_ALONE, ended_on=DAY)
    refused(book, ReasonNeeded, "outcome", left, ref="O-9")


def test_the_last_person_is_not_erased(book: Book) -> None:
    made = shop(book)
    add(book, "person", "ZZ", Person(name=Words("Zed Zorn"), role="helper"))
    everybody = [p for p in ("ZZ", *_refs(book)) if p != "ZZ"]
    for ref in everybody:
        erase_person(book, ref, author=made.person, ground="asked")
    with pytest.raises(LastPerson):
        erase_person(book, "ZZ", author=made.person, ground="asked")


def _refs(book: Book) -> list[str]:
    from recondition.book.reading import all_refs  # noqa: PLC0415 - only here

    with book.reading() as conn:
        return all_refs(conn, "person")


def test_heads_of_another_book_are_told_apart_from_damage(book: Book) -> None:
    shop(book)
    with pytest.raises(AnotherBook):
        against(book, [Head("shop", 1, "0" * 64), Head("vehicle:ffff", 3, "0" * 64)])


def test_a_person_has_one_number_of_paid_hours_for_a_week(book: Book) -> None:
    made = shop(book)
    week = PaidHours(person=made.person, week=date(2031, 3, 3), hours=Quantity.of("38", "h"))
    add(book, "paid hours", "PH-1", week)
    again = refused(book, SecondFromOneDay, "paid hours", week, ref="PH-2")
    assert "has paid hours from 2031-03-03 already (PH-1)" in str(again)
    add(book, "paid hours", "PH-1", replace(week, hours=Quantity.of("40", "h")))
    add(book, "paid hours", "PH-2", replace(week, week=date(2031, 3, 10)))
    with book.reading() as conn:
        found = [(each.ref, each.entry.hours.to("h")) for each in stored(conn, "paid hours")]
    assert sorted(found) == [("PH-1", 40), ("PH-2", 38)]
