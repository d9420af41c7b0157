"""How stock is valued: each event gives a step, and the stock identity holds after each.

received + count gains = issued + wasted + count losses + returned + price difference + on hand,
in quantity (where the price difference is nothing) and in cost. Value follows the order of
posting, never the day; what was issued is never priced anew. Each cost is rounded once, half
away from zero to the minor unit, where it leaves stock.

Moving average: an issue costs round(quantity x value on hand / quantity on hand), and the last
one takes all. First-in first-out: layers in the order of their receipt dates among those on
hand. Both after IAS 2, 25; the identity and the rules of reversal are our own.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from fractions import Fraction

from recondition.amounts import Money
from recondition.amounts.money import rounded, total
from recondition.amounts.sharing import share_out
from recondition.errors import Refused
from recondition.fields import Id
from recondition.materials.counts import added, less
from recondition.materials.stock import Flow, Layer, Method, Movement, Stock

Layers = tuple[Layer, ...]


class NotInStock(Refused):
    """More is to leave stock than is on hand."""

    def __init__(self, called: str, unit: str, wanted: Decimal, on_hand: Decimal) -> None:
        """Name the product, what was wanted and what is there."""
        super().__init__(
            f"{called}: {wanted:f} {unit} wanted, {on_hand:f} {unit} on hand",
            todo="Enter the receipt first, or correct the amount; a count puts right what the "
            "shelf says.",
        )


class UsedSince(NotInStock):
    """A receipt is taken back of which some was used since."""

    def __init__(self, called: str, unit: str, wanted: Decimal, on_hand: Decimal) -> None:
        """Name the product, what would be taken back and what is there."""
        super().__init__(called, unit, wanted, on_hand)
        self.what = f"{called}: {wanted:f} {unit} would be taken back, {on_hand:f} {unit} on hand."
        self.todo = "Take back the uses first, or send back to the supplier what is left."


class NothingTaken(Refused):
    """An amount of nothing, or less, is to leave stock."""

    def __init__(self, called: str, unit: str, wanted: Decimal) -> None:
        """Name the product and the amount."""
        super().__init__(
            f"{wanted:f} {unit} of {called} takes nothing out of stock",
            todo="Give an amount above zero.",
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """What one event adds to a flow, what it leaves on hand, and the layers it used up."""

    flow: Flow
    quantity: Decimal
    cost: Money
    price_difference: Money
    after: Stock
    taken: Layers = ()


def empty(currency: str) -> Stock:
    """Give the stock of a product that was never received."""
    return Stock(quantity=Decimal(0), value=Money.zero(currency))


def receive(stock: Stock, method: Method, layer: Layer) -> Step:
    """Take a delivery in; a late one stands among the layers by its own day."""
    return Step(
        flow=Flow.RECEIVED,
        quantity=layer.quantity,
        cost=layer.value,
        price_difference=_zero(stock),
        after=_with(stock, method, (layer,)),
    )


def take(  # noqa: PLR0913 - each is a separate choice of the caller
    stock: Stock, method: Method, flow: Flow, quantity: Decimal, *, called: str, unit: str
) -> Step:
    """Issue, waste or lose an amount at what stock is worth. Raises NotInStock, NothingTaken."""
    after, value, taken = _out(stock, method, quantity, called, unit)
    return Step(
        flow=flow,
        quantity=quantity,
        cost=value,
        price_difference=_zero(stock),
        after=after,
        taken=taken,
    )


def gain(stock: Stock, method: Method, quantity: Decimal, receipt: Id, on: date) -> Step:
    """Take in what a count found beyond stock, at what stock is worth; at nothing if none is.

    First-in first-out takes the newest layer's value, since what is found is no older.
    """
    base = stock.layers[-1] if stock.layers else stock
    on_hand = base.quantity
    value = _share(base.value, quantity, on_hand) if on_hand else _zero(stock)
    layer = Layer(receipt=receipt, received_on=on, quantity=quantity, value=value)
    return Step(
        flow=Flow.COUNT_GAIN,
        quantity=quantity,
        cost=value,
        price_difference=_zero(stock),
        after=_with(stock, method, (layer,)),
    )


def send_back(  # noqa: PLR0913 - each is a separate choice of the caller
    stock: Stock,
    method: Method,
    quantity: Decimal,
    credit: Money,
    receipt: Id,
    *,
    called: str,
    unit: str,
) -> Step:
    """Return an amount to its supplier for a credit, from its own receipt's layer first.

    Raises NotInStock, NothingTaken.
    """
    after, value, taken = _out(stock, method, quantity, called, unit, first=receipt)
    return Step(
        flow=Flow.RETURNED,
        quantity=quantity,
        cost=credit,
        price_difference=value - credit,
        after=after,
        taken=taken,
    )


def late_freight(
    stock: Stock, method: Method, received: Decimal, receipt: Id, amount: Money
) -> Step:
    """Put freight on what is still on hand of a receipt; the rest is price difference.

    Freight credited (an amount below zero) takes no more than the value that is there.
    """
    own = [layer for layer in stock.layers if layer.receipt == receipt]
    fifo = method is Method.FIRST_IN_FIRST_OUT
    left = added(layer.quantity for layer in own) if fifo else stock.quantity
    worth = own[0].value if own else stock.value
    kept = max(_share(amount, min(left, received), received), -worth, key=_minor)
    layers = stock.layers
    if own:
        layers = tuple(
            replace(layer, value=layer.value + kept) if layer is own[0] else layer
            for layer in layers
        )
    return Step(
        flow=Flow.RECEIVED,
        quantity=Decimal(0),
        cost=amount,
        price_difference=amount - kept,
        after=replace(stock, value=stock.value + kept, layers=layers),
    )


def reverse_take(stock: Stock, method: Method, original: Movement) -> Step:
    """Give back what an issue, a waste, a count loss or a return took: its own value, no other.

    Its layers come before others of the same day, as they did when they were taken.
    """
    value = original.cost + original.price_difference
    back = original.taken or (
        Layer(
            receipt=original.source,
            received_on=original.moved_on,
            quantity=original.quantity,
            value=value,
        ),
    )
    return Step(
        flow=original.flow,
        quantity=original.quantity.copy_negate(),
        cost=-original.cost,
        price_difference=-original.price_difference,
        after=_with(stock, method, back, older=True),
    )


def reverse_receipt(
    stock: Stock, method: Method, original: Movement, *, called: str, unit: str
) -> Step:
    """Take a receipt or a count gain back: the smaller of its cost and the value on hand.

    Everything goes when the quantity reaches nothing; the rest is price difference. Raises
    UsedSince where some of it was used since.
    """
    if original.quantity > stock.quantity:
        raise UsedSince(called, unit, original.quantity, stock.quantity)
    all_of_it = original.quantity == stock.quantity
    value = stock.value if all_of_it else min(original.cost, stock.value, key=_minor)
    left = less(stock.quantity, original.quantity)
    layers: Layers = ()
    if method is Method.FIRST_IN_FIRST_OUT:
        pieces, _ = _from_layers(stock.layers, original.quantity, first=original.source)
        layers = _spread(pieces, stock.value - value)
    return Step(
        flow=original.flow,
        quantity=original.quantity.copy_negate(),
        cost=-original.cost,
        price_difference=value - original.cost,
        after=replace(stock, quantity=left, value=stock.value - value, layers=layers),
    )


def reverse_freight(stock: Stock, original: Movement, receipt: Id) -> Step:
    """Take late freight back: the part that went on hand, as far as value is still there."""
    kept = original.cost - original.price_difference
    value = min(kept, stock.value, key=_minor) if stock.quantity else _zero(stock)
    left = stock.value - value
    own = [layer for layer in stock.layers if layer.receipt == receipt]
    if own and own[0].value.minor >= value.minor:
        layers = tuple(
            replace(layer, value=layer.value - value) if layer is own[0] else layer
            for layer in stock.layers
        )
    else:
        layers = _spread(stock.layers, left)
    return Step(
        flow=original.flow,
        quantity=Decimal(0),
        cost=-original.cost,
        price_difference=value - original.cost,
        after=replace(stock, value=left, layers=layers),
    )


def _minor(amount: Money) -> int:
    """Order amounts of one currency."""
    return amount.minor


def _zero(stock: Stock) -> Money:
    """Give no money in the stock's currency."""
    return Money.zero(stock.value.currency)


