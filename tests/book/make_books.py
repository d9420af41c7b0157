"""Tax codes, accounts, invoices, payments and periods, for the book that holds one of each."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING

from recondition.accounts.batches import ExportBatch
from recondition.accounts.chart import MappedAccount
from recondition.accounts.hours import PaidHours
from recondition.accounts.invoices import Payment, SupplierInvoice
from recondition.accounts.values import ValueTest
from recondition.amounts import Quantity
from recondition.fields import Id, Words
from recondition.ledger.booked import EntryReversal
from recondition.ledger.items import CostItem
from recondition.ledger.periods import PeriodEvent, PeriodStep
from recondition.ledger.shared import SharedBy, SharedCharge
from recondition.ledger.taxes import TaxCode
from tests.book import make

if TYPE_CHECKING:
    from typing import Any

    from recondition.book.engine import Book
    from tests.book.make import Shop

EARLIER = "2030-12"


def books_records(book: Book, made: Shop, ids: dict[str, Id]) -> dict[str, Id]:
    """Post one record of every kind about the books; give ids by ref."""
    found: dict[str, Id] = {}

    def add(kind: str, ref: str, entry: Any) -> Id:
        found[ref] = make.add(book, kind, ref, entry)
        return found[ref]

    code = TaxCode(
        code="ST", from_date=make.DAY, rate=Decimal("0.0825"), recoverable=Decimal(0),
        charged_on=("part", "consumable"), source=Words("the state's own table, invented"),
    )  # fmt: skip
    add("tax code", "TC-1", code)
    row = MappedAccount(role="bank", from_date=make.DAY, code="1001", name="House bank")
    add("account", "AC-1", row)
    bill = SupplierInvoice(
        supplier=ids["SU-1"], number="4711", invoice_on=make.DAY, total=make.usd("10")
    )
    owed = add("supplier invoice", "SI-1", bill)
    freight = SharedCharge(
        work_date=make.DAY, price=make.usd("10"), vehicles=(made.own, made.consigned),
        by=SharedBy.EQUALLY, words=Words("haulage of both"), item=CostItem.INLAND_HAULAGE,
    )  # fmt: skip
    add("shared charge", "SC-1", freight)
    paid = Payment(paid_on=make.DAY, amount=make.usd("10"), invoice=owed)
    add("payment", "PY-1", paid)
    back = EntryReversal(
        vehicle=made.own, reverses=ids["Y-1"], reversed_on=make.DAY, why=Words("fell through")
    )
    add("entry reversal", "Y-1-reversed", back)
    test = ValueTest(
        vehicle=made.own, tested_on=make.DAY, expected_price=make.usd("5"),
        to_complete=make.usd("1"), to_sell=make.usd("1"), basis=Words("two dealers asked"),
    )  # fmt: skip
    add("value test", "VT-1", test)
    week = PaidHours(person=made.person, week=date(2031, 3, 3), hours=Quantity.of(40, "h"))
    add("paid hours", "HK 2031-03-03", week)
    closed = PeriodEvent(
        period=EARLIER, step=PeriodStep.CLOSED, why=Words("month end"), map_version="m",
        journal="[]", debits=make.usd("0"), heads="h",
    )  # fmt: skip
    add("period event", f"{EARLIER} closed 1", closed)
    batch = ExportBatch(
        what="workbook", exported_on=make.DAY, sha256="s", lines="6", upto="{}", period=EARLIER
    )
    add("export batch", "EX-1", batch)
    return found
