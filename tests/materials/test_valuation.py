"""The rules of stock value one by one; amounts in ml, values in cents.

The methods are those of IAS 2, 25; the rules of reversal are our own. All figures are worked
by hand from the rules.
"""

from __future__ import annotations

from decimal import Decimal

import pytest

from recondition.amounts.money import CurrencyMismatch, Money
from recondition.materials import valuation
from recondition.materials.balance import balance
from recondition.materials.stock import Flow, Method
from recondition.materials.valuation import NothingTaken, NotInStock, UsedSince
from tests.materials.stockroom import METHODS, Stockroom, layer, restored, told, usd

AVERAGE, FIFO = Method.MOVING_AVERAGE, Method.FIRST_IN_FIRST_OUT
both = pytest.mark.parametrize("method", METHODS)


def test_the_average_rounds_half_away_from_zero_at_the_issue() -> None:
    room = Stockroom(AVERAGE, layer("a", "10", 1005))
    assert room.take("1").cost == usd(101)  # 100.5
    assert room.on_hand == (9, 904)


@both
def test_the_last_issue_takes_all(method: Method) -> None:
    room = Stockroom(method, layer("a", "3", 100))
    assert [room.take("1").cost.minor for _ in range(3)] == [33, 34, 33]
    assert room.stock == valuation.empty("USD")


def test_first_in_first_out_takes_the_oldest_and_part_of_the_next() -> None:
    room = Stockroom(FIFO, layer("a", "10", 100, day=1), layer("b", "3", 100, day=2))
    issue = room.take("11")
    assert issue.cost == usd(133)
    assert told(issue.taken) == [("a", 10, 100), ("b", 1, 33)]
    assert room.shelf == [("b", 2, 67)]


def test_a_late_receipt_of_an_earlier_day_changes_later_issues_only() -> None:
    room = Stockroom(FIFO, layer("b", "10", 300, day=5))
    issued = room.take("4")
    room.receive(layer("a", "10", 100, day=2))
    assert issued.cost == usd(120)
    assert room.shelf == [("a", 10, 100), ("b", 6, 180)]
    assert room.take("10").cost == usd(100)
    assert room.take("1").cost == usd(30)


def test_receipts_of_one_day_go_in_the_order_of_entry() -> None:
    room = Stockroom(FIFO, layer("z", "10", 100), layer("a", "10", 300))
    assert [receipt for receipt, _, _ in room.shelf] == ["z", "a"]
    assert room.take("10").cost == usd(100)


@both
def test_more_than_is_on_hand_is_refused_with_what_is_there(method: Method) -> None:
    room = Stockroom(method, layer("a", "10", 100))
    with pytest.raises(NotInStock, match=r"Cut 3: 10\.5 ml wanted, 10 ml on hand") as it:
        room.take("10.5")
    assert "Enter the receipt first, or correct the amount" in it.value.todo
    assert room.on_hand == (10, 100)


@both
@pytest.mark.parametrize("amount", ["0", "-1"])
def test_nothing_or_less_is_not_taken(method: Method, amount: str) -> None:
    room = Stockroom(method, layer("a", "10", 100))
    with pytest.raises(NothingTaken, match=r"takes nothing out of stock"):
        room.take(amount)
    with pytest.raises(NothingTaken):
        room.send_back("a", amount, 5)


@both
def test_a_receipt_in_another_currency_is_refused(method: Method) -> None:
    other = valuation.empty("EUR")
    with pytest.raises(CurrencyMismatch):
        valuation.receive(other, method, layer("a", "10", 100))


def test_what_a_count_finds_is_worth_the_average_or_the_newest_layer() -> None:
    layers = layer("a", "10", 100, day=1), layer("b", "10", 300, day=2)
    assert Stockroom(AVERAGE, *layers).gain("5").cost == usd(100)
    room = Stockroom(FIFO, *layers)
    assert room.gain("5").cost == usd(150)
    assert room.shelf[-1] == ("m2", 5, 150)


@both
def test_what_a_count_finds_where_nothing_is_on_hand_is_worth_nothing(method: Method) -> None:
    room = Stockroom(method)
    assert room.gain("5").cost == usd(0)
    assert room.on_hand == (5, 0)
    assert room.take("2").cost == usd(0)


def test_a_return_leaves_at_stock_value_and_the_rest_is_price_difference() -> None:
    layers = layer("a", "10", 100, day=1), layer("b", "10", 300, day=2)
    room = Stockroom(AVERAGE, *layers)
    back = room.send_back("b", "5", 120)
    assert (back.flow, back.cost, back.price_difference) == (Flow.RETURNED, usd(120), usd(-20))
    room = Stockroom(FIFO, *layers)
    back = room.send_back("b", "5", 120)
    assert (back.cost, back.price_difference) == (usd(120), usd(30))
    assert told(back.taken) == [("b", 5, 150)]
    assert room.shelf == [("a", 10, 100), ("b", 5, 150)]


