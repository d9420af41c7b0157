"""Taking a posted line back by name."""

from __future__ import annotations

import uuid
from datetime import date
from typing import Any

from recondition.book import reading
from recondition.book.admission_books import REVERSIBLE
from recondition.book.admission_stock import StockAlreadyReversed
from recondition.book.again import again
from recondition.book.booking import day_booked
from recondition.book.context import Context, NotThere
from recondition.book.engine import Book
from recondition.book.kinds import LINE_KINDS
from recondition.book.posting import Poster
from recondition.book.undone import undone_by
from recondition.errors import Refused
from recondition.fields import Id, Words
from recondition.ledger.booked import EntryAlreadyReversed, EntryReversal
from recondition.ledger.chain import SHOP
from recondition.ledger.drafts import Draft, Stored
from recondition.ledger.lines import Reversal
from recondition.ledger.rules import AlreadyReversed
from recondition.materials.receiving import StockReversal


class NotADay(Refused):
    """A day that is not written as one."""

    exit_status = 2

    def __init__(self, found: str) -> None:
        """Show what was given."""
        super().__init__(f"{found!r} is not a day", todo="Write it as 2031-03-04.")


class WhyNeeded(Refused):
    """Something is taken back, dropped or thrown away without its reason."""

    exit_status = 2

    def __init__(self) -> None:
        """Say what is missing."""
        super().__init__(
            "the reason is missing, and it stays on record", todo="Say why in a few words."
        )


def day_of(text: str) -> date:
    """Read a day. Raises NotADay."""
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise NotADay(text) from None


def reversal_of(
    line: Stored[Any], why: str, day: date, period: str | None = None, *, words: str | None = None
) -> Draft:
    """Give the draft that takes a line back, under the line's own ref.

    ``words`` are the reason in words that a buyer may read.
    """
    entry = Reversal(
        vehicle=None if line.subject == SHOP else Id(line.subject.removeprefix("vehicle:")),
        reverses=Id(line.id),
        work_date=day,
        why=Words(why),
        period=period,
        words=Words(words) if words else None,
    )
    return Draft(id=uuid.uuid4().hex, kind="reversal", ref=f"{line.ref}-reversed", entry=entry)


@again
def reverse_line(  # noqa: PLR0913 - each is a separate choice of the caller
    book: Book,
    ref: str,
    why: str,
    *,
    author_ref: str,
    day: str | None,
    period: str | None,
    words: str | None = None,
) -> str:
    """Post the exact negative of a line; give the reversal's own ref.

    Without ``day`` it is dated today, or like the line where that lies ahead. ``words`` are the
    reason in words that a buyer may read.

    Raises UnknownAuthor, NotThere, SeveralLines, AlreadyReversed, ReversalOfReversal,
    NotADay, WhyNeeded, BeforeItsCause.
    """
    given = day_of(day) if day else None
    if not why.strip():
        raise WhyNeeded
    with book.writing() as conn:
        author = reading.author_of(conn, author_ref)
        line_id = reading.line_id_of(conn, ref)
        (line,) = reading.stored(conn, *LINE_KINDS, ids=[line_id])
        if line.reversed_by is not None:
            names = reading.names_of(conn, [line.reversed_by])
            raise AlreadyReversed(line.ref, names.get(line.reversed_by, line.reversed_by))
        when = given or max(book.now().astimezone().date(), line.entry.work_date)
        draft = reversal_of(line, why, when, period, words=words)
        Poster(book, conn, author).post(draft)
    return draft.ref


STOCK_KINDS = ("receipt", "late freight", "supplier return")


@again
def reverse_stock(book: Book, ref: str, why: str, *, author_ref: str, day: str | None) -> str:
    """Take back a receipt, late freight or a return; give the reversal's own ref.

    Raises UnknownAuthor, NotThere, NotADay, WhyNeeded, StockAlreadyReversed, FreightStands,
    NotInStock, BeforeItsCause.
    """
    given = day_of(day) if day else None
    if not why.strip():
        raise WhyNeeded
    with book.writing() as conn:
        author = reading.author_of(conn, author_ref)
        found = [i for k in STOCK_KINDS for i in reading.ids_by_ref(conn, k, [ref]).values()]
        if not found:
            raise NotThere(what="receipt, late freight or return", name=ref)
        (first,) = reading.stored(conn, *STOCK_KINDS, ids=found[:1])
        if Context(conn).stock_reversed(first.id):
            raise StockAlreadyReversed(ref)
        began = Context(conn).moved_on(first.id)
        entry = StockReversal(
            product=first.entry.product,
            reverses=Id(first.id),
            reversed_on=given or max(book.now().astimezone().date(), began),
            why=Words(why),
        )
        own = f"{ref}-reversed"
        draft = Draft(id=uuid.uuid4().hex, kind="stock reversal", ref=own, entry=entry)
        Poster(book, conn, author).post(draft)
    return own


@again
def undo(  # noqa: PLR0913 - each is a separate choice of the caller
    book: Book, ref: str, why: str, *, author_ref: str, day: str | None, period: str | None
) -> str:  # fmt: skip
    """Take back an invoice, a payment, a sale or a value test; give the reversal's own ref.

    ``ref`` may be ``kind:ref`` where kinds share one. Raises UnknownAuthor, NotThere,
    SeveralLines, NotADay, WhyNeeded, EntryAlreadyReversed, StillRelied, BeforeItsCause.
    """
    given = day_of(day) if day else None
    if not why.strip():
        raise WhyNeeded
    kind, _, name = ref.rpartition(":")
    named = kind in REVERSIBLE
    kinds, own = ((kind,), name) if named else (REVERSIBLE, ref)
    with book.writing() as conn:
        author = reading.author_of(conn, author_ref)
        found = {k: i for k in kinds for i in reading.ids_by_ref(conn, k, [own]).values()}
        if not found:
            raise NotThere(what="invoice, payment, sale or value test", name=ref)
        if len(found) > 1:
            raise reading.SeveralLines(ref, list(found))
        ((of_kind, first_id),) = found.items()
        (first,) = reading.stored(conn, of_kind, ids=[first_id])
        if first_id in undone_by(conn):
            raise EntryAlreadyReversed(own)
        vehicle = getattr(first.entry, "vehicle", None)
        entry = EntryReversal(
            vehicle=vehicle,
            reverses=Id(first.id),
            reversed_on=given or max(book.now().astimezone().date(), day_booked(first.entry)),
            why=Words(why),
            period=period,
        )
        made = f"{own}-reversed"
        draft = Draft(id=uuid.uuid4().hex, kind="entry reversal", ref=made, entry=entry)
        Poster(book, conn, author).post(draft)
    return made
