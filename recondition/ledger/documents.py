"""Documents and photographs that prove a line or a finding. The bytes are kept by hash."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum

from recondition.amounts import Quantity
from recondition.errors import Refused
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

    ``camera_ahead`` is by how much the camera's clock was ahead (below zero: behind);
    ``before`` names the picture of the same place before the work, which makes a pair.

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
    camera_ahead: Quantity | None = None
    before: Id | None = None

    @property
    def moment(self) -> datetime | None:
        """When it was taken, the camera's clock put right; None where nobody knows."""
        if self.taken_at is None:
            return None
        ahead = self.camera_ahead.to("min") if self.camera_ahead else 0
        return datetime.fromisoformat(self.taken_at) - timedelta(seconds=round(ahead * 60))


class NotAPair(Refused):
    """Two files that are to stand side by side and are no before and after."""

    def __init__(self, why: str) -> None:
        """Say what keeps them apart."""
        super().__init__(
            f"the two pictures are no pair: {why}",
            todo="Name the picture of the same panel that was taken before.",
        )


def check_pair(after: Document, before: Document) -> None:
    """Refuse a pair that does not show one place before and after. Raises NotAPair."""
    pictures = after.kind is DocumentKind.PHOTOGRAPH and before.kind is DocumentKind.PHOTOGRAPH
    if not pictures:
        raise NotAPair(why="both must be photographs")
    if after.vehicle != before.vehicle or after.panel != before.panel:
        raise NotAPair(why="they show different places")
    taken = (before.moment, after.moment)
    if taken[0] is not None and taken[1] is not None and taken[1] < taken[0]:
        raise NotAPair(why="the first was taken after the second")
