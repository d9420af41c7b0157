"""What is posted on an owner's job at once: an answer, supplies, the minimum, an invoice."""

from __future__ import annotations

import uuid
from dataclasses import replace
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from recondition.amounts import Money
from recondition.amounts.money import total
from recondition.book import owed, reading
from recondition.book.again import again
from recondition.book.posting import Poster
from recondition.book.questions import vehicle_of
from recondition.book.reversing import reversal_of
from recondition.condition.vehicle import Holding
from recondition.errors import Refused
from recondition.fields import Id, Words
from recondition.intake.form import draft_of
from recondition.intake.identity import next_ref
from recondition.ledger.approvals import Answer
from recondition.ledger.drafts import Draft
from recondition.ledger.lines import Charge, Labour, Purpose, Standing, Unlinked
from recondition.worth.supplies import due, minimum_due

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
    from datetime import date

    from recondition.book import Connection
    from recondition.book.engine import Book
    from recondition.book.posting import Result
    from recondition.ledger.approvals import Approval, OwnerInvoice
    from recondition.ledger.drafts import Stored
    from recondition.worth.estimates import Candidate

SUPPLIES, MINIMUM = "shared supplies", "minimum charge"


class DeclinedAndAgreed(Refused):
    """An owner is said to agree to what cannot be undone in work that the same answer declines."""

    exit_status = 2

    def __init__(self) -> None:
        """Say what to do."""
        super().__init__(
            "the answer declines the work and agrees to what cannot be undone in it",
            todo="Take the agreement out, or enter that the work is approved.",
        )


class NothingToAgree(Refused):
    """An owner is said to agree to what cannot be undone, and none of the work is such."""

    exit_status = 2

    def __init__(self) -> None:
        """Say what to do."""
        super().__init__(
            "none of this work is marked as one that cannot be undone",
            todo="Leave the agreement out, or mark the work as irreversible first.",
        )


@again
def answered(  # noqa: PLR0913 - each is a separate choice of the caller
    book: Book,
    values: Mapping[str, str],
    *,
    author_ref: str,
    ref: str | None = None,
    key: str | None = None,
    said: Collection[str] = (),
    agreed: bool = False,
) -> list[Result]:
    """Enter an owner's answer; where they ``agreed``, that what cannot be undone may be done too.

    Both are entered, or neither. What is given besides is given as to ``form.one_row``. Raises
    DeclinedAndAgreed or NothingToAgree, and what that raises and refuses.
    """
    with book.writing() as conn:
        poster = Poster(book, conn, reading.author_of(conn, author_ref))
        draft = draft_of(conn, "approvals", values, ref=ref, key=key)
        results = [poster.post(replace(draft, said=frozenset(said if key else ())))]
        if agreed:
            results += map(poster.post, _agreed(conn, draft.entry, key))
    return results


def _agreed(conn: Connection, answer: Approval, key: str | None) -> Iterator[Draft]:
    """Give the work of an answer that cannot be undone as work to which the owner agreed."""
    if answer.answer is Answer.DECLINED:
        raise DeclinedAndAgreed
    work: list[Stored[Candidate]] = reading.stored(conn, "candidate", ids=answer.candidates)
    found = [each for each in work if each.entry.irreversible]
    if not found:
        raise NothingToAgree
    for each in found:
        yield Draft(
            id=uuid.uuid4().hex, kind=each.kind, ref=each.ref,
            entry=replace(each.entry, consent_given=True),
            key=f"{key}:agreed:{each.ref}" if key else None, said=frozenset({"consent_given"}),
        )  # fmt: skip


def _next(conn: Connection) -> str:
    """Give the next free ref of a charge."""
    return next_ref("X-", reading.all_refs(conn, "charge"))


