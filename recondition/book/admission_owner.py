"""What an entry about an owner's job must satisfy against the rest of the book."""

from __future__ import annotations

from typing import Any

from sqlalchemy import select

from recondition.amounts import Money
from recondition.amounts.money import total
from recondition.book.context import Context
from recondition.book.tables import line, record, relation
from recondition.book.tables_books import entry_reversal
from recondition.errors import Refused
from recondition.ledger.approvals import Approval, ChangeRequest, OwnerInvoice
from recondition.worth.estimates import Candidate


class NobodyToAsk(Refused):
    """An owner's approval for a vehicle that is the shop's own."""

    def __init__(self, vehicle: str) -> None:
        """Name the vehicle."""
        super().__init__(
            f"vehicle {vehicle} is the shop's own stock: no owner allows or pays its work",
            todo="Name a consigned vehicle.",
        )


class WorkOfAnotherVehicle(Refused):
    """Candidate work of one vehicle in the approval of another."""

    def __init__(self, candidate: str) -> None:
        """Name the work."""
        super().__init__(
            f"candidate work {candidate} is of another vehicle",
            todo="Name work on this vehicle only.",
        )


class BilledTwice(Refused):
    """A line that stands on an owner's invoice already."""

    def __init__(self, ref: str, invoice: str) -> None:
        """Name the line and its invoice."""
        super().__init__(
            f"line {ref} was billed already, on {invoice}",
            todo="Leave it out; a reversal is credited on the next invoice.",
        )


class NotABilledLine(Refused):
    """An invoice names a line that bills this owner nothing, or another one."""

    def __init__(self, ref: str) -> None:
        """Name the line."""
        super().__init__(
            f"line {ref} bills nothing to the owner of this vehicle", todo="Leave it out."
        )


class InvoiceDiffers(Refused):
    """The total of an invoice is not the sum of its lines."""

    def __init__(self, found: Money, wanted: Money) -> None:
        """Show both."""
        super().__init__(
            f"the invoice says {found}, and its lines add up to {wanted}",
            todo="Make the invoice from its lines.",
        )


def admit(context: Context, entry: Any) -> None:  # noqa: ANN401 - any entry class
    """Refuse what contradicts the owner's job on record. Raises what this module names."""
    if not isinstance(entry, Approval | ChangeRequest | OwnerInvoice):
        return
    if not context.consigned(entry.vehicle):
        raise NobodyToAsk(context.ref(entry.vehicle))
    if isinstance(entry, OwnerInvoice):
        _invoice(context, entry)
        return
    for each in entry.candidates:
        candidate: Candidate = context.entry("candidate", each)
        if candidate.vehicle != entry.vehicle:
            raise WorkOfAnotherVehicle(context.ref(each))


def _invoice(context: Context, entry: OwnerInvoice) -> None:
    """Hold that an invoice bills lines of its vehicle, each once, and adds up."""
    billed: list[Money] = []
    currency = entry.total.currency
    for each in entry.lines:
        query = select(line.c.vehicle, line.c.billed_minor).where(line.c.record_id == each)
        row = context.conn.execute(query).first()
        if row is None or row.vehicle != entry.vehicle or row.billed_minor is None:
            raise NotABilledLine(context.ref(each))
        before = (
            select(record.c.entity)
            .join(relation, relation.c.record_id == record.c.id)
            .where(record.c.kind == "owner invoice", relation.c.target == each)
            .where(record.c.id.not_in(select(entry_reversal.c.reverses)))
        )
        other = context.conn.execute(before).scalar()
        if other is not None:
            raise BilledTwice(context.ref(each), context.ref(other))
        billed.append(Money(row.billed_minor, currency))
    wanted = total(billed, currency)
    if wanted != entry.total:
        raise InvoiceDiffers(entry.total, wanted)
