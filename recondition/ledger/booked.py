"""What is worked out when something other than a line is booked, and kept with its record."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from recondition.amounts import Money
from recondition.errors import Refused
from recondition.fields import Id, Words


@dataclass(frozen=True, slots=True, kw_only=True)
class Booked:
    """The posting period (YYYY-MM) and what of these was worked out; None for the rest.

    ``home`` is a document's total in the home currency; ``settled`` what a payment takes off
    the account it settles, ``exchange`` by how much more than that was paid (below zero: less).
    ``hammer``, ``commission``, ``fees``, ``shop_commission`` and ``premium`` are those of a
    sale; ``scheme_price`` and ``margin`` of a sale under the margin scheme. ``tax`` is the tax
    on it. ``carrying`` is what a vehicle stood at before its value was tested, ``change`` by how
    much the test moved it.
    """

    period: str
    home: Money | None = None
    settled: Money | None = None
    exchange: Money | None = None
    hammer: Money | None = None
    commission: Money | None = None
    premium: Money | None = None
    fees: Money | None = None
    shop_commission: Money | None = None
    tax: Money | None = None
    scheme_price: Money | None = None
    margin: Money | None = None
    carrying: Money | None = None
    change: Money | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class EntryReversal:
    """Takes back a supplier invoice, a payment, a sale, an owner invoice or a value test.

    The old record stays readable; its journal entries come once more with their sides changed.
    """

    vehicle: Id | None = None
    reverses: Id
    reversed_on: date
    why: Words
    period: str | None = None


class EntryAlreadyReversed(Refused):
    """Something booked that was taken back before."""

    def __init__(self, ref: str) -> None:
        """Name it."""
        super().__init__(f"{ref} was taken back already", todo="Nothing is left to take back.")


class StillRelied(Refused):
    """Something booked that other bookings rest on."""

    def __init__(self, ref: str, by: str) -> None:
        """Name both."""
        super().__init__(
            f"{ref} cannot be taken back while {by} rests on it",
            todo=f"Take back {by} first ('recondition post undo {by} WHY').",
        )
