"""What a work history is made from: one vehicle's records, as the book hands them over."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from recondition.condition.findings import Finding, Outcome
from recondition.condition.panels import Panel
from recondition.condition.vehicle import Vehicle
from recondition.ledger.chain import Head
from recondition.ledger.drafts import Stored
from recondition.ledger.lines import Entered, Reversal


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """One vehicle's records in their newest version, private fields included.

    ``products`` gives the stored product by its id, for the material type of a consumable.
    ``shop_name`` is the firm that makes the sheet; it is printed. ``head`` is the head of
    the vehicle's own chain when the records were read, None where there is none to print.
    """

    vehicle: Stored[Vehicle]
    shop_name: str
    panels: tuple[Stored[Panel], ...] = ()
    findings: tuple[Stored[Finding], ...] = ()
    outcomes: tuple[Stored[Outcome], ...] = ()
    lines: tuple[Stored[Entered | Reversal], ...] = ()
    products: Mapping[str, Stored[Any]] = field(default_factory=dict)
    head: Head | None = None
