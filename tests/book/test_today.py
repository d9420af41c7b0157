"""The day's list as a book gives it: what was posted, ordered, answered, decided and used up."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, time, timedelta
from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING, Any

import pytest

from recondition.amounts import Quantity
from recondition.book import marking
from recondition.book.context import NotThere
from recondition.book.posting import Status
from recondition.book.today import today_of
from recondition.condition.panels import Panel
from recondition.fields import Id, Words
from recondition.ledger.approvals import Answer, Approval, ChangeRequest, How
from recondition.ledger.lines import Reversal
from recondition.ledger.orders import Order, Ordered
from recondition.ledger.people import Rate
from recondition.materials.products import Product
from recondition.materials.receiving import Container, Receipt
from recondition.worth.estimates import (
    Basis,
    Candidate,
    CandidateState,
    ThreeAmounts,
    ThreeNumbers,
)
from recondition.worth.today import Todo
from recondition.worth.track import Decision
from tests.book.make import DAY, Shop, add, labour, one, shop, usd

if TYPE_CHECKING:
    from recondition.book.engine import Book

MORNING = datetime(2031, 3, 4, 9, tzinfo=UTC)
HOURS = ThreeNumbers(Decimal(1), Decimal(2), Decimal(3))
CASH = ThreeAmounts(usd("1"), usd("2"), usd("3"))


def candidate(vehicle: Id, name: str, **more: Any) -> Candidate:
    return Candidate(vehicle=vehicle, name=Words(name), hours=HOURS, cash=CASH, **more)


def listed(book: Book, stock: str = "0007", now: datetime = MORNING) -> dict[str, Todo]:
    with book.reading() as conn:
        return {todo.ref: todo for todo in today_of(conn, stock, now).todos}


def why(book: Book, ref: str, stock: str = "0007", now: datetime = MORNING) -> list[str]:
    return [each.words for each in listed(book, stock, now)[ref].waits]


def test_hours_count_until_they_are_taken_back(book: Book) -> None:
    made = shop(book)
    item = add(book, "candidate", "C-1", candidate(made.own, "clean", findings=made.own_findings))
    line = add(book, "labour", "L-1", labour(made.own, made.person, "1.5", candidate=item))
    (todo,) = listed(book).values()
    assert (todo.worked_h, todo.findings) == (Fraction(3, 2), made.own_findings)
    back = Reversal(vehicle=made.own, reverses=line, work_date=DAY, why=Words("wrong car"))
    add(book, "reversal", "V-1", back)
    assert listed(book)["C-1"].worked_h == 0


def test_a_cure_counts_from_the_end_that_is_on_record(book: Book) -> None:
    made = shop(book)
    first = candidate(made.own, "stain", cure_hours=Decimal(12))
    item = add(book, "candidate", "C-1", first)
    add(book, "candidate", "C-2", candidate(made.own, "fit", requires=(item,)))
    stated = labour(
        made.own, made.person, "1", candidate=item,
        started_at="2031-03-04T07:00+00:00", ended_at="2031-03-04T08:00+00:00",
    )  # fmt: skip
    line = add(book, "labour", "L-1", stated)
    assert why(book, "C-2") == ["needs C-1 (stain) first"]
    marking.mark(book, "C-1", CandidateState.DONE, author_ref="HK")
    assert why(book, "C-2") == ["the cure of C-1 (stain) runs until 20:00"]
    back = Reversal(vehicle=made.own, reverses=line, work_date=DAY, why=Words("other day"))
    add(book, "reversal", "V-1", back)
    # What is recorded on a later day was over at the end of its own.
    yesterday = datetime.now(UTC).date() - timedelta(days=1)
    add(book, "rate", "R-9", Rate(person=made.person, from_date=yesterday, cost_rate=usd("30")))
    later = replace(labour(made.own, made.person, "1", candidate=item), work_date=yesterday)
    add(book, "labour", "L-2", later)
    midnight = datetime.combine(yesterday + timedelta(days=1), time(), UTC)
    assert why(book, "C-2", now=midnight) == ["the cure of C-1 (stain) runs until 12:00"]
    assert why(book, "C-2", now=midnight + timedelta(hours=12)) == []


def test_a_decision_says_what_is_listed(book: Book) -> None:
    made = shop(book)
    chosen = add(book, "candidate", "C-1", candidate(made.own, "clean"))
    add(book, "candidate", "C-2", candidate(made.own, "wax"))
    with book.reading() as conn:
        assert today_of(conn, "0007", MORNING).decision is None
    assert list(listed(book)) == ["C-1", "C-2"]
    plan = Decision(
        vehicle=made.own, decided_on=DAY, chosen=(chosen,), price=CASH, basis=Basis.HAMMER,
        cost=CASH, net=CASH, proven=True, inputs="{}", versions="none",
    )  # fmt: skip
    add(book, "decision", "DC-1", replace(plan, chosen=()))
    add(book, "decision", "DC-2", plan)
    with book.reading() as conn:
        found = today_of(conn, "0007", MORNING)
    assert [todo.ref for todo in found.todos] == ["C-1"]
    assert found.decision is not None
    assert (found.decision.ref, found.others) == ("DC-2", ("C-2",))


def test_orders_panels_and_products_that_keep_work_waiting(book: Book) -> None:
    made = shop(book)
    product = add(book, "product", "PR-1", Product(
        name="Cut 3", material_type="compound", unit="ml", shelf_life_open=Quantity.of("9", "day"),
    ))  # fmt: skip
    item = add(
        book, "candidate", "C-1", candidate(made.own, "fit", products=(product,), panels=("roof",))
    )
    assert why(book, "C-1") == ["nothing of Cut 3 is in stock on record"]
    receipt = Receipt(
        product=product, received_on=DAY, quantity=Quantity.of("500", "ml"), price=usd("9")
    )
    came = add(book, "receipt", "R-1", receipt)
    assert why(book, "C-1") == []
    opened = Container(product=product, receipt=came, opened_on=DAY)
    add(book, "container", "K-1", opened)
    late = MORNING + timedelta(days=12)
    assert why(book, "C-1", now=late) == ["Cut 3 is past its life: K-1 3 days past"]
    ordered = Order(
        vehicle=made.own, what=Ordered.PART, name=Words("decal"), candidate=item,
        quantity=Quantity.of("1", "piece"),
    )  # fmt: skip
    add(book, "order", "OR-1", ordered)
    add(book, "panel", "P-1", Panel(vehicle=made.own, panel="roof", no_touch=True))
    assert why(book, "C-1") == ["not to be touched: roof", "decal (OR-1) is not ordered yet"]


def approval(made: Shop, item: Id, answer: Answer = Answer.APPROVED) -> Approval:
    with_owner = {"vehicle": made.consigned, "answered_on": DAY, "how": How.MESSAGE}
    return Approval(candidates=(item,), amount=usd("9"), answer=answer, by=made.person,
                    **with_owner)  # fmt: skip


def test_an_owner_who_was_asked_has_to_answer(book: Book) -> None:
    made = shop(book)
    first = add(book, "candidate", "C-1", candidate(made.consigned, "clean"))
    second = add(book, "candidate", "C-2", candidate(made.consigned, "wax"))
    add(book, "candidate", "C-3", candidate(made.consigned, "glass"))
    assert why(book, "C-1", "0008") == []
    asked = ChangeRequest(
        vehicle=made.consigned, asked_on=DAY, candidates=(second,), amount=usd("9"),
        words=Words("more swirls than thought"),
    )  # fmt: skip
    add(book, "change request", "CR-1", asked)
    said = ["waits for the owner's answer: asked on 2031-03-04 (CR-1)"]
    assert (why(book, "C-1", "0008"), why(book, "C-2", "0008")) == ([], said)
    add(book, "approval", "A-1", approval(made, first))
    assert why(book, "C-1", "0008") == []
    assert why(book, "C-3", "0008") == ["the owner has not approved it"]
    add(book, "approval", "A-2", approval(made, second, Answer.DECLINED))
    assert why(book, "C-2", "0008") == ["the owner declined it"]


def test_work_is_marked_and_nothing_else_of_it_changes(book: Book) -> None:
    made = shop(book)
    before = candidate(made.own, "clean", findings=made.own_findings)
    add(book, "candidate", "C-1", before)
    first = marking.mark(book, "C-1", CandidateState.STARTED, author_ref="HK", key="k-1")
    assert first.status is Status.VERSION
    again = marking.mark(book, "C-1", CandidateState.STARTED, author_ref="HK", key="k-1")
    assert again.status is Status.SAME
    stored = one(book, "candidate", "C-1")
    assert (stored.version, stored.entry) == (2, replace(before, state=CandidateState.STARTED))
    with pytest.raises(NotThere):
        marking.mark(book, "C-9", CandidateState.DONE, author_ref="HK")


def test_a_car_that_is_not_there(book: Book) -> None:
    shop(book)
    with pytest.raises(NotThere), book.reading() as conn:
        today_of(conn, "0099", MORNING)