@again
def supplies(book: Book, stock: str, *, author_ref: str) -> str:
    """Charge a job what is due for shared supplies, and take it off the shop's overhead.

    Both lines are posted together, so that nothing counts twice. Gives what to say.
    """
    with book.writing() as conn:
        poster = Poster(book, conn, reading.author_of(conn, author_ref))
        vehicle = vehicle_of(conn, stock)
        settings = reading.settings_of(conn)
        lines = [line for line in reading.lines(conn, vehicle.id) if not line.reversed_by]
        labour = [line for line in lines if isinstance(line.entry, Labour)]
        consigned = vehicle.entry.holding is Holding.CONSIGNED
        worked = [
            (line.priced.billed if consigned else line.priced.cost)
            for line in labour
            if line.priced is not None
        ]
        before = [
            line.priced.cost
            for line in lines
            if getattr(line.entry, "operation", None) == SUPPLIES and line.priced is not None
        ]
        amount = due(
            settings.shared_supplies,
            sum((line.entry.quantity.to("h") for line in labour), Fraction(0)),
            total((each for each in worked if each is not None), settings.currency),
            total(before, settings.currency),
        )
        if not amount:
            return f"Nothing more is due for shared supplies: {settings.shared_supplies.text}."
        refs = []
        for vehicle_id, price, unlinked, purpose in (
            (Id(vehicle.id), amount, Unlinked.WHOLE_VEHICLE, Purpose.RECONDITIONING),
            (None, -amount, Unlinked.OVERHEAD, Purpose.OVERHEAD),
        ):
            entry = Charge(
                vehicle=vehicle_id,
                work_date=book.now().astimezone().date(),
                words=Words(f"Shared supplies, {settings.shared_supplies.text}"),
                unlinked=unlinked,
                purpose=purpose,
                standing=Standing.ASSUMED,
                operation=SUPPLIES,
                price=price,
            )
            refs.append(_next(conn))
            poster.post(Draft(id=uuid.uuid4().hex, kind="charge", ref=refs[-1], entry=entry))
    return f"charge {refs[0]}: {amount} on {stock}, taken off the shop's overhead as {refs[1]}"


@again
def minimum(book: Book, stock: str, *, author_ref: str) -> str:
    """Bill an owner what is missing to the minimum charge; take back what no longer is.

    Raises NoOwner; gives what to say.
    """
    with book.writing() as conn:
        poster = Poster(book, conn, reading.author_of(conn, author_ref))
        vehicle = owed.consigned_vehicle(conn, stock)
        settings = reading.settings_of(conn)
        lines = reading.lines(conn, vehicle.id)
        made = [line for line in lines if getattr(line.entry, "operation", None) == MINIMUM]
        own = {line.id for line in made}
        billed = _billed((ln for ln in lines if not {ln.id, ln.reverses} & own), settings.currency)
        standing = [line for line in made if not line.reversed_by]
        added = _billed(standing, settings.currency)
        missing = minimum_due(settings.minimum_charge, billed)
        if missing == added:
            return f"{billed + added} is billed; the minimum charge is {settings.minimum_charge}."
        today = book.now().astimezone().date()
        said = []
        for line in standing:
            why = f"{billed} is billed besides the minimum charge"
            back = reversal_of(line, why, max(today, line.entry.work_date))
            poster.post(back)
            said.append(f"reversal {back.ref}: charge {line.ref} is taken back")
        if missing:
            entry = Charge(
                vehicle=Id(vehicle.id),
                work_date=today,
                words=Words(f"Minimum charge of {settings.minimum_charge}"),
                unlinked=Unlinked.WHOLE_VEHICLE,
                purpose=Purpose.RECONDITIONING,
                standing=Standing.ASSUMED,
                operation=MINIMUM,
                price=Money.zero(settings.currency),
                billed=missing,
            )
            ref = _next(conn)
            poster.post(Draft(id=uuid.uuid4().hex, kind="charge", ref=ref, entry=entry))
            said.append(f"charge {ref}: {missing} billed, up to the minimum charge")
    return "\n".join(said)


def _billed(lines: Iterable[Stored[Any]], currency: str) -> Money:
    """Add up what lines bill."""
    bills = (line.priced.billed for line in lines if line.priced)
    return total((each for each in bills if each is not None), currency)


@again
def invoice(
    book: Book,
    stock: str,
    *,
    author_ref: str,
    issued_on: date,
    write: Callable[[Connection, OwnerInvoice, str], None],
) -> str:
    """Post the invoice of everything not billed yet; give its number.

    ``write`` makes the paper before anything is kept: where it cannot, nothing is posted.
    Raises NoOwner, NothingToBill and what posting names.
    """
    with book.writing() as conn:
        poster = Poster(book, conn, reading.author_of(conn, author_ref))
        entry = owed.unbilled(conn, stock, issued_on)
        number = next_ref("IV-", reading.all_refs(conn, "owner invoice"))
        draft = Draft(id=uuid.uuid4().hex, kind="owner invoice", ref=number, entry=entry)
        poster.post(draft)
        write(conn, entry, number)
    return number
