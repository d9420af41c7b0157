"""The files chosen for the public: which they are, what they show, which make a pair.

A file is public only where its owner said so (``listing`` or ``both``); all others are counted
and never named. Pictures are handed out as new files without metadata; the untouched original
stays with the shop, and the salted hash under which it stands in the chain is listed, so that
it can be proven later.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING, Any

from recondition.history.public import project
from recondition.ledger.documents import Document, DocumentKind, Visibility

if TYPE_CHECKING:
    from recondition.history.source import Issued, Source
    from recondition.ledger.drafts import Stored

FOLDER = "work-history-evidence/"
ENDINGS = {"image/jpeg": "jpg", "application/pdf": "pdf", "text/plain": "txt"}


@dataclass(frozen=True, slots=True, kw_only=True)
class EvidenceRow:
    """One file that is handed out. ``finding`` and ``before`` are numbers of this sheet.

    ``hidden`` counts places that were painted over. ``sealed`` is the salted hash of the untouched
    original, None where nothing was changed.
    """

    number: int
    kind: DocumentKind
    title: str
    panel: str | None
    taken_on: date | None
    finding: int | None
    before: int | None
    path: str
    sha256: str
    size_bytes: int
    picture_sha256: str | None
    hidden: int
    sealed: str | None

    @property
    def picture(self) -> bool:
        """Whether it is shown on the page."""
        return self.picture_sha256 is not None

    @property
    def name(self) -> str:
        """Its name among the records of the sheet."""
        return f"evidence/{self.number}"


def is_listed(document: Document) -> bool:
    """Tell whether a file may be handed out."""
    return document.visibility in (Visibility.LISTING, Visibility.BOTH)


def listed(source: Source) -> list[Stored[Document]]:
    """Give the documents that may be handed out, by the time they were taken."""
    found = [each for each in source.documents if is_listed(each.entry)]
    return sorted(found, key=_order)


def _order(each: Stored[Document]) -> tuple[bool, datetime | int, int]:
    moment = each.entry.moment
    return (moment is None, moment or 0, each.sequence)


def path_of(number: int, media_type: str) -> str:
    """Name a file of the folder; the name on the user's disk is never used."""
    return f"{FOLDER}{number:03}.{ENDINGS[media_type]}"


def evidence_of(
    source: Source, issued: Mapping[str, Issued], numbers: Mapping[str, int]
) -> tuple[EvidenceRow, ...]:
    """Make the list of evidence; ``issued`` is by document id, ``numbers`` by finding id."""
    shown = [each for each in listed(source) if each.id in issued]
    own = {each.id: number for number, each in enumerate(shown, start=1)}
    return tuple(_row(source, each, issued[each.id], numbers, own) for each in shown)


def _row(
    source: Source,
    each: Stored[Document],
    file: Issued,
    numbers: Mapping[str, int],
    own: Mapping[str, int],
) -> EvidenceRow:
    """Make one row."""
    public: dict[str, Any] = project("document", each.entry)
    moment = each.entry.moment
    number = own[each.id]
    changed = file.media_type != "text/plain"
    return EvidenceRow(
        number=number,
        kind=public["kind"],
        title=public["title"],
        panel=public["panel"],
        taken_on=moment.date() if moment else None,
        finding=numbers.get(each.entry.finding or ""),
        before=own.get(each.entry.before or ""),
        path=path_of(number, file.media_type),
        sha256=file.sha256,
        size_bytes=file.size_bytes,
        picture_sha256=file.picture_sha256,
        hidden=file.hidden,
        sealed=source.sealed.get(each.id) if changed else None,
    )


@dataclass(frozen=True, slots=True)
class Grouped:
    """Pictures by where they stand: on arrival, in pairs of before and after, and all others."""

    arrival: tuple[EvidenceRow, ...]
    pairs: tuple[tuple[EvidenceRow, EvidenceRow], ...]
    others: tuple[EvidenceRow, ...]


def grouped(rows: tuple[EvidenceRow, ...], first_work: date | None) -> Grouped:
    """Put pictures in groups; each stands once, a pair before all else.

    One of the arrival was taken on a day before the first work.
    """
    by_number = {row.number: row for row in rows if row.picture}
    pairs = tuple(
        (by_number[row.before], row)
        for row in by_number.values()
        if row.before is not None and row.before in by_number
    )
    paired = {row.number for pair in pairs for row in pair}
    single = [row for row in by_number.values() if row.number not in paired]
    early = [row for row in single if _before(row, first_work)]
    return Grouped(tuple(early), pairs, tuple(row for row in single if row not in early))


def _before(row: EvidenceRow, first_work: date | None) -> bool:
    return row.taken_on is not None and (first_work is None or row.taken_on < first_work)


def proofs_of(source: Source, rows: tuple[EvidenceRow, ...]) -> dict[str, int]:
    """Give the number on the sheet of every document that is handed out, by document id."""
    shown = [each.id for each in listed(source)]
    by_number = {row.number for row in rows}
    return {each: number for number, each in enumerate(shown, start=1) if number in by_number}
