"""Every kind of record a book can hold: its entry class and the chain it belongs to.

A kind is a value in code and text in the store. Adding one: the entry class in its room, a
row here, its table in ``book/tables.py`` with a migration, and a sheet in ``intake``.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from recondition.condition.findings import Finding, Outcome
from recondition.condition.panels import Panel
from recondition.condition.vehicle import Vehicle
from recondition.ledger.chain import SHOP
from recondition.ledger.documents import Document
from recondition.ledger.lines import Charge, Consumable, Labour, LineKind, Part, Reversal, Sublet
from recondition.ledger.people import Erasure, Person, Rate, Setting, Supplier
from recondition.materials.products import Product
from recondition.worth.estimates import Candidate, Interaction
from recondition.worth.terms import SaleTerms


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
        Kind("vehicle", Vehicle, "vehicle"),
        Kind("panel", Panel, "panel"),
        Kind("finding", Finding, "finding"),
        Kind("outcome", Outcome, "outcome"),
        Kind("candidate", Candidate, "candidate"),
        Kind("interaction", Interaction, "interaction"),
        Kind("terms", SaleTerms, "terms"),
        Kind("document", Document, "document"),
        Kind("erasure", Erasure, "erasure", once=True),
        Kind(LineKind.LABOUR, Labour, "line", once=True),
        Kind(LineKind.PART, Part, "line", once=True),
        Kind(LineKind.CONSUMABLE, Consumable, "line", once=True),
        Kind(LineKind.SUBLET, Sublet, "line", once=True),
        Kind(LineKind.CHARGE, Charge, "line", once=True),
        Kind(LineKind.REVERSAL, Reversal, "line", once=True),
    )
}

LINE_KINDS = tuple(kind.name for kind in KINDS.values() if kind.table == "line")

_OWN_CHAIN = ("vehicle", "product")


def subject_of(kind: str, entity: str, entry: Any) -> str:  # noqa: ANN401 - any entry class
    """Name the chain a record goes to: its vehicle's, its product's or the shop's."""
    if kind in _OWN_CHAIN:
        return f"{kind}:{entity}"
    vehicle = getattr(entry, "vehicle", None)
    return f"vehicle:{vehicle}" if vehicle else SHOP
