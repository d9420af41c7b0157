"""What a work history is made from: one vehicle's records, as the book hands them over."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from recondition.condition.findings import Finding, Outcome
from recondition.condition.panels import Panel
from recondition.condition.vehicle import Vehicle
from recondition.history.records import Consent, Edition, EditionWithdrawn
from recondition.ledger.chain import Head
from recondition.ledger.documents import Document
from recondition.ledger.drafts import Stored
from recondition.ledger.lines import Entered, Reversal


@dataclass(frozen=True, slots=True)
class Issued:
    """A file as it is handed out: its kind, size and hash (SHA-256 in hex).

    ``picture_sha256`` is that of the smaller copy which stands in the page; None where the file
    is no picture. ``hidden`` counts the places that were painted over.
    """

    media_type: str
    sha256: str
    size_bytes: int
    picture_sha256: str | None = None
    hidden: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """One vehicle's records in their newest version, private fields included.

    ``products``, ``people``, ``suppliers``, ``receipts`` and ``instruments`` give stored records
    by id. ``shop_name`` is the firm that makes the sheet; it is printed. ``head`` is the head of
    the vehicle's own chain when the records were read, None where there is none to print.
    ``readings`` are film, gloss and drop readings and surface tests. ``versions`` gives every
    version of what was versioned, oldest first, by the record's id. ``sealed`` gives, by the
    document's id, the salted hash under which its untouched file stands in the chain.
    ``consents`` are those in force.
    """

    vehicle: Stored[Vehicle]
    shop_name: str
    panels: tuple[Stored[Panel], ...] = ()
    findings: tuple[Stored[Finding], ...] = ()
    outcomes: tuple[Stored[Outcome], ...] = ()
    lines: tuple[Stored[Entered | Reversal], ...] = ()
    products: Mapping[str, Stored[Any]] = field(default_factory=dict)
    head: Head | None = None
    readings: tuple[Stored[Any], ...] = ()
    instruments: Mapping[str, Stored[Any]] = field(default_factory=dict)
    receipts: Mapping[str, Stored[Any]] = field(default_factory=dict)
    people: Mapping[str, Stored[Any]] = field(default_factory=dict)
    suppliers: Mapping[str, Stored[Any]] = field(default_factory=dict)
    documents: tuple[Stored[Document], ...] = ()
    sealed: Mapping[str, str] = field(default_factory=dict)
    consents: tuple[Stored[Consent], ...] = ()
    editions: tuple[Stored[Edition], ...] = ()
    withdrawn: Mapping[str, Stored[EditionWithdrawn]] = field(default_factory=dict)
    versions: Mapping[str, tuple[Stored[Any], ...]] = field(default_factory=dict)
