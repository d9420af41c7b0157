"""What a draft's money comes from in the book: rates, stock, and the line it takes back."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from sqlalchemy import Connection

from recondition.amounts import Money, Quantity
from recondition.book import owed, projection
from recondition.book.booking import Booking
from recondition.book.context import Context
from recondition.book.measured import Bench
from recondition.book.shelf import Shelf
from recondition.ledger.codec import PlainDict, encode_fields
from recondition.ledger.days import BeforeItsCause
from recondition.ledger.lines import (
    Bought,
    Consumable,
    Count,
    Entered,
    Labour,
    Payer,
    Reversal,
    document_day,
)
from recondition.ledger.people import Rate
from recondition.ledger.periods import booking_period
from recondition.ledger.pricing import Priced, price, reverse
from recondition.ledger.rules import (
    AlreadyReversed,
    NoChargeOutRate,
    NoRate,
    PriceBesideStock,
    ReversalOfReversal,
    StaysWithItsVehicle,
    check_line,
)
from recondition.materials.measuring import Measure
from recondition.materials.receiving import (
    LateFreight,
    MixedBatch,
    Receipt,
    StockReversal,
    SupplierReturn,
)
from recondition.materials.stock import Flow, Movement


@dataclass(frozen=True, slots=True)
class Worked:
    """What was worked out for a draft.

    Its priced part, the payload of a line it takes back, and what it does to stock.
    """

    priced: PlainDict
    original: dict[str, Any] | None = None
    movement: Movement | None = None


@dataclass(frozen=True, slots=True)
class _Stocked:
    """Cost and amount of a line that moves stock."""

    cost: Money | None = None
    quantity: Quantity | None = None
    measure: Measure | None = None
    movement: Movement | None = None


class Pricer:
    """Prices drafts inside one transaction."""

    def __init__(
        self, conn: Connection, context: Context, lock: Callable[[str], object],
        flush: Callable[[], None],
    ) -> None:  # fmt: skip
        """Read through one connection; ``flush`` writes what waits to be read again."""
        self._context = context
        self._flush = flush
        self._shelf = Shelf(conn, context, lock)
        self._bench = Bench(conn, context, flush)
        self._booking = Booking(context, flush)

    def forget(self) -> None:
        """Forget what is on hand, and read it again from what was posted."""
        self._shelf.forget()

    def work_out(self, record_id: str, entry: Any) -> Worked:  # noqa: ANN401 - any entry class
        """Work out what an entry costs and what it does to stock."""
        if isinstance(entry, Reversal):
            return self._reversed(record_id, entry)
        if isinstance(entry, Entered):
            return self._line(record_id, entry)
        booked = self._booking.work_out(entry)
        plain = encode_fields(booked) if booked is not None else {}
        return Worked(plain, movement=self._stock_event(record_id, entry))

    def _stock_event(self, record_id: str, entry: Any) -> Movement | None:  # noqa: ANN401 - as above
        """Take an entry that is no line through stock; None for what moves none."""
        match entry:
            case Receipt():
                return self._shelf.receive(record_id, entry)
            case SupplierReturn():
                return self._shelf.send_back(record_id, entry)
            case LateFreight():
                return self._freight(record_id, entry)
            case StockReversal():
                return self._stock_reversed(record_id, entry)
            case MixedBatch():
                self._shelf.check_there(entry.product, entry.concentrate)
        return None

    def _line(self, record_id: str, entry: Entered) -> Worked:
        """Price one line item."""
        consigned = self._context.consigned(entry.vehicle)
        check_line(entry, consigned=consigned)
        rate = self._rate(entry, consigned=consigned) if isinstance(entry, Labour) else None
        day = document_day(entry)
        period = booking_period(entry.period, day, self._context.closed_periods())
        named = entry.tax_code if isinstance(entry, Bought) else None
        code = self._context.tax_code(named, day) if named else None
        stocked = self._stocked(record_id, entry)
        priced = replace(
            price(
                entry,
                rate,
                consigned=consigned,
                stock_cost=stocked.cost,
                amount=stocked.quantity,
                tax_code=code,
            ),
            quantity=stocked.quantity,
            measure=stocked.measure,
            period=period,
        )
        if consigned and owed.is_watched(self._context.conn, str(entry.vehicle)):
            self._flush()
            owed.check_line(self._context, entry, priced)
        return Worked(encode_fields(priced), movement=stocked.movement)

    def _rate(self, entry: Labour, *, consigned: bool) -> Rate:
        """Give the rate of the person who worked. Raises NoRate, NoChargeOutRate."""
        rate = self._context.rate(entry.person, entry.work_date)
        who, day = self._context.person(entry.person), entry.work_date.isoformat()
        if rate is None:
            raise NoRate(who, day)
        nobody_pays = entry.rework is not None and entry.rework.payer is not Payer.OWNER
        bills = consigned and entry.billed is None and not nobody_pays
        if bills and rate.charge_out_rate is None:
            raise NoChargeOutRate(who, day)
        return rate

    def _stocked(self, record_id: str, entry: Entered) -> _Stocked:
        """Take a consumable or a count through stock; nothing for what has none."""
        if isinstance(entry, Count):
            return self._counted(record_id, entry)
        if not isinstance(entry, Consumable):
            return _Stocked()
        measured = self._bench.amount(entry)
        if entry.price is not None:
            if self._shelf.keeps(entry.product):
                raise PriceBesideStock(self._shelf.product(entry.product).name)
            return _Stocked(quantity=measured.quantity, measure=measured.measure)
        movement = self._shelf.use(record_id, entry, measured.quantity.number)
        return _Stocked(movement.cost, measured.quantity, measured.measure, movement)

    def _counted(self, record_id: str, entry: Count) -> _Stocked:
        """Adjust stock to a count: a loss costs, a gain has a negative cost."""
        movement = self._shelf.count(record_id, entry)
        unit = self._shelf.product(entry.product).unit
        if movement is None:
            zero = Money.zero(self._context.settings().currency)
            return _Stocked(zero, Quantity.of(0, unit), entry.measure)
        loss = movement.flow is Flow.COUNT_LOSS
        cost = movement.cost if loss else -movement.cost
        amount = Quantity(movement.quantity if loss else -movement.quantity, unit)
        return _Stocked(cost, amount, entry.measure, movement)

    def _freight(self, record_id: str, entry: LateFreight) -> Movement:
        """Add late freight to its receipt."""
        self._flush()
        receipt: Receipt = self._context.entry("receipt", entry.receipt)
        received = self._shelf.amount(receipt.product, receipt.quantity)
        return self._shelf.late_freight(record_id, entry, received)

    def _stock_reversed(self, record_id: str, entry: StockReversal) -> Movement:
        """Undo a receipt, late freight or a return."""
        self._flush()
        original = self._shelf.movement_of(entry.reverses)
        if original is None:
            message = f"{entry.reverses} moved no stock"
            raise ValueError(message)
        return self._shelf.take_back(record_id, original, entry.reversed_on)

    def _reversed(self, record_id: str, entry: Reversal) -> Worked:
        """Work out the exact negative of the line that a reversal names."""
        self._flush()
        original, by = self._context.line(entry.reverses)
        ref = self._context.ref(entry.reverses)
        began = date.fromisoformat(original["entry"]["work_date"])
        if entry.work_date < began:
            raise BeforeItsCause(
                what="the reversal", day=entry.work_date, cause=f"line {ref}", began=began
            )
        if entry.vehicle != original["entry"].get("vehicle"):
            raise StaysWithItsVehicle(ref)
        if projection.is_reversal(original):
            raise ReversalOfReversal(ref)
        if by is not None:
            raise AlreadyReversed(ref, self._context.ref(by))
        moved = self._shelf.movement_of(entry.reverses)
        movement = self._shelf.take_back(record_id, moved, entry.work_date) if moved else None
        negative: Priced = reverse(self._context.priced(original))
        closed = self._context.closed_periods()
        period = booking_period(
            entry.period, entry.work_date, closed, not_before=original["priced"]["period"]
        )
        return Worked(encode_fields(replace(negative, period=period)), original, movement)
