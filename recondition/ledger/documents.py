"""Documents and photographs that prove a line or a finding. The bytes are kept by hash."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from recondition.fields import Id, Words


class DocumentKind(StrEnum):
    """What a kept file is."""

    PHOTOGRAPH = "photograph"
    INVOICE = "invoice"
    CERTIFICATE = "certificate"
    APPROVAL = "approval"
    OTHER = "other"


class Visibility(StrEnum):
    """Whether a file is kept as private evidence or may be listed to a buyer."""

    EVIDENCE = "evidence"
    LISTING = "listing"
    BOTH = "both"


@dataclass(frozen=True, slots=True, kw_only=True)
class Document:
    """A file kept with the vehicle. ``taken_at`` is ISO 8601 with its zone.

    The bytes enter the chain as a salted hash (field ``file`` of the record's texts); the
    plain SHA-256 by which they lie on disk stays in a side table.
    """

    vehicle: Id | None = None
    kind: DocumentKind
    title: Words
    visibility: Visibility = Visibility.EVIDENCE
    finding: Id | None = None
    panel: str | None = None
    taken_at: str | None = None
    file_name: Words | None = None
