"""The stock sheets of the bookkeeper's workbook: what is on hand, and every movement."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from openpyxl.utils import get_column_letter

from recondition.amounts import Money
from recondition.amounts.currencies import minor_digits
from recondition.materials.balance import balance
from recondition.materials.stock import Flow
from recondition.reports.sheet_writer import Formula, money_format

if TYPE_CHECKING:
    from recondition.ledger.drafts import Stored
    from recondition.materials.stock import Movement
    from recondition.reports.books_data import BooksData

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


def movements(data: BooksData) -> Iterator[tuple[Any, ...]]:
    """Give one row a movement, by product and in the order of posting."""
    products = {item.id: item for item in data.products}
    numbers: dict[str, int] = {}
    cars = {item.id for item in data.vehicles}
    lines = {line.id: line for line in data.lines}
    for item in data.movements:
        move: Movement = item.entry
        numbers[move.product] = numbers.get(move.product, 0) + 1
        product = products[move.product]
        line = lines.get(move.source)
        vehicle = line.subject.removeprefix("vehicle:") if line else ""
        yield (
            product.ref,
            product.entry.name,
            numbers[move.product],
            move.moved_on,
            item.recorded_at,
            move.flow.value,
            data.refs.get(move.source),
            data.refs[vehicle] if vehicle in cars else None,
            move.quantity,
            product.entry.unit,
            move.cost,
            move.price_difference,
            move.on_hand,
            move.value,
            data.settings.currency,
        )


def _of(data: BooksData) -> Iterator[tuple[Stored[Any], list[Movement]]]:
    """Give each product that was ever in stock with its movements."""
    found: dict[str, list[Movement]] = {}
    for item in data.movements:
        found.setdefault(item.entry.product, []).append(item.entry)
    for product in data.products:
        if product.id in found:
            yield product, found[product.id]


def stock(data: BooksData) -> Iterator[tuple[Any, ...]]:
    """Give one row a product: the stock identity in amount and in cost, with its live check."""
    last = max(len(data.movements) + 1, 2)
    for row, (product, moves) in enumerate(_of(data), start=2):
        summed = balance(moves, data.settings.currency)
        yield (
            product.ref,
            product.entry.name,
            product.entry.unit,
            data.settings.currency,
            *(summed.quantity[flow] for flow in Flow),
            *_amount(moves[-1], row, last),
            *(summed.cost[flow] for flow in Flow),
            summed.price_difference,
            *_value(moves[-1], row, last),
        )


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


def issued_by_lines(data: BooksData) -> tuple[Money, Money]:
    """Give what lines and counts cost that came from stock: by the lines, by the movements.

    The two are the same, since a line from stock costs what left stock.
    """
    zero = Money.zero(data.settings.currency)
    sources = {item.entry.source: item.entry for item in data.movements}
    by_lines, by_moves = zero, zero
    for line in data.lines:
        move = sources.get(line.id)
        if move is None or line.priced is None:
            continue
        by_lines += line.priced.cost
        by_moves += -move.cost if move.flow in _IN else move.cost
    return by_lines, by_moves
