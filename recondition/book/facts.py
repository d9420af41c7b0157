"""Reading what the journal is derived from: lines and stock."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cache
from typing import Any

from sqlalchemy import ColumnElement, Connection, Row, Select, and_, case, func, literal, select

from recondition.accounts.facts import (
    LineFact,
    StockFact,
    Undone,
    invoice_key,
)
from recondition.amounts.documents import Settled
from recondition.book import reading
from recondition.book.booking import day_booked
from recondition.book.tables import entity, line, vehicle
from recondition.book.tables_books import entry_reversal
from recondition.book.tables_stock import movement
from recondition.condition.vehicle import Holding
from recondition.ledger.drafts import Stored
from recondition.ledger.lines import LineKind
from recondition.ledger.periods import month_of
from recondition.materials.receiving import Receipt, StockReversal, SupplierReturn
from recondition.materials.stock import Flow

_INTO_STOCK = (Flow.RECEIVED, Flow.COUNT_GAIN)
_OF_STOCK = ("receipt", "late freight", "supplier return", "stock reversal")
_FROM_STOCK = (LineKind.CONSUMABLE.value, LineKind.COUNT.value)


def on_account() -> ColumnElement[bool]:
    """Give the condition that a line is owed, and not paid at once or before the book began."""
    return line.c.settled.is_(None) | (line.c.settled == Settled.ON_ACCOUNT.value)


def holdings(conn: Connection) -> dict[str, bool]:
    """Tell of every vehicle, by id, whether it belongs to somebody else."""
    query = select(entity.c.id, vehicle.c.holding).join(
        vehicle, vehicle.c.record_id == entity.c.current
    )
    return {row.id: row.holding == Holding.CONSIGNED for row in conn.execute(query)}


@cache
def lines_query() -> Select[Any]:
    """Give the query of what the journal needs of each line, in the order of periods."""
    first = line.alias("first")
    own = func.coalesce(line.c.tax_point, line.c.work_date)
    day = case((line.c.reverses.is_not(None), line.c.work_date), else_=own)
    happened = func.coalesce(first.c.work_date, line.c.work_date)
    stocked = and_(line.c.kind.in_(_FROM_STOCK), line.c.price_minor.is_(None))
    return (
        select(
            line.c.record_id, entity.c.ref, line.c.kind, line.c.vehicle, line.c.purpose,
            line.c.item, day.label("day"), happened.label("happened"), line.c.period,
            line.c.cost_minor, func.coalesce(line.c.tax_recovered_minor, 0).label("recovered"),
            line.c.billed_minor, line.c.supplier,
            line.c.invoice_number, line.c.settled,
            case((stocked, literal(1)), else_=literal(0)).label("stocked"),
        )
        .join(entity, entity.c.id == line.c.record_id)
        .outerjoin(first, first.c.record_id == line.c.reverses)
        .order_by(line.c.period, line.c.work_date, line.c.record_id)
    )  # fmt: skip


def line_fact(row: Row[Any], consigned: Mapping[str, bool]) -> LineFact:
    """Read one line of that query."""
    return LineFact(
        ref=row.ref,
        kind=row.kind,
        vehicle=row.vehicle,
        consigned=consigned.get(row.vehicle) if row.vehicle else None,
        purpose=row.purpose,
        item=row.item,
        day=row.day,
        happened=row.happened,
        period=row.period,
        cost=row.cost_minor,
        tax_recovered=row.recovered,
        billed=row.billed_minor or 0,
        invoice=invoice_key(row.supplier, row.invoice_number),
        settled=row.settled,
        from_stock=bool(row.stocked),
        supplier=row.supplier,
        number=row.invoice_number,
    )


def line_facts(conn: Connection, consigned: Mapping[str, bool]) -> Iterator[LineFact]:
    """Read lines one after another."""
    query = lines_query().execution_options(yield_per=1000)
    with conn.execute(query) as rows:
        for row in rows:
            yield line_fact(row, consigned)


class UndoneBy:
    """What was taken back, by the id of the record."""

    def __init__(self, conn: Connection) -> None:
        """Read what was taken back."""
        query = select(entry_reversal, entity.c.ref).join(
            entity, entity.c.id == entry_reversal.c.record_id
        )
        self._by_id = {
            row.reverses: Undone(period=row.period, day=row.reversed_on, ref=row.ref)
            for row in conn.execute(query)
        }

    def of(self, record_id: str) -> Undone | None:
        """Say when a record was taken back, None while it stands."""
        return self._by_id.get(record_id)


def period_of(item: Stored[Any]) -> str:
    """Give the period something was booked in; its own month for what an older book holds."""
    return item.booked.period if item.booked else month_of(day_booked(item.entry))


def stock_facts(conn: Connection) -> Iterator[StockFact]:
    """Give what movements did to the value of stock.

    A movement that a line caused has only its price difference here.
    """
    sources = {item.id: item for item in reading.stored(conn, *_OF_STOCK)}
    moved_by = select(line.c.record_id, line.c.period).join(
        movement, movement.c.source == line.c.record_id
    )
    periods = {row.record_id: row.period for row in conn.execute(moved_by)}
    for moved in reading.stored(conn, "movement"):
        move, source = moved.entry, sources.get(moved.entry.source)
        sign = 1 if move.flow in _INTO_STOCK else -1
        difference = move.price_difference.minor
        if source is None:
            if difference:
                yield StockFact(
                    ref=moved.ref,
                    what="stock price difference",
                    day=move.moved_on.isoformat(),
                    period=periods.get(move.source) or month_of(move.moved_on),
                    difference=difference,
                    owed=0,
                    tax_recovered=0,
                    invoice=None,
                    settled=None,
                )
            continue
        bought = _bought(source.entry, sources)
        kept = isinstance(bought, Receipt) and not isinstance(source.entry, SupplierReturn)
        tax = bought.tax_recovered.minor if kept and bought.tax_recovered else 0
        stays = bought.tax_not_recovered.minor if kept and bought.tax_not_recovered else 0
        back = -1 if isinstance(source.entry, StockReversal) else 1
        supplier = getattr(bought, "supplier", None)
        number = getattr(bought, "invoice_number", None)
        if isinstance(source.entry, SupplierReturn):
            number = None
        yield StockFact(
            ref=source.ref,
            what=f"{source.kind} {source.ref}",
            day=move.moved_on.isoformat(),
            period=period_of(source),
            difference=difference,
            owed=sign * move.cost.minor,
            tax_recovered=back * tax,
            invoice=invoice_key(supplier, number) if owed_for(bought) else None,
            settled=getattr(bought, "settled", None),
            supplier=supplier,
            number=number,
            tax_kept=back * stays,
        )


def owed_for(bought: Any) -> bool:  # noqa: ANN401 - stock entries
    """Tell whether something bought is owed, and not paid at once or before the book began."""
    return getattr(bought, "settled", None) in (None, Settled.ON_ACCOUNT)


def _bought(entry: Any, sources: Mapping[str, Stored[Any]]) -> Any:  # noqa: ANN401 - stock entries
    """Give what names supplier and invoice: a return's receipt, a reversal's original."""
    if isinstance(entry, StockReversal):
        return _bought(sources[entry.reverses].entry, sources)
    return sources[entry.receipt].entry if isinstance(entry, SupplierReturn) else entry
