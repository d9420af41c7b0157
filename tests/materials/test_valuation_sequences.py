"""No sequence of events on stock loses or makes a drop or a cent.

Hypothesis looks for one over receipts, issues, waste, counts, returns, late freight and the
reversal of each. What must hold is worked out here from the movements alone, in fractions
and whole cents, beside the product's own balance.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from recondition.amounts.exact import decimal_from_units
from recondition.amounts.quantity import MAX_DECIMALS
from recondition.materials.balance import balance
from recondition.materials.stock import Flow, Layer, Method, Movement, Stock
from recondition.materials.valuation import NotInStock
from tests.materials.stockroom import METHODS, Stockroom, layer, usd

if TYPE_CHECKING:
    from decimal import Decimal

INWARD = {Flow.RECEIVED, Flow.COUNT_GAIN}
TAKEN = st.sampled_from([Flow.ISSUED, Flow.WASTED, Flow.COUNT_LOSS])
# Bench amounts mostly; now and then more digits than an ordinary sum of Decimals keeps.
AMOUNTS = st.one_of(
    st.builds(decimal_from_units, st.integers(1, 20_000), st.sampled_from([0, 1, 3])),
    st.builds(decimal_from_units, st.integers(1, 10**30), st.just(15)),
)
CENTS = st.integers(0, 50_000)
DAYS = st.integers(1, 28)
PERCENT = st.integers(1, 110)


class Events(RuleBasedStateMachine):
    """One product, its events in any order, and what was once posted."""

    @initialize(method=st.sampled_from(METHODS))
    def start(self, method: Method) -> None:
        """Choose the book's method."""
        self.room = Stockroom(method)
        self.posted: list[Movement] = []
        self.open: list[Movement] = []
        self.received: dict[str, Decimal] = {}
        self.freight: list[tuple[Movement, str]] = []

    @rule(amount=AMOUNTS, cents=CENTS, day=DAYS)
    def receive(self, amount: Decimal, cents: int, day: int) -> None:
        """Take a delivery in, on any day of the month."""
        receipt = f"r{len(self.received)}"
        self.received[receipt] = amount
        self.open.append(self._note(self.room.receive(layer(receipt, amount, cents, day))))

    @rule(percent=PERCENT, flow=TAKEN)
    def take(self, percent: int, flow: Flow) -> None:
        """Take some, all, or more than all; more is refused and moves nothing."""
        amount = self._part(percent)
        if not amount:
            return
        before = self.room.stock
        try:
            taken = self._note(self.room.take(amount, flow))
        except NotInStock:
            assert amount > before.quantity
            assert self.room.stock is before
            return
        assert taken.cost + taken.value == before.value
        self.open.append(taken)

    @rule(amount=AMOUNTS, percent=st.integers(1, 200), day=DAYS)
    def gain(self, amount: Decimal, percent: int, day: int) -> None:
        """Find more than was on hand, or something where nothing was.

        It is at most twice what values it: a drop's price on a tankful passes 64 bits.
        """
        stock = self.room.stock
        if stock.quantity:
            newest = stock.layers[-1].quantity if stock.layers else stock.quantity
            amount = _share(newest, percent)
        if not amount:
            return
        self.open.append(self._note(self.room.gain(amount, day)))

    @precondition(lambda self: self.received and self.room.stock.quantity)
    @rule(data=st.data(), percent=st.integers(1, 100), cents=CENTS)
    def send_back(self, data: st.DataObject, percent: int, cents: int) -> None:
        """Return some to a supplier, named by any receipt."""
        receipt = data.draw(st.sampled_from(sorted(self.received)))
        amount = self._part(percent)
        if amount:
            self.open.append(self._note(self.room.send_back(receipt, amount, cents)))

    @precondition(lambda self: self.received)
    @rule(data=st.data(), cents=st.integers(-5_000, 50_000))
    def late_freight(self, data: st.DataObject, cents: int) -> None:
        """Bill or credit freight on any receipt, used up or not."""
        receipt = data.draw(st.sampled_from(sorted(self.received)))
        moved = self._note(self.room.freight(receipt, self.received[receipt], cents))
        self.freight.append((moved, receipt))

    @precondition(lambda self: self.freight)
    @rule(data=st.data())
    def reverse_freight(self, data: st.DataObject) -> None:
        """Take freight back once."""
        moved, receipt = data.draw(st.sampled_from(self.freight))
        self.freight.remove((moved, receipt))
        back = self._note(self.room.reverse(moved, receipt))
        assert back.quantity == 0
        assert back.cost == -moved.cost

    @precondition(lambda self: self.open)
    @rule(data=st.data())
    def reverse(self, data: st.DataObject) -> None:
        """Take any other event back once; what it took comes back at its own value."""
        original = data.draw(st.sampled_from(self.open))
        before = self.room.stock
        try:
            back = self._note(self.room.reverse(original))
        except NotInStock:
            assert original.flow in INWARD
            assert original.quantity > before.quantity
            return
        self.open.remove(original)
        assert back.flow is original.flow
        assert back.cost == -original.cost
        assert Fraction(back.quantity) == -Fraction(original.quantity)
        if original.flow not in INWARD:
            own = original.cost + original.price_difference
            assert back.value == before.value + own
            assert back.price_difference == -original.price_difference

    @rule(percent=st.integers(1, 100), flow=TAKEN)
    def take_and_think_again(self, percent: int, flow: Flow) -> None:
        """Undo a take at once: everything stands as before, layers and all."""
        before, amount = self.room.stock, self._part(percent)
        if amount:
            self._note(self.room.reverse(self._note(self.room.take(amount, flow))))
            assert self.room.stock == before

    @invariant()
    def identity(self) -> None:
        """Hold the stock identity in quantity and in cost."""
        quantity, cost = Fraction(0), 0
        for moved in self.room.movements:
            sign = 1 if moved.flow in INWARD else -1
            quantity += sign * Fraction(moved.quantity)
            cost += sign * moved.cost.minor - moved.price_difference.minor
        stock = self.room.stock
        assert (Fraction(stock.quantity), stock.value.minor) == (quantity, cost)
        assert balance(self.room.movements, "USD").holds(stock)

    @invariant()
    def sound(self) -> None:
        """Hold that nothing is below zero, and that value goes with quantity and layers."""
        stock = self.room.stock
        assert stock.quantity >= 0
        assert stock.value.minor >= 0
        assert stock.quantity or not stock.value
        if self.room.method is Method.MOVING_AVERAGE:
            assert stock.layers == ()
        else:
            _layers_make_up(stock)

    @invariant()
    def nothing_posted_is_priced_anew(self) -> None:
        """Hold every movement as it was posted."""
        assert self.room.movements == self.posted

    def _note(self, moved: Movement) -> Movement:
        """Keep what was posted, beside the room."""
        self.posted.append(moved)
        return moved

    def _part(self, percent: int) -> Decimal:
        """Give a share of what is on hand; all of it, and more, can come up."""
        return _share(self.room.stock.quantity, percent)


