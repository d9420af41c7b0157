"""An owner's papers: what is billed and nothing else of the shop's. All names are invented."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime
from decimal import Decimal
from typing import TYPE_CHECKING

from recondition.amounts import Quantity
from recondition.book import owed, reading
from recondition.fields import Words
from recondition.ledger.lines import Consumable
from recondition.ledger.orders import Order, Ordered
from recondition.ledger.people import Supplier
from recondition.materials.products import Product
from recondition.reports import owner
from recondition.worth.estimates import Basis, Candidate, ThreeAmounts, ThreeNumbers
from recondition.worth.terms import SaleTerms
from tests.book.make import DAY, Shop, add, charge, labour, line, links, shop, usd

if TYPE_CHECKING:
    from recondition.book.engine import Book

NOW = datetime(2031, 3, 6, 12, tzinfo=UTC)

#: What the owner is never shown: a cost, the cost rate, a firm, a product, a private note.
PRIVATE = ("717.17", "38.75", "77.50", "Zirbel", "Quastenwachs", "haggled", "Hanna Kolb", "612.34")


def a_job(book: Book) -> Shop:
    """Fill a consigned vehicle with work whose every private field carries a marker."""
    made = shop(book)
    firm = add(book, "supplier", "SU-1", Supplier(name=Words("Zirbel Trim")))
    wax = add(book, "product", "PR-1", Product(name="Quastenwachs", material_type="wax", unit="ml"))
    terms = SaleTerms(
        vehicle=made.consigned, basis=Basis.HAMMER, as_is=ThreeAmounts(*(usd("717.17"),) * 3),
        labour_cost_rate=usd("38.75"),
        charge_out_rate=usd("95"),
    )  # fmt: skip
    add(book, "terms", "T-1", terms)
    work = Candidate(
        vehicle=made.consigned, name=Words("polish"), p_success=Decimal("0.5"),
        fail_cash=usd("100"), cash=ThreeAmounts(*(usd("10"),) * 3),
        hours=ThreeNumbers(*(Decimal(2),) * 3),
    )  # fmt: skip
    polish = add(book, "candidate", "C-1", work)
    add(book, "labour", "L-1", labour(made.consigned, made.person, "2", candidate=polish))
    order = Order(
        vehicle=made.consigned, what=Ordered.SUBLET, name=Words("seat"), quoted=usd("612.34"),
        quantity=Quantity.of(1, "piece"), supplier=firm, ordered_on=DAY, received_on=DAY,
        private_note=Words("haggled"),
    )  # fmt: skip
    placed = add(book, "order", "OR-1", order)
    seat = charge(
        made.consigned, "717.17", billed=usd("801"), order=placed, private_note=Words("haggled")
    )
    add(book, "charge", "X-1", seat)
    used = Consumable(
        product=wax, quantity=Quantity.of("35", "ml"), price=usd("717.17"),
        price_per=Quantity.of("35", "ml"), billed=usd("3"),
        **line(made.consigned, links=links(made.consigned_finding)),
    )  # fmt: skip
    add(book, "consumable", "U-1", used)
    return made


def test_an_invoice_shows_what_is_billed_and_nothing_private(book: Book) -> None:
    a_job(book)
    with book.reading() as conn:
        entry = owed.unbilled(conn, "0008", date(2031, 3, 6))
        page = owner.invoice_page(conn, "0008", entry, "IV-1", made_at=NOW)
    assert entry.total == usd("994")  # 190 + 801 + 3
    assert all(shown in page for shown in ("994.00 USD", "190.00", "801.00", "3.00", "2 h"))
    assert [private for private in PRIVATE if private in page] == []


def test_a_quote_shows_ranges_at_the_charge_out_rate_and_nothing_private(book: Book) -> None:
    a_job(book)
    with book.reading() as conn:
        page = owner.quote(conn, "0008", made_at=NOW)
    # 2 h at 95.00 and 10.00: 200.00; expected with half of 100.00; high with all of it.
    assert all(f">{shown}<" in page for shown in ("200.00", "250.00", "300.00"))
    assert [private for private in PRIVATE if private in page] == []


def test_high_leaves_failure_out_where_work_cannot_fail(book: Book) -> None:
    a_job(book)
    with book.reading() as conn:
        work = reading.one(conn, "candidate", "C-1")
    add(book, "candidate", "C-1", replace(work.entry, p_success=Decimal(1)))
    with book.reading() as conn:
        page = owner.quote(conn, "0008", made_at=NOW)
    assert ">200.00<" in page
    assert ">250.00<" not in page
    assert ">300.00<" not in page