def test_a_return_goes_on_to_the_oldest_layers_where_its_own_is_too_small() -> None:
    room = Stockroom(FIFO, layer("a", "10", 100, day=1), layer("b", "10", 300, day=2))
    back = room.send_back("b", "12", 320)
    assert told(back.taken) == [("b", 10, 300), ("a", 2, 20)]
    assert back.price_difference == usd(0)
    assert room.shelf == [("a", 8, 80)]


@both
def test_late_freight_goes_on_what_is_still_on_hand(method: Method) -> None:
    room = Stockroom(method, layer("a", "10", 100))
    room.take("6")
    freight = room.freight("a", "10", 50)
    assert freight.flow is Flow.RECEIVED
    assert freight.quantity == 0
    assert (freight.cost, freight.price_difference) == (usd(50), usd(30))
    assert room.on_hand == (4, 60)


def test_late_freight_finds_its_own_layer_or_the_average_of_all() -> None:
    layers = layer("a", "10", 100, day=1), layer("b", "10", 300, day=2)
    fifo, average = Stockroom(FIFO, *layers), Stockroom(AVERAGE, *layers)
    for room in (fifo, average):
        room.take("12")
    assert fifo.freight("a", "10", 50).price_difference == usd(50)  # "a" is used up
    assert fifo.freight("b", "10", 50).price_difference == usd(10)
    assert fifo.shelf == [("b", 8, 280)]
    assert average.freight("a", "10", 50).price_difference == usd(10)


@both
def test_credited_freight_takes_no_more_than_the_value_that_is_there(method: Method) -> None:
    room = Stockroom(method, layer("a", "10", 30))
    credited = room.freight("a", "10", -50)
    assert (credited.cost, credited.price_difference) == (usd(-50), usd(-20))
    assert room.on_hand == (10, 0)
    room.reverse(credited, "a")
    assert room.on_hand == (10, 30)


@both
def test_credited_freight_gives_nothing_back_to_an_empty_shelf(method: Method) -> None:
    room = Stockroom(method, layer("a", "10", 100))
    credited = room.freight("a", "10", -50)
    room.take("10")
    assert room.reverse(credited, "a").price_difference == usd(50)
    assert room.stock == valuation.empty("USD")


@both
@pytest.mark.parametrize("flow", [Flow.ISSUED, Flow.WASTED, Flow.COUNT_LOSS])
def test_a_reversed_issue_gives_back_exactly_what_it_took(method: Method, flow: Flow) -> None:
    room = Stockroom(method, layer("a", "7", 100), layer("b", "7", 333))
    before = restored(room.stock)
    issue = room.take("8.5", flow)
    back = room.reverse(issue)
    assert (back.flow, back.quantity, back.cost) == (flow, Decimal("-8.5"), -issue.cost)
    assert restored(room.stock) == before


@both
def test_a_reversed_issue_keeps_its_own_cost_whatever_came_since(method: Method) -> None:
    room = Stockroom(method, layer("a", "10", 100, day=1))
    issue = room.take("10")
    room.receive(layer("b", "10", 900, day=2))
    room.reverse(issue)
    assert room.on_hand == (20, 1000)
    if method is FIFO:
        assert room.shelf == [("a", 10, 100), ("b", 10, 900)]


@both
def test_a_reversed_return_gives_back_value_not_credit(method: Method) -> None:
    room = Stockroom(method, layer("a", "10", 100))
    before = restored(room.stock)
    back = room.reverse(room.send_back("a", "10", 70))
    assert (back.cost, back.price_difference) == (usd(-70), usd(-30))
    assert restored(room.stock) == before


@both
def test_a_reversed_receipt_takes_its_cost(method: Method) -> None:
    room = Stockroom(method, layer("a", "10", 100, day=1))
    before = restored(room.stock)
    back = room.reverse(room.receive(layer("b", "10", 300, day=2)))
    assert back.quantity == -10
    assert (back.cost, back.price_difference) == (usd(-300), usd(0))
    assert restored(room.stock) == before


def test_a_reversed_receipt_takes_no_more_than_the_value_on_hand() -> None:
    room = Stockroom(AVERAGE)
    dear = room.receive(layer("a", "10", 1000))
    room.take("9")
    room.receive(layer("b", "10", 10))
    assert room.on_hand == (11, 110)
    assert room.reverse(dear).price_difference == usd(-890)
    assert room.on_hand == (1, 0)


@both
def test_a_reversed_receipt_takes_everything_when_nothing_is_left(method: Method) -> None:
    room = Stockroom(method)
    receipt = room.receive(layer("a", "10", 100))
    room.freight("a", "10", 50)
    assert room.reverse(receipt).price_difference == usd(50)
    assert room.stock == valuation.empty("USD")


@both
def test_a_receipt_of_which_too_little_is_left_is_not_reversed(method: Method) -> None:
    room = Stockroom(method)
    receipt = room.receive(layer("a", "10", 100))
    room.take("1")
    with pytest.raises(UsedSince, match="Cut 3: 10 ml would be taken back, 9 ml on hand"):
        room.reverse(receipt)


