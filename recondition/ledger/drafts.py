"""What goes into a book and what comes out of it: drafts and stored records."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any, Generic, TypeVar

from recondition.ledger.booked import Booked
from recondition.ledger.pricing import Priced

T_co = TypeVar("T_co", covariant=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class Draft:
    """One record that somebody wants posted.

    ``id`` is the random id its first version will have; where ``kind`` and ``ref`` are in
    the book already that record's own id counts. ``ref`` is the user's name for the row,
    unique within its kind. ``key`` is the idempotency key; without one, each posting is its
    own. ``said`` names the fields of the entry that whoever sent it filled, where the rest was
    taken for granted: a second try with the same key is held against these alone; all of them
    where it is empty. ``file`` is where a document's bytes lie. ``place`` says where the draft
    was written (sheet and row), for messages.
    """

    id: str
    kind: str
    ref: str
    entry: Any
    key: str | None = None
    said: frozenset[str] = frozenset()
    file: Path | None = None
    place: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stored(Generic[T_co]):
    """One record as the book holds it, in its newest version.

    ``id`` is the entity's id (of its first version), ``record`` that of this version.
    ``recorded_at`` is ISO 8601 with zone; ``author`` the id of the person who acted.
    ``priced`` stands for line items only, ``booked`` for
    whatever else moves the books. ``reversed_by`` is the id of the line that takes
    this one back, None while it stands; ``reverses`` is set on such a line.
    """

    id: str
    record: str
    ref: str
    kind: str
    version: int
    subject: str
    sequence: int
    author: str
    recorded_at: str
    entry: T_co
    priced: Priced | None = None
    booked: Booked | None = None
    reverses: str | None = None
    reversed_by: str | None = None

    @property
    def recorded_on(self) -> date:
        """The day of ``recorded_at``, in the zone it was recorded in."""
        return date.fromisoformat(self.recorded_at[:10])
