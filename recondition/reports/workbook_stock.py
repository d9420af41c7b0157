"""The stock sheets of the bookkeeper's workbook: what is on hand, and every movement."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from openpyxl.utils import get_column_letter

from recondition.amounts.currencies import minor_digits
from recondition.book import reading, sums
from recondition.book.kinds import LINE_KINDS
from recondition.materials.balance import balance
from recondition.materials.stock import Flow
from recondition.reports.sheet_writer import Formula, money_format

if TYPE_CHECKING:
    from recondition.book import Connection
    from recondition.materials.stock import Movement

_SOURCES = ("receipt", "late freight", "supplier return", "stock reversal")

STOCK, MOVEMENTS = "stock", "stock movements"
_IN = (Flow.RECEIVED, Flow.COUNT_GAIN)

MOVEMENT_HEADINGS = (
    "product", "name", "number", "day", "recorded at", "flow", "record", "stock number",
    "quantity", "unit", "cost", "price difference", "on hand", "value", "currency",
)  # fmt: skip
_PRODUCT, _FLOW, _QUANTITY, _COST, _DIFFERENCE = (
    get_column_letter(MOVEMENT_HEADINGS.index(name) + 1)
    for name in ("product", "flow", "quantity", "cost", "price difference")
)
STOCK_HEADINGS = (
    "product", "name", "unit", "currency",
    *(f"{flow.value}, amount" for flow in Flow), "on hand",
    "on hand, live", "on hand, difference",
    *(f"{flow.value}, cost" for flow in Flow), "price difference", "value",
    "value, live", "value, difference",
)  # fmt: skip


class _Stock:
    """Products that were ever in stock, with their movements in the order of posting."""

    def __init__(self, conn: Connection) -> None:
        self.currency = reading.settings_of(conn).currency
        products = sorted(reading.stored(conn, "product"), key=lambda item: item.ref)
        place = {item.id: number for number, item in enumerate(products)}
        self.products = {item.id: item for item in products}
        self.moves = sorted(
            reading.stored(conn, "movement"),
            key=lambda item: (place[item.entry.product], item.sequence),
        )
        self.refs = reading.refs_by_id(conn, (*LINE_KINDS, *_SOURCES))
        self.cars = sums.vehicles_of_movements(conn)

    def movements(self) -> Iterator[tuple[Any, ...]]:
        """Give one row a movement."""
        numbers: dict[str, int] = {}
        for item in self.moves:
            move: Movement = item.entry
            numbers[move.product] = numbers.get(move.product, 0) + 1
            product = self.products[move.product]
            yield (
                product.ref, product.entry.name, numbers[move.product], move.moved_on,
                item.recorded_at, move.flow.value, self.refs.get(move.source),
                self.cars.get(move.source), move.quantity, product.entry.unit, move.cost,
                move.price_difference, move.on_hand, move.value, self.currency,
            )  # fmt: skip

    def stock(self) -> Iterator[tuple[Any, ...]]:
        """Give one row a product: the stock identity in amount and cost, with its live check."""
        last = max(len(self.moves) + 1, 2)
        found: dict[str, list[Movement]] = {}
        for item in self.moves:
            found.setdefault(item.entry.product, []).append(item.entry)
        for row, (key, moves) in enumerate(found.items(), start=2):
            product, summed = self.products[key], balance(moves, self.currency)
            yield (
                product.ref, product.entry.name, product.entry.unit, self.currency,
                *(summed.quantity[flow] for flow in Flow), *_amount(moves[-1], row, last),
                *(summed.cost[flow] for flow in Flow), summed.price_difference,
                *_value(moves[-1], row, last),
            )  # fmt: skip


def sheets(conn: Connection) -> Iterator[tuple[str, tuple[str, ...], Iterator[tuple[Any, ...]]]]:
    """Give the stock sheets: name, headings, rows. Stock is of the whole book."""
    found = _Stock(conn)
    yield STOCK, STOCK_HEADINGS, found.stock()
    yield MOVEMENTS, MOVEMENT_HEADINGS, found.movements()


def _amount(last_move: Movement, row: int, last: int) -> tuple[Any, ...]:
    """Give what is on hand by the book, by the movements sheet, and the difference."""
    live = f"=ROUND({_netted(_QUANTITY, row, last)},9)"
    book, there = _cells("on hand")
    look = "0.#########"
    return (
        last_move.on_hand,
        Formula(live, look),
        Formula(f"=ROUND({book}{row}-{there}{row},9)", look),
    )


def _value(last_move: Movement, row: int, last: int) -> tuple[Any, ...]:
    """Give what is on hand is worth by the book, by the movements sheet, and the difference."""
    digits = minor_digits(last_move.value.currency)
    look = money_format(last_move.value.currency)
    netted = _netted(_COST, row, last)
    difference = _summed(_DIFFERENCE, row, last)
    book, there = _cells("value")
    return (
        last_move.value,
        Formula(f"=ROUND({netted}-{difference},{digits})", look),
        Formula(f"=ROUND({book}{row}-{there}{row},{digits})", look),
    )


def _cells(name: str) -> tuple[str, str]:
    """Give the columns of a book value and of its live formula."""
    place = STOCK_HEADINGS.index(name) + 1
    return get_column_letter(place), get_column_letter(place + 1)


def _summed(column: str, row: int, last: int, flow: Flow | None = None) -> str:
    """Write the sum of a column over the movements of this row's product, of one flow."""
    same = f"EXACT('{MOVEMENTS}'!${_PRODUCT}$2:${_PRODUCT}${last},$A{row})"
    kind = f"*('{MOVEMENTS}'!${_FLOW}$2:${_FLOW}${last}=\"{flow.value}\")" if flow else ""
    return f"SUMPRODUCT({same}{kind}*'{MOVEMENTS}'!${column}$2:${column}${last})"


def _netted(column: str, row: int, last: int) -> str:
    """Write what came in less what went out, of a column."""
    came = "+".join(_summed(column, row, last, flow) for flow in _IN)
    went = "-".join(_summed(column, row, last, flow) for flow in Flow if flow not in _IN)
    return f"{came}-{went}"
