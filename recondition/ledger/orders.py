"""Parts and sublet work from the quote to the day they are here."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from recondition.amounts import Money, Quantity
from recondition.fields import Id, Words
from recondition.ledger.lines import FitWindow, Origin


class Ordered(StrEnum):
    """What was ordered."""

    PART = "part"
    SUBLET = "sublet"


@dataclass(frozen=True, slots=True, kw_only=True)
class Order:
    """A part, or work sent out; each step is a new version of it.

    ``quoted`` is for the whole of it, without tax that comes back. For sublet work
    ``ordered_on`` is the day it left and ``received_on`` the day it was back, and the days
    between are waiting days. Lines that it leads to name it.
    """

    vehicle: Id
    what: Ordered
    name: Words
    quantity: Quantity
    quoted: Money | None = None
    quoted_on: date | None = None
    ordered_on: date | None = None
    promised_on: date | None = None
    received_on: date | None = None
    returned_on: date | None = None
    supplier: Id | None = None
    origin: Origin | None = None
    replaces_part: Words | None = None
    candidate: Id | None = None
    window: FitWindow | None = None
    documents: tuple[Id, ...] = ()
    private_note: Words | None = None