def test_a_used_receipt_is_reversed_out_of_the_oldest_others_and_value_is_spread() -> None:
    room = Stockroom(FIFO)
    used = room.receive(layer("a", "10", 100, day=1))
    room.receive(layer("b", "10", 300, day=2))
    room.receive(layer("c", "10", 600, day=3))
    room.take("5")
    # Five of "a" (50) and five of "b" (150) go; 850 of value stays over 150 and 600.
    assert room.reverse(used).price_difference == usd(0)
    assert room.shelf == [("b", 5, 170), ("c", 10, 680)]


def test_value_is_spread_by_quantity_where_no_layer_has_any() -> None:
    room = Stockroom(FIFO)
    dear = room.receive(layer("a", "10", 100, day=1))
    room.freight("a", "10", 50)
    room.receive(layer("b", "10", 0, day=2))
    room.receive(layer("c", "30", 0, day=3))
    room.reverse(dear)
    assert room.shelf == [("b", 10, 13), ("c", 30, 37)]  # 12.5 and 37.5: the tie to the first


@both
def test_a_reversed_count_gain_leaves_stock_as_it_was(method: Method) -> None:
    room = Stockroom(method, layer("a", "7", 100))
    before = restored(room.stock)
    gained = room.gain("3")
    back = room.reverse(gained)
    assert (back.flow, back.cost) == (Flow.COUNT_GAIN, -gained.cost)
    assert restored(room.stock) == before


@both
def test_reversed_freight_leaves_stock_as_it_was(method: Method) -> None:
    room = Stockroom(method, layer("a", "10", 100))
    room.take("3")
    before = restored(room.stock)
    freight = room.freight("a", "10", 50)
    back = room.reverse(freight, "a")
    assert (back.cost, back.price_difference) == (usd(-50), -freight.price_difference)
    assert restored(room.stock) == before


@both
def test_freight_reversed_after_the_stock_went_is_price_difference(method: Method) -> None:
    room = Stockroom(method, layer("a", "10", 100))
    freight = room.freight("a", "10", 50)
    room.take("10")
    assert room.reverse(freight, "a").price_difference == usd(-50)
    assert room.stock == valuation.empty("USD")


def test_reversed_freight_takes_no_more_than_the_value_on_hand() -> None:
    room = Stockroom(AVERAGE, layer("a", "10", 100))
    freight = room.freight("a", "10", 50)
    room.take("9")
    assert room.on_hand == (1, 15)
    assert room.reverse(freight, "a").price_difference == usd(-35)
    assert room.on_hand == (1, 0)


def test_freight_reversed_from_a_layer_worth_less_is_spread_over_all() -> None:
    room = Stockroom(FIFO, layer("a", "10", 100, day=1), layer("b", "10", 100, day=2))
    freight = room.freight("a", "10", 50)
    room.take("9")
    assert room.reverse(freight, "a").price_difference == usd(0)
    assert room.shelf == [("a", 1, 8), ("b", 10, 57)]  # 65 by 15 to 100: 8.48 and 56.52


def test_freight_reversed_after_its_layer_went_is_spread_over_the_others() -> None:
    room = Stockroom(FIFO, layer("a", "10", 100, day=1))
    freight = room.freight("a", "10", 50)
    room.take("10")
    room.receive(layer("b", "10", 100, day=2))
    room.receive(layer("c", "10", 300, day=3))
    assert room.reverse(freight, "a").price_difference == usd(0)
    assert [value for _, _, value in room.shelf] == [88, 262]  # 350 by 1 to 3: 87.5, 262.5


@both
def test_amounts_beyond_the_digits_of_an_ordinary_sum_are_conserved(method: Method) -> None:
    large, fine = "1000000000000000", "0.000000000000000001"
    room = Stockroom(method, layer("a", large, 500))
    room.take(fine)
    assert room.stock.quantity == Decimal("999999999999999.999999999999999999")
    assert balance(room.movements, "USD").holds(room.stock)


@both
def test_the_identity_tells_a_cent_and_a_drop_that_are_not_there(method: Method) -> None:
    room = Stockroom(method, layer("a", "10", 100))
    room.take("3", Flow.WASTED)
    summed = balance(room.movements, "USD")
    assert summed.on_hand == 7
    assert summed.value == usd(70)
    assert summed.quantity[Flow.WASTED] == 3
    assert summed.cost[Flow.WASTED] == usd(30)
    for quantity, minor, holds in (("7", 70, True), ("7", 71, False), ("7.001", 70, False)):
        there = valuation.receive(valuation.empty("USD"), method, layer("a", quantity, minor))
        assert summed.holds(there.after) is holds


def test_money_without_decimals_is_rounded_to_its_own_unit() -> None:
    delivery = layer("a", "3", 0)
    stock = valuation.receive(
        valuation.empty("JPY"),
        AVERAGE,
        type(delivery)(
            receipt=delivery.receipt,
            received_on=delivery.received_on,
            quantity=delivery.quantity,
            value=Money(1000, "JPY"),
        ),
    ).after
    step = valuation.take(stock, AVERAGE, Flow.ISSUED, Decimal(2), called="Cut 3", unit="ml")
    assert step.cost == Money(667, "JPY")
