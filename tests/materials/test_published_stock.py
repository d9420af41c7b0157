"""Stock value against a published example, both methods kept event by event.

OpenStax, Principles of Accounting, Volume 1, chapter 10.3 (perpetual): opening stock 150 at
21, sale of 120, purchase of 225 at 27, sale of 180, purchase of 210 at 33, all in USD and
pieces. The book prints the average's results in whole dollars, 8,902 and 7,253. Here each
sale is rounded once, to the cent, as it leaves stock: the second sale is 180 x 6,705 / 255 =
4,732.941..., posted as 4,732.94, and what stays is 16,155 less what was posted, 8,902.06.
"""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest

from recondition.amounts import Money
from recondition.materials.balance import balance
from recondition.materials.stock import Flow, Method
from tests.check_values import check_values
from tests.materials.stockroom import Stockroom, layer, told

ROWS = check_values("openstax_inventory_example")


def printed(record: str, method: str, item: str) -> Decimal:
    """Return one amount of the file, in dollars."""
    (row,) = [
        row
        for row in ROWS
        if (row["record"], row["date_or_method"], row["item"]) == (record, method, item)
    ]
    return Decimal(row["amount_usd"])


def july(method: Method, until: str = "July 31") -> Stockroom:
    """Play the month's events up to and with one day."""
    room = Stockroom(method)
    for row in ROWS:
        if row["record"] != "event" or row["item"].startswith("ending"):
            continue
        if row["item"] == "sale":
            room.take(row["units"])
        else:
            day = int(row["date_or_method"].removeprefix("July "))
            cents = Money.of(row["amount_usd"], "USD").minor
            room.receive(layer(row["date_or_method"], row["units"], cents, day))
        if row["date_or_method"] == until:
            break
    return room


def cost_of_sales(room: Stockroom) -> Money:
    return balance(room.movements, "USD").cost[Flow.ISSUED]


def test_first_in_first_out_as_printed() -> None:
    room = july(Method.FIRST_IN_FIRST_OUT)
    closing = printed("result", "FIFO perpetual", "ending inventory")
    sold = printed("result", "FIFO perpetual", "cost of goods sold")
    assert closing == 8955
    assert sold == 7200
    assert room.stock.quantity == 285
    assert room.stock.value.number == closing
    assert cost_of_sales(room).number == sold
    assert told(room.stock.layers) == [("July 10", 75, 202_500), ("July 25", 210, 693_000)]


def test_moving_average_to_the_cent_and_as_printed() -> None:
    room = july(Method.MOVING_AVERAGE)
    assert room.stock.quantity == 285
    assert room.stock.value.text == "8902.06 USD"
    assert cost_of_sales(room).text == "7252.94 USD"
    assert room.stock.layers == ()
    whole = "weighted average perpetual"
    assert round(room.stock.value.number) == printed("result", whole, "ending inventory")
    assert round(cost_of_sales(room).number) == printed("result", whole, "cost of goods sold")


def test_the_second_sale_is_rounded_where_it_leaves_stock() -> None:
    before = july(Method.MOVING_AVERAGE, until="July 10").stock
    assert before.value.fraction / Fraction(before.quantity) == Fraction(6705, 255)
    sale = july(Method.MOVING_AVERAGE, until="July 15").movements[-1]
    exact = printed("exact", "weighted average perpetual", "July 15 sale exact")
    assert sale.cost.text == "4732.94 USD"
    assert abs(sale.cost.number - exact) < Decimal("0.005")


@pytest.mark.parametrize("method", list(Method))
def test_closing_stock_and_cost_of_sales_make_up_what_was_available(method: Method) -> None:
    room = july(method)
    available = printed("total", "", "goods available for sale")
    assert (room.stock.value + cost_of_sales(room)).number == available == 16_155
    assert balance(room.movements, "USD").holds(room.stock)