def _share(value: Money, part: Decimal, whole: Decimal) -> Money:
    """Give the value of a part, rounded once; all of it for the whole."""
    if part == whole:
        return value
    return rounded(value.fraction * Fraction(part) / Fraction(whole), value.currency)


def _with(stock: Stock, method: Method, more: Layers, *, older: bool = False) -> Stock:
    """Put layers in by their day, with those of the same receipt where they are still there.

    Among those of one day the new ones stand last; ``older`` ones, which were here before,
    stand first.
    """
    there = {layer.receipt: layer for layer in stock.layers}
    joined = {layer.receipt: _joined(there.get(layer.receipt), layer) for layer in more}
    known = [joined.pop(layer.receipt, layer) for layer in stock.layers]
    new = list(joined.values())
    in_order = [*new, *known] if older else [*known, *new]
    layers = tuple(sorted(in_order, key=lambda layer: layer.received_on))
    return Stock(
        quantity=added((stock.quantity, *(layer.quantity for layer in more))),
        value=total((stock.value, *(layer.value for layer in more)), stock.value.currency),
        layers=layers if method is Method.FIRST_IN_FIRST_OUT else (),
    )


def _joined(there: Layer | None, more: Layer) -> Layer:
    """Give one layer for what is there of a receipt and what comes to it."""
    if there is None:
        return more
    quantity = added((there.quantity, more.quantity))
    return replace(there, quantity=quantity, value=there.value + more.value)


