"""Every kind of record a book can hold: its entry class and the chain it belongs to.

A kind is a value in code and text in the store. Adding one: the entry class in its room, a
row here, its table in ``book/tables.py`` with a migration, and a sheet in ``intake``.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from recondition.accounts.batches import ExportBatch
from recondition.accounts.chart import MappedAccount
from recondition.accounts.hours import PaidHours
from recondition.accounts.invoices import Payment, SupplierInvoice
from recondition.accounts.values import ValueTest
from recondition.condition.custody import CustodyItem, CustodyMove
from recondition.condition.film import FilmReading, Instrument
from recondition.condition.findings import Finding, Outcome
from recondition.condition.gloss import GlossReading
from recondition.condition.identification import SurfaceTest
from recondition.condition.order import WorkRule
from recondition.condition.panels import Panel
from recondition.condition.vehicle import Vehicle
from recondition.condition.water import DropReading, WaterHardness
from recondition.history.records import (
    Consent,
    Edition,
    EditionWithdrawn,
    LetPass,
    Redaction,
)
from recondition.ledger.approvals import Approval, ChangeRequest, OwnerInvoice
from recondition.ledger.booked import EntryReversal
from recondition.ledger.chain import SHOP
from recondition.ledger.clocks import Clock
from recondition.ledger.documents import Document
from recondition.ledger.lines import (
    Charge,
    Consumable,
    Count,
    Labour,
    LineKind,
    Part,
    Reversal,
    Sublet,
)
from recondition.ledger.orders import Order
from recondition.ledger.people import Erasure, Person, Rate, Setting, Supplier
from recondition.ledger.periods import PeriodEvent
from recondition.ledger.shared import SharedCharge
from recondition.ledger.taxes import TaxCode
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
from recondition.materials.stock import Movement
from recondition.worth.estimates import Candidate, Interaction
from recondition.worth.sales import Comparable
from recondition.worth.terms import SaleTerms
from recondition.worth.track import Decision, Sale
from recondition.worth.trials import Trial


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of record.

    A kind that is posted ``once`` is never versioned (line items are reversed instead); of
    the others a new version supersedes the one before. ``table`` is where the record's
    columns stand.
    """

    name: str
    entry: type[Any]
    table: str
    once: bool = False


KINDS: dict[str, Kind] = {
    kind.name: kind
    for kind in (
        Kind("setting", Setting, "setting"),
        Kind("person", Person, "person"),
        Kind("rate", Rate, "rate"),
        Kind("supplier", Supplier, "supplier"),
        Kind("product", Product, "product"),
        Kind("receipt", Receipt, "receipt", once=True),
        Kind("late freight", LateFreight, "late_freight", once=True),
        Kind("supplier return", SupplierReturn, "supplier_return", once=True),
        Kind("stock reversal", StockReversal, "stock_reversal", once=True),
        Kind("container", Container, "container"),
        Kind("mixed batch", MixedBatch, "mixed", once=True),
        Kind("standard amount", StandardAmount, "standard_amount"),
        Kind("movement", Movement, "movement", once=True),
        Kind("vehicle", Vehicle, "vehicle"),
        Kind("panel", Panel, "panel"),
        Kind("finding", Finding, "finding"),
        Kind("outcome", Outcome, "outcome"),
        Kind("instrument", Instrument, "instrument"),
        Kind("film reading", FilmReading, "film_reading"),
        Kind("gloss reading", GlossReading, "gloss_reading"),
        Kind("drop reading", DropReading, "drop_reading"),
        Kind("water hardness", WaterHardness, "water_hardness"),
        Kind("surface test", SurfaceTest, "surface_test"),
        Kind("custody item", CustodyItem, "custody_item"),
        Kind("custody move", CustodyMove, "custody_move", once=True),
        Kind("work rule", WorkRule, "work_rule"),
        Kind("candidate", Candidate, "candidate"),
        Kind("interaction", Interaction, "interaction"),
        Kind("terms", SaleTerms, "terms"),
        Kind("trial", Trial, "trial"),
        Kind("comparable", Comparable, "comparable"),
        Kind("decision", Decision, "decision", once=True),
        Kind("sale", Sale, "sale", once=True),
        Kind("document", Document, "document"),
        Kind("clock", Clock, "clock"),
        Kind("order", Order, "ordered"),
        Kind("change request", ChangeRequest, "change_request"),
        Kind("approval", Approval, "approval"),
        Kind("owner invoice", OwnerInvoice, "owner_invoice", once=True),
        Kind("tax code", TaxCode, "tax_code"),
        Kind("account", MappedAccount, "account"),
        Kind("supplier invoice", SupplierInvoice, "supplier_invoice", once=True),
        Kind("shared charge", SharedCharge, "shared_charge", once=True),
        Kind("payment", Payment, "payment", once=True),
        Kind("value test", ValueTest, "value_test", once=True),
        Kind("paid hours", PaidHours, "paid_hours"),
        Kind("entry reversal", EntryReversal, "entry_reversal", once=True),
        Kind("period event", PeriodEvent, "period_event", once=True),
        Kind("export batch", ExportBatch, "export_batch", once=True),
        Kind("consent", Consent, "consent"),
        Kind("redaction", Redaction, "redaction"),
        Kind("let pass", LetPass, "let_pass", once=True),
        Kind("edition", Edition, "edition", once=True),
        Kind("edition withdrawn", EditionWithdrawn, "edition_withdrawn", once=True),
        Kind("erasure", Erasure, "erasure", once=True),
        Kind(LineKind.LABOUR, Labour, "line", once=True),
        Kind(LineKind.PART, Part, "line", once=True),
        Kind(LineKind.CONSUMABLE, Consumable, "line", once=True),
        Kind(LineKind.SUBLET, Sublet, "line", once=True),
        Kind(LineKind.CHARGE, Charge, "line", once=True),
        Kind(LineKind.COUNT, Count, "line", once=True),
        Kind(LineKind.REVERSAL, Reversal, "line", once=True),
    )
}

LINE_KINDS = tuple(kind.name for kind in KINDS.values() if kind.table == "line")

_OWN_CHAIN = ("vehicle", "product")


def subject_of(kind: str, entity: str, entry: Any) -> str:  # noqa: ANN401 - any entry class
    """Name the chain a record goes to: its vehicle's, its product's or the shop's."""
    if kind in _OWN_CHAIN:
        return f"{kind}:{entity}"
    if hasattr(entry, "vehicle"):
        return f"vehicle:{entry.vehicle}" if entry.vehicle else SHOP
    product = getattr(entry, "product", None)
    return f"product:{product}" if product else SHOP
