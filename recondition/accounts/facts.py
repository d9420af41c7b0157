"""What the journal is derived from: plain facts, each with its posting period and day.

Amounts are whole minor units of the home currency. Days are ISO 8601 texts, periods YYYY-MM,
so both sort as they stand. ``vehicle`` is a record's id.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import NamedTuple

InvoiceKey = tuple[str, str]
"""Supplier's id and the number on the invoice, folded."""


def invoice_key(supplier: str | None, number: str | None) -> InvoiceKey | None:
    """Give what ties lines to a supplier invoice; None where either is missing."""
    if not supplier or not number:
        return None
    return supplier, " ".join(number.split()).casefold()


@dataclass(frozen=True, slots=True, kw_only=True)
class Undone:
    """When something booked was taken back, and under which ref."""

    period: str
    day: str
    ref: str


class LineFact(NamedTuple):
    """One posted line. ``happened`` is the day of the original where it takes one back.

    A named tuple, since there are as many as lines.
    ``kind`` and ``purpose`` are the line's words; ``consigned`` is None for the shop's own.
    """

    ref: str
    kind: str
    vehicle: str | None
    consigned: bool | None
    purpose: str
    item: str | None
    day: str
    happened: str
    period: str
    cost: int
    tax_recovered: int
    billed: int
    invoice: InvoiceKey | None
    settled: str | None
    from_stock: bool
    supplier: str | None = None
    number: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class StockFact:
    """What a movement did to the value of stock.

    ``difference`` is what went to price difference, ``owed`` what is owed for it (below zero:
    credited) without the tax that comes back; the value on hand changes by ``owed`` less
    ``difference``. ``owed`` is zero for a movement that a line caused, whose cost the line has.
    ``tax_kept`` is the tax in ``owed`` that does not come back.
    """

    ref: str
    what: str
    day: str
    period: str
    difference: int
    owed: int
    tax_recovered: int
    invoice: InvoiceKey | None
    settled: str | None
    supplier: str | None = None
    number: str | None = None
    tax_kept: int = 0

    @property
    def record(self) -> tuple[str, str]:
        """Kind and ref of what moved stock; a movement is named by the line that caused it."""
        kind = self.what.removesuffix(f" {self.ref}")
        if kind != self.what:
            return kind, self.ref
        caused, _, ref = self.ref.partition(":")
        return (caused, ref) if ref else (self.what, self.ref)


@dataclass(frozen=True, slots=True, kw_only=True)
class InvoiceFact:
    """A supplier invoice as recorded. ``before`` is what its lines booked as owed before it came.

    ``other`` is the part of that which stands on the other account of what is owed: a seller's
    for a supplier's invoice, and the other way round. ``opening`` invoices were owed before the
    book began. ``rounding`` are the cents by which lines in foreign money miss the total once they
    are all there, in ``rounding_period``.
    """

    ref: str
    key: InvoiceKey
    supplier: str
    number: str
    day: str
    period: str
    total: int
    before: int
    seller: bool
    opening: bool
    rounding: int = 0
    rounding_period: str = ""
    rounding_day: str = ""
    other: int = 0
    undone: Undone | None = None


class Windows:
    """From which period until which each supplier invoice is on record, by its key."""

    def __init__(self) -> None:
        """Begin with none."""
        self._windows: dict[InvoiceKey, list[tuple[str, str | None]]] = {}

    def add(self, fact: InvoiceFact) -> None:
        """Take an invoice; one that was owed before the book began has no lines here."""
        if not fact.opening:
            until = fact.undone.period if fact.undone else None
            self._windows.setdefault(fact.key, []).append((fact.period, until))

    def holds(self, key: InvoiceKey | None, period: str) -> bool:
        """Tell whether an invoice is on record at the end of a period."""
        if key is None:
            return False
        return any(
            since <= period and (until is None or period < until)
            for since, until in self._windows.get(key, ())
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class PaymentFact:
    """Money that moved. ``settled`` comes off the account it settles, ``exchange`` is beyond it.

    ``against`` is the role of that account; ``received`` tells money in from money out. A set-off
    (``set_off``) moves no bank: it takes an owner's bill out of the proceeds of the sale of
    ``proceeds``, which may be another vehicle of that owner.
    """

    ref: str
    day: str
    period: str
    received: bool
    set_off: bool
    against: str
    vehicle: str | None
    settled: int
    exchange: int
    proceeds: str | None = None
    undone: Undone | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SaleFact:
    """A sale, or a car that came back unsold or withdrawn (``result``)."""

    ref: str
    vehicle: str
    consigned: bool
    result: str
    day: str
    period: str
    hammer: int
    commission: int
    fees: int
    shop_commission: int
    tax: int
    tax_on_top: bool
    undone: Undone | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnerInvoiceFact:
    """An owner's invoice: (kind of line, billed, cost in process) of each line, and its tax."""

    ref: str
    vehicle: str
    day: str
    period: str
    lines: tuple[tuple[str, int, int], ...]
    tax: int
    undone: Undone | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ValueFact:
    """A write-down (``change`` below zero) or its recovery."""

    ref: str
    vehicle: str
    day: str
    period: str
    change: int
    undone: Undone | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class AccrualFact:
    """Sublet work accrued at the close of ``period``; reversed on the first day of the next."""

    ref: str
    vehicle: str
    consigned: bool
    happened: str
    period: str
    amount: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Facts:
    """Everything the journal of a book is derived from.

    ``lines`` come in the order of their periods, which ``line_periods`` lists; they are read
    once, while the journal is made. ``names`` gives a vehicle's stock number and a supplier's
    ref by id.
    """

    lines: Iterable[LineFact] = ()
    line_periods: frozenset[str] = frozenset()
    stock: tuple[StockFact, ...] = ()
    invoices: tuple[InvoiceFact, ...] = ()
    payments: tuple[PaymentFact, ...] = ()
    sales: tuple[SaleFact, ...] = ()
    owner_invoices: tuple[OwnerInvoiceFact, ...] = ()
    values: tuple[ValueFact, ...] = ()
    accruals: tuple[AccrualFact, ...] = ()
    names: Mapping[str, str] = field(default_factory=dict)