def _out(  # noqa: PLR0913, PLR0917 - each is a separate choice of the caller
    stock: Stock,
    method: Method,
    quantity: Decimal,
    called: str,
    unit: str,
    first: Id | None = None,
) -> tuple[Stock, Money, Layers]:
    """Take an amount out; give what is left, its value, and the layers it came from."""
    if quantity <= 0:
        raise NothingTaken(called, unit, quantity)
    if quantity > stock.quantity:
        raise NotInStock(called, unit, quantity, stock.quantity)
    if method is Method.FIRST_IN_FIRST_OUT:
        layers, taken = _from_layers(stock.layers, quantity, first)
        value = total((layer.value for layer in taken), stock.value.currency)
    else:
        layers, taken = (), ()
        value = _share(stock.value, quantity, stock.quantity)
    rest = less(stock.quantity, quantity)
    return Stock(quantity=rest, value=stock.value - value, layers=layers), value, taken


def _from_layers(
    layers: Layers, quantity: Decimal, first: Id | None = None
) -> tuple[Layers, Layers]:
    """Take an amount from layers in their order, one receipt's first; give left and taken."""
    order = sorted(range(len(layers)), key=lambda place: layers[place].receipt != first)
    left: dict[int, Layer] = dict(enumerate(layers))
    taken: list[Layer] = []
    for place in order:
        layer = layers[place]
        part = min(layer.quantity, quantity)
        if part <= 0:
            continue
        value = _share(layer.value, part, layer.quantity)
        taken.append(replace(layer, quantity=part, value=value))
        rest = less(layer.quantity, part)
        left[place] = replace(layer, quantity=rest, value=layer.value - value)
        quantity = less(quantity, part)
    kept = tuple(left[place] for place in range(len(layers)) if left[place].quantity)
    return kept, tuple(taken)


def _spread(layers: Layers, value: Money) -> Layers:
    """Give layers a new value in all, in proportion to what each had."""
    if not layers:
        return ()
    weights = [layer.value.fraction for layer in layers]
    if not any(weights):
        weights = [Fraction(layer.quantity) for layer in layers]
    keyed = [(f"{place:06d}", weight) for place, weight in enumerate(weights)]
    parts = share_out(value.minor, keyed)
    return tuple(
        replace(layer, value=Money(parts[key], value.currency))
        for layer, (key, _) in zip(layers, keyed, strict=True)
    )
