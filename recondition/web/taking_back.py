"""How a record is undone, and where it cannot be: what to do instead."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, Any

from recondition.book import reversing
from recondition.book.admission_books import REVERSIBLE
from recondition.book.kinds import KINDS, LINE_KINDS
from recondition.errors import Refused
from recondition.intake.sheets import sheet_of_kind
from recondition.ledger.lines import LineKind
from recondition.web.permits import ENTER, TAKEN_BACK

if TYPE_CHECKING:
    from collections.abc import Iterable

    from recondition.book.engine import Book
    from recondition.book.roles import Right
    from recondition.ledger.drafts import Stored


class Way(StrEnum):
    """How something that was entered is put right."""

    REVERSAL = "reversal"
    VERSION = "new version"
    NONE = "none"


class NotTakenBack(Refused):
    """A record of a kind that is not taken back by a reversal."""

    http_status = 409

    def __init__(self, kind: str, ref: str, words: str) -> None:
        """Name it and say what to do instead."""
        super().__init__(f"{kind} {ref} cannot be taken back", todo=words)


@dataclass(frozen=True, slots=True)
class Undo:
    """How a record can be undone, in a word and in a sentence; ``allowed`` for this login."""

    way: Way
    words: str
    allowed: bool = False


_INSTEAD = {
    "reversal": "A reversal stands: enter anew what is right.",
    "stock reversal": "A reversal stands: enter anew what is right.",
    "entry reversal": "A reversal stands: enter anew what is right.",
    "movement": "It follows from the record beside it: take that one back.",
    "mixed batch": "What was mixed was mixed: enter what is thrown away as a wasted use.",
    "custody move": "Where a thing was stays on record: enter the next move.",
    "decision": "A decision stays as it was made: freeze another one.",
    "shared charge": "Take back the charges that it made, each on its own page.",
    "period event": "It stays on record: reopen or close the period.",
    "export batch": "What was handed out stays noted; export again.",
    "let pass": "It stays on record; withdraw the edition that it was for.",
    "edition": "What was released stays released: withdraw it with a reason, release another.",
    "edition withdrawn": "It stays on record: release another edition.",
    "erasure": "What was erased is gone for good.",
    "clock": "A clock is dropped while it runs; take its line of labour back once it was stopped.",
}
_AGAIN = "Nothing is overwritten: enter it again with what is right, and the version before stays."
_NEGATIVE = (
    "Its exact negative is posted with your reason; both stay readable. Where its month is closed "
    "the negative goes to the next open one. Then enter anew what is right."
)


def undo_of(stored: Stored[Any], by: str, rights: Iterable[Right]) -> Undo:
    """Say how a record can be undone; ``by`` is the ref of what took it back already."""
    kind = stored.kind
    if by:
        return Undo(Way.NONE, f"It was taken back by {by}. Enter anew what is right.")
    if kind in _INSTEAD:
        return Undo(Way.NONE, _INSTEAD[kind])
    if KINDS[kind].once:
        return Undo(Way.REVERSAL, _NEGATIVE, may_take_back(kind, rights))
    held = set(ENTER.get(_sheet(kind), ())) & set(rights)
    return Undo(Way.VERSION, _AGAIN, bool(held))


def _sheet(kind: str) -> str:
    """Name the sheet of a kind; KeyError where it has none."""
    return sheet_of_kind(kind).name


def may_take_back(kind: str, rights: Iterable[Right]) -> bool:
    """Tell whether rights are enough to take a record of a kind back: those that enter it."""
    return bool(set(TAKEN_BACK.get(kind, ())) & set(rights))


def take_back(  # noqa: PLR0913 - each is a separate choice of the caller
    book: Book, kind: str, ref: str, why: str, *, author_ref: str, day: str | None = None,
    period: str | None = None, words: str | None = None,
) -> str:  # fmt: skip
    """Post the negative of a record; give the reversal's own ref.

    ``words`` are the reason in words that a buyer may read, of a line alone. Raises NotTakenBack
    and what ``book.reversing`` raises.
    """
    named = f"{kind}:{ref}"
    if kind in LINE_KINDS and kind != LineKind.REVERSAL:
        return reversing.reverse_line(
            book, named, why, author_ref=author_ref, day=day, period=period, words=words
        )
    if kind in reversing.STOCK_KINDS:
        return reversing.reverse_stock(book, ref, why, author_ref=author_ref, day=day)
    if kind in REVERSIBLE:
        return reversing.undo(book, named, why, author_ref=author_ref, day=day, period=period)
    raise NotTakenBack(kind, ref, _INSTEAD.get(kind, _AGAIN))


def reversal_kind(kind: str) -> str:
    """Name the kind of record that takes one of this kind back."""
    if kind in LINE_KINDS:
        return "reversal"
    return "stock reversal" if kind in reversing.STOCK_KINDS else "entry reversal"
