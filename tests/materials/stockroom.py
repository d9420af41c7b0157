"""Writes stock down as a book does: every step becomes a movement of one invented product."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from recondition.amounts import Money
from recondition.fields import Id
from recondition.materials import valuation
from recondition.materials.stock import Flow, Layer, Method, Movement, Stock
from recondition.materials.valuation import Step

CALLED, UNIT = "Cut 3", "ml"
METHODS = tuple(Method)


def march(day: int) -> date:
    return date(2031, 3, day)


def usd(minor: int) -> Money:
    return Money(minor, "USD")


def layer(receipt: str, quantity: str | Decimal, minor: int, day: int = 1) -> Layer:
    return Layer(
        receipt=Id(receipt),
        received_on=march(day),
        quantity=Decimal(quantity),
        value=usd(minor),
    )


class Stockroom:
    """One product's stock and everything that moved it, amounts in ml and cents."""

    def __init__(self, method: Method, *layers: Layer) -> None:
        """Start with deliveries."""
        self.method = method
        self.stock = valuation.empty("USD")
        self.movements: list[Movement] = []
        for each in layers:
            self.receive(each)

    def receive(self, delivery: Layer) -> Movement:
        """Take a delivery in."""
        step = valuation.receive(self.stock, self.method, delivery)
        return self._moved(delivery.receipt, delivery.received_on, step)

    def take(self, quantity: str | Decimal, flow: Flow = Flow.ISSUED) -> Movement:
        """Issue an amount, or waste or lose it."""
        amount = Decimal(quantity)
        step = valuation.take(self.stock, self.method, flow, amount, called=CALLED, unit=UNIT)
        return self._moved(self._next(), march(9), step)

    def gain(self, quantity: str | Decimal, day: int = 9) -> Movement:
        """Find more than was on hand."""
        source, amount = self._next(), Decimal(quantity)
        step = valuation.gain(self.stock, self.method, amount, source, march(day))
        return self._moved(source, march(day), step)

    def send_back(self, receipt: str, quantity: str | Decimal, credit: int) -> Movement:
        """Return an amount to its supplier, for a credit in cents."""
        step = valuation.send_back(
            self.stock,
            self.method,
            Decimal(quantity),
            usd(credit),
            Id(receipt),
            called=CALLED,
            unit=UNIT,
        )
        return self._moved(self._next(), march(9), step)

    def freight(self, receipt: str, received: str | Decimal, minor: int) -> Movement:
        """Bill freight on a receipt of ``received``."""
        step = valuation.late_freight(
            self.stock, self.method, Decimal(received), Id(receipt), usd(minor)
        )
        return self._moved(self._next(), march(9), step)

    def reverse(self, original: Movement, receipt: str = "") -> Movement:
        """Take a movement back; ``receipt`` where it is freight, that it was billed for."""
        if original.flow not in {Flow.RECEIVED, Flow.COUNT_GAIN}:
            step = valuation.reverse_take(self.stock, self.method, original)
        elif receipt:
            step = valuation.reverse_freight(self.stock, original, Id(receipt))
        else:
            step = valuation.reverse_receipt(
                self.stock, self.method, original, called=CALLED, unit=UNIT
            )
        return self._moved(self._next(), march(9), step)

    @property
    def on_hand(self) -> tuple[Decimal | int, int]:
        """Amount and value in cents."""
        return self.stock.quantity, self.stock.value.minor

    @property
    def shelf(self) -> list[tuple[str, Decimal | int, int]]:
        """Receipt, amount and value in cents of every layer, in order."""
        return told(self.stock.layers)

    def _next(self) -> Id:
        return Id(f"m{len(self.movements)}")

    def _moved(self, source: Id, day: date, step: Step) -> Movement:
        self.stock = step.after
        moved = Movement(
            product=Id("cut-3"),
            source=source,
            flow=step.flow,
            moved_on=day,
            quantity=step.quantity,
            cost=step.cost,
            price_difference=step.price_difference,
            on_hand=step.after.quantity,
            value=step.after.value,
            taken=step.taken,
            layers=step.after.layers,
        )
        self.movements.append(moved)
        return moved


def told(layers: tuple[Layer, ...]) -> list[tuple[str, Decimal | int, int]]:
    return [(each.receipt, each.quantity, each.value.minor) for each in layers]


def restored(stock: Stock) -> tuple[Decimal, Money, tuple[Layer, ...]]:
    """Everything that must come back where an event and its reversal follow each other."""
    return stock.quantity, stock.value, stock.layers
