"""Stock, a clock, an order and what an owner allowed, for the book that holds one of each."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING

from recondition.amounts import Quantity
from recondition.fields import Id, Words
from recondition.ledger.approvals import Approval, ChangeRequest, How, OwnerInvoice
from recondition.ledger.clocks import Clock, Mark, Tick
from recondition.ledger.lines import Consumable, Count, Purpose, Unlinked
from recondition.ledger.orders import Order, Ordered
from recondition.materials.measuring import Measure, Way
from recondition.materials.products import Product
from recondition.materials.receiving import (
    Container,
    LateFreight,
    MixedBatch,
    Receipt,
    StandardAmount,
    StockReversal,
    SupplierReturn,
)
from recondition.worth.estimates import Candidate, ThreeAmounts, ThreeNumbers
from tests.book import make

if TYPE_CHECKING:
    from typing import Any

    from recondition.book.engine import Book
    from tests.book.make import Shop


def ml(number: str) -> Quantity:
    return Quantity.of(number, "ml")


def received(product: Id, amount: str = "1000", price: str = "40.00", **more: Any) -> Receipt:
    fields = {"received_on": make.DAY, "price": make.usd(price), "quantity": ml(amount)}
    return Receipt(product=product, **(fields | more))


def weighed(before: str, after: str) -> Measure:
    grams = [Quantity.of(each, "g") for each in (before, after)]
    return Measure(way=Way.WEIGHED, gross_before=grams[0], gross_after=grams[1])


def stock_and_owner(book: Book, made: Shop, ids: dict[str, Id]) -> dict[str, Id]:
    """Post one record of every kind about stock, clocks, orders and owners; give ids by ref."""
    found: dict[str, Id] = {}

    def add(kind: str, ref: str, entry: Any) -> Id:
        found[ref] = make.add(book, kind, ref, entry)
        return found[ref]

    polish = Product(
        name="Old Paint", material_type="polish", unit="ml", density_g_ml=Decimal("1.08")
    )
    product = add("product", "PR-2", polish)
    first = add("receipt", "RC-1", received(product, freight=make.usd("2.50")))
    wrong = add("receipt", "RC-2", received(product, "10"))
    back = StockReversal(product=product, reverses=wrong, reversed_on=make.DAY, why=Words("twice"))
    add("stock reversal", "RC-2-reversed", back)
    bottle = add("container", "K-1", Container(product=product, receipt=first))
    mix = MixedBatch(
        product=product, mixed_on=make.DAY, concentrate=ml("70"), water=ml("700"), receipt=first
    )
    add("mixed batch", "X-1", mix)
    usual = StandardAmount(product=product, operation="polish", quantity=ml("30"))
    add("standard amount", "N-1", usual)
    bonnet = make.line(made.own, links=make.links(*made.own_findings))
    used = Consumable(
        product=product, measure=weighed("742.6", "701.9"), container=bottle, **bonnet
    )
    add("consumable", "L-6", used)
    freight = LateFreight(
        product=product, receipt=first, billed_on=make.DAY, price=make.usd("5"), words=Words("late")
    )
    add("late freight", "LF-1", freight)
    returned = SupplierReturn(
        product=product, receipt=first, returned_on=make.DAY, quantity=ml("100"),
        credit=make.usd("4"), words=Words("dented"),
    )  # fmt: skip
    add("supplier return", "SR-1", returned)
    shelf = make.line(None, unlinked=Unlinked.OVERHEAD) | {"purpose": Purpose.OVERHEAD}
    add("count", "Q-1", Count(product=product, counted=ml("860"), **shelf))
    order = Order(
        vehicle=made.own, what=Ordered.PART, name=Words("decal"), quantity=Quantity.of(1, "piece")
    )
    add("order", "OR-1", order)
    mark = Mark(tick=Tick.START, at="2031-03-04T08:00:00-05:00")
    running = Clock(
        vehicle=made.own, person=made.person, words=Words("polish"), marks=(mark,),
        unlinked=Unlinked.WHOLE_VEHICLE,
    )  # fmt: skip
    add("clock", "CK-1", running)
    amounts = ThreeAmounts(*(make.usd(each) for each in "123"))
    work = Candidate(
        vehicle=made.consigned, name=Words("polish"), cash=amounts,
        hours=ThreeNumbers(*(Decimal(each) for each in "123")),
    )  # fmt: skip
    candidate = add("candidate", "C-9", work)
    asked = ChangeRequest(
        vehicle=made.consigned, asked_on=make.DAY, candidates=(candidate,),
        amount=make.usd("90"),
        words=Words("more than it looked"),
    )  # fmt: skip
    request = add("change request", "CR-1", asked)
    allowed = Approval(
        vehicle=made.consigned, answered_on=make.DAY, candidates=(candidate,),
        amount=make.usd("90"),
        how=How.MESSAGE, by=made.person, request=request,
    )  # fmt: skip
    add("approval", "AP-1", allowed)
    invoice = OwnerInvoice(
        vehicle=made.consigned, issued_on=make.DAY, lines=(ids["L-3"],), total=make.usd("1.47")
    )
    add("owner invoice", "IV-1", invoice)
    return found
