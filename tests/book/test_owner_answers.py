"""An owner's answers, limit and invoices in a real book, and orders that cannot be."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from recondition.amounts import Money, Quantity
from recondition.book import owed, reading
from recondition.book.admission_owner import (
    BilledTwice,
    InvoiceDiffers,
    NobodyToAsk,
    NotABilledLine,
    WorkOfAnotherVehicle,
)
from recondition.fields import Id, Words
from recondition.intake import owners
from recondition.ledger.approvals import Approval, How, OwnerInvoice
from recondition.ledger.fitting import FitBeforeReceipt, OrderOutOfOrder
from recondition.ledger.lines import Origin, Part, Reversal
from recondition.ledger.orders import Order, Ordered
from recondition.ledger.people import Setting
from recondition.worth.estimates import Candidate, ThreeAmounts, ThreeNumbers
from recondition.worth.owner import LimitPassed, NotApproved
from tests.book.make import DAY, Shop, add, charge, labour, line, links, one, refused, shop, usd

if TYPE_CHECKING:
    from recondition.book.engine import Book


def job(book: Book, limit: str = "500") -> tuple[Shop, Id, Id]:
    """Start a shop with two pieces of work on the consigned vehicle, of which one is approved."""
    made = shop(book)

    work = Candidate(
        vehicle=made.consigned, name=Words("polish"),
        cash=ThreeAmounts(*(usd(each) for each in ("10", "20", "30"))),
        hours=ThreeNumbers(*(Decimal(each) for each in (1, 2, 3))),
    )  # fmt: skip
    polish, dye = (add(book, "candidate", ref, work) for ref in ("C-1", "C-2"))
    add(book, "approval", "AP-1", approval(made, polish, limit=usd(limit)))
    return made, polish, dye


def approval(made: Shop, *work: Id, **more: Any) -> Approval:
    fields: dict[str, Any] = {"vehicle": made.consigned, "amount": usd("400")} | more
    return Approval(
        answered_on=DAY, candidates=work, how=How.SIGNATURE, by=made.person, **fields
    )  # fmt: skip


def test_an_approval_is_of_an_owners_vehicle_and_of_its_own_work(book: Book) -> None:
    made, polish, _ = job(book)
    refused(book, NobodyToAsk, "approval", approval(made, polish, vehicle=made.own))
    own = replace(one(book, "candidate", "C-1").entry, vehicle=made.own)
    other = add(book, "candidate", "C-3", own)
    refused(book, WorkOfAnotherVehicle, "approval", approval(made, polish, other))


def test_a_line_stops_before_it_passes_the_limit(book: Book) -> None:
    made, polish, dye = job(book)
    add(book, "labour", "L-1", labour(made.consigned, made.person, "2", candidate=polish))
    paint = charge(made.consigned, "310.01", candidate=polish)
    said = refused(book, LimitPassed, "charge", paint)
    assert "500.00 would be passed by 0.01" in said.what
    add(book, "charge", "X-2", replace(paint, price=usd("310")))
    add(book, "charge", "X-3", replace(paint, billed=usd("0")))
    refused(book, NotApproved, "charge", charge(made.consigned, "1", candidate=dye))
    add(book, "approval", "AP-2", approval(made, dye, limit=usd("900")))
    add(book, "charge", "X-4", charge(made.consigned, "1", candidate=dye))
    with book.reading() as conn:
        found = owed.running_of(conn, made.consigned)
    assert (found.limit, found.billed) == (usd("900"), usd("501"))


def test_a_line_from_an_order_of_unapproved_work_is_not_billed(book: Book) -> None:
    made, _, dye = job(book)
    order = Order(
        vehicle=made.consigned, what=Ordered.SUBLET, name=Words("leather"), quoted=usd("80"),
        quantity=Quantity.of(1, "piece"), candidate=dye, ordered_on=DAY, received_on=DAY,
    )  # fmt: skip
    placed = add(book, "order", "OR-1", order)
    said = refused(book, NotApproved, "charge", charge(made.consigned, "80", order=placed))
    assert "C-2" in said.what


def test_the_minimum_charge_follows_what_is_billed(book: Book) -> None:
    made, polish, _ = job(book)
    add(book, "setting", "minimum charge", Setting(value="250"))

    def billed() -> tuple[str, Money]:
        said = owners.minimum(book, "0008", author_ref="HK")
        with book.reading() as conn:
            return said, owed.running_of(conn, made.consigned).billed

    add(book, "labour", "L-1", labour(made.consigned, made.person, "2", candidate=polish))  # 190
    assert billed() == ("charge X-001: 60.00 billed, up to the minimum charge", usd("250"))
    assert billed() == ("250.00 is billed; the minimum charge is 250.00.", usd("250"))
    add(book, "charge", "L-2", charge(made.consigned, "35", candidate=polish))  # 225
    said, now = billed()
    assert now == usd("250")
    assert said.splitlines() == [
        "reversal X-001-reversed: charge X-001 is taken back",
        "charge X-002: 25.00 billed, up to the minimum charge",
    ]
    add(book, "charge", "L-3", charge(made.consigned, "40", candidate=polish))  # 265
    assert billed() == ("reversal X-002-reversed: charge X-002 is taken back", usd("265"))
    assert billed() == ("265.00 is billed; the minimum charge is 250.00.", usd("265"))


def test_an_order_stops_before_it_passes_the_limit(book: Book) -> None:
    made, polish, _ = job(book, "600")
    order = Order(
        vehicle=made.consigned, what=Ordered.SUBLET, name=Words("bumpers"), quoted=usd("700"),
        quantity=Quantity.of(1, "piece"), candidate=polish,
    )  # fmt: skip
    add(book, "order", "OR-1", order)  # a quote commits nobody
    refused(book, LimitPassed, "order", replace(order, ordered_on=DAY), ref="OR-1")
    add(book, "order", "OR-1", replace(order, ordered_on=DAY, quoted=usd("500")))
    done = replace(order, ordered_on=DAY, received_on=DAY, quoted=usd("500"))
    add(book, "charge", "X-1", charge(made.consigned, "500", candidate=polish,
                                      order=Id(one(book, "order", "OR-1").id)))  # fmt: skip
    add(book, "order", "OR-1", done)


def test_a_line_is_billed_once_and_the_invoice_adds_up(book: Book) -> None:
    made, polish, _ = job(book)
    done = add(book, "labour", "L-1", labour(made.consigned, made.person, "2", candidate=polish))
    own = add(book, "labour", "L-2", labour(made.own, made.person, "1"))
    invoice = OwnerInvoice(
        vehicle=made.consigned, issued_on=DAY, lines=(done,), total=usd("190")
    )  # fmt: skip
    refused(book, InvoiceDiffers, "owner invoice", replace(invoice, total=usd("189.99")))
    refused(book, NotABilledLine, "owner invoice", replace(invoice, lines=(own,)))
    with book.reading() as conn:
        assert owed.unbilled(conn, "0008", DAY) == invoice
    add(book, "owner invoice", "IV-1", invoice)
    refused(book, BilledTwice, "owner invoice", invoice, ref="IV-2")
    add(book, "reversal", "V-1", Reversal(vehicle=made.consigned, reverses=done, work_date=DAY,
                                          why=Words("wrong rate")))  # fmt: skip
    with book.reading() as conn:
        credit = owed.unbilled(conn, "0008", DAY)
        assert (credit.total, len(credit.lines)) == (usd("-190"), 1)
        assert reading.all_refs(conn, "owner invoice") == ["IV-1"]


def test_a_part_is_fitted_after_its_order_came(book: Book) -> None:
    made = shop(book)
    order = Order(
        vehicle=made.own, what=Ordered.PART, name=Words("stripe"), ordered_on=DAY,
        quantity=Quantity.of(1, "piece"),
    )  # fmt: skip
    ordered = add(book, "order", "OR-1", order)
    entry = Part(
        quantity=Quantity.of(1, "piece"), price=usd("107"), origin=Origin.REPRODUCTION,
        part_name=Words("stripe"), order=ordered,
        **line(made.own, links=links(made.own_findings[0])),
    )  # fmt: skip
    refused(book, FitBeforeReceipt, "part", entry)
    early = replace(order, received_on=date(2031, 3, 3))
    refused(book, OrderOutOfOrder, "order", early, ref="OR-1")
    add(book, "order", "OR-1", replace(order, received_on=DAY))
    add(book, "part", "P-1", entry)