def _share(amount: Decimal, percent: int) -> Decimal:
    """Give a part with no more decimals than a quantity has."""
    if percent == 100:
        return amount
    part = Fraction(amount) * percent / 100
    return decimal_from_units(int(part * 10**MAX_DECIMALS), MAX_DECIMALS)


def _layers_make_up(stock: Stock) -> None:
    """Hold that layers add up, in the order of their days, one to a receipt, none empty."""
    layers = stock.layers
    assert sum((Fraction(each.quantity) for each in layers), Fraction(0)) == stock.quantity
    assert sum(each.value.minor for each in layers) == stock.value.minor
    assert all(each.quantity > 0 and each.value.minor >= 0 for each in layers)
    assert len({each.receipt for each in layers}) == len(layers)
    days = [each.received_on for each in layers]
    assert days == sorted(days)


TestEvents = Events.TestCase
TestEvents.settings = settings(max_examples=70, stateful_step_count=30, deadline=None)

PIECES = st.lists(st.tuples(st.integers(1, 6), st.integers(0, 900), DAYS), min_size=1, max_size=6)


@given(deliveries=PIECES, issues=st.lists(st.integers(1, 5), max_size=8))
def test_first_in_first_out_costs_what_the_oldest_pieces_cost(
    deliveries: list[tuple[int, int, int]], issues: list[int]
) -> None:
    """Beside a shelf of single pieces, each with its own price on it."""
    room = Stockroom(Method.FIRST_IN_FIRST_OUT)
    pieces: list[tuple[int, int]] = []
    for place, (count, price, day) in enumerate(deliveries):
        room.receive(layer(f"r{place}", str(count), count * price, day))
        pieces += [(day, price)] * count
    pieces.sort(key=lambda piece: piece[0])
    for count in issues:
        if count <= len(pieces):
            gone, pieces = pieces[:count], pieces[count:]
            assert room.take(str(count)).cost == usd(sum(price for _, price in gone))


@given(layers=st.lists(st.tuples(AMOUNTS, CENTS, DAYS), min_size=1, max_size=4), data=st.data())
def test_an_average_issue_is_within_half_a_cent_of_its_share(
    layers: list[tuple[Decimal, int, int]], data: st.DataObject
) -> None:
    delivered: list[Layer] = [layer(f"r{n}", *each) for n, each in enumerate(layers)]
    room = Stockroom(Method.MOVING_AVERAGE, *delivered)
    before = room.stock
    amount = data.draw(st.sampled_from([each.quantity for each in delivered]))
    cost = room.take(amount).cost
    share = Fraction(amount) / Fraction(before.quantity) * before.value.minor
    assert abs(cost.minor - share) <= Fraction(1, 2)
