"""The stock of each product as posting sees it: what is on hand, and what an event does to it.

Every event on stock leaves one ``movement`` record in its product's own chain, beside the
record that caused it. The chain gives the events their one order, and its head is locked
before what is on hand is read, so that two writers cannot take the same millilitre.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from decimal import Decimal
from typing import Any

from sqlalchemy import Connection, Select, select

from recondition.amounts import Quantity
from recondition.book.context import Context
from recondition.book.tables import record
from recondition.book.tables_stock import movement
from recondition.fields import Id
from recondition.ledger import chain
from recondition.ledger.codec import decode_fields
from recondition.ledger.lines import Consumable, Count, Use
from recondition.materials import valuation
from recondition.materials.conversion import in_stock_unit
from recondition.materials.counts import less
from recondition.materials.products import Product
from recondition.materials.receiving import LateFreight, Receipt, SupplierReturn
from recondition.materials.stock import Flow, Layer, Movement, Stock
from recondition.materials.valuation import NotInStock, Step

Lock = Callable[[str], object]


class Shelf:
    """Stock by product inside one transaction."""

    def __init__(self, conn: Connection, context: Context, lock: Lock) -> None:
        """Read through one connection; ``lock`` holds a chain against other writers."""
        self._conn = conn
        self._context = context
        self._lock = lock
        self._on_hand: dict[str, Stock] = {}
        self._kept: dict[str, bool] = {}

    def forget(self) -> None:
        """Forget what is on hand; what was posted is read again."""
        self._on_hand.clear()
        self._kept.clear()

    def product(self, product_id: str) -> Product:
        """Give a product as it stands. Raises NotThere."""
        return self._context.product(product_id)

    def keeps(self, product_id: str) -> bool:
        """Tell whether a product was ever received into stock."""
        if product_id not in self._kept:
            query = select(movement.c.record_id).where(movement.c.product == product_id).limit(1)
            self._kept[product_id] = self._conn.execute(query).first() is not None
        return self._kept[product_id]

    def on_hand(self, product_id: str) -> Stock:
        """Give what is on hand, with the product's chain held."""
        self._lock(f"product:{product_id}")
        if product_id not in self._on_hand:
            last = self._last(product_id)
            currency = self._context.settings().currency
            self._on_hand[product_id] = (
                Stock(quantity=last.on_hand, value=last.value, layers=last.layers)
                if last is not None
                else valuation.empty(currency)
            )
        return self._on_hand[product_id]

    def _last(self, product_id: str) -> Movement | None:
        """Read the newest movement of a product."""
        text = self._conn.execute(_newest(product_id)).scalar()
        return None if text is None else _movement(text)

    def movement_of(self, source: str) -> Movement | None:
        """Read what a record did to stock, None where it did nothing."""
        query = (
            select(record.c.canonical)
            .join(movement, movement.c.record_id == record.c.id)
            .where(movement.c.source == source)
        )
        text = self._conn.execute(query).scalar()
        return None if text is None else _movement(text)

    def amount(self, product_id: str, quantity: Quantity) -> Decimal:
        """Give a quantity in a product's stock unit. Raises what ``in_stock_unit`` names."""
        return in_stock_unit(quantity, self.product(product_id)).number

    def check_there(self, product_id: str, quantity: Quantity) -> None:
        """Refuse to mix more than is on hand; it leaves stock as the mix is used.

        Raises NotInStock.
        """
        wanted, there = self.amount(product_id, quantity), self.on_hand(product_id).quantity
        if self.keeps(product_id) and wanted > there:
            product = self.product(product_id)
            raise NotInStock(product.name, product.unit, wanted, there)

    def receive(self, record_id: str, entry: Receipt) -> Movement:
        """Take a delivery in."""
        layer = Layer(
            receipt=Id(record_id),
            received_on=entry.received_on,
            quantity=self.amount(entry.product, entry.quantity),
            value=entry.cost,
        )
        step = valuation.receive(self.on_hand(entry.product), self._method, layer)
        return self._moved(entry.product, record_id, step, entry.received_on)

    def use(self, record_id: str, entry: Consumable, amount: Decimal) -> Movement:
        """Take out what was used or wasted. Raises NotInStock."""
        flow = Flow.WASTED if entry.use is Use.WASTED else Flow.ISSUED
        step = self._take(entry.product, flow, amount)
        return self._moved(entry.product, record_id, step, entry.work_date)

    def count(self, record_id: str, entry: Count) -> Movement | None:
        """Adjust to what a count found; None where stock and count agree."""
        before = self.on_hand(entry.product)
        counted = self.amount(entry.product, entry.counted)
        difference = less(counted, before.quantity)
        if not difference:
            return None
        if difference < 0:
            step = self._take(entry.product, Flow.COUNT_LOSS, difference.copy_negate())
        else:
            step = valuation.gain(before, self._method, difference, Id(record_id), entry.work_date)
        return self._moved(entry.product, record_id, step, entry.work_date)

    def send_back(self, record_id: str, entry: SupplierReturn) -> Movement:
        """Send stock back to its supplier. Raises NotInStock."""
        product = self.product(entry.product)
        step = valuation.send_back(
            self.on_hand(entry.product),
            self._method,
            self.amount(entry.product, entry.quantity),
            entry.credit,
            entry.receipt,
            called=product.name,
            unit=product.unit,
        )
        return self._moved(entry.product, record_id, step, entry.returned_on)

    def late_freight(self, record_id: str, entry: LateFreight, received: Decimal) -> Movement:
        """Add freight to a receipt of ``received`` in the stock unit."""
        step = valuation.late_freight(
            self.on_hand(entry.product), self._method, received, entry.receipt, entry.price
        )
        return self._moved(entry.product, record_id, step, entry.billed_on)

    def take_back(self, record_id: str, original: Movement, on: date) -> Movement:
        """Undo a movement as its flow demands. Raises NotInStock."""
        stock = self.on_hand(original.product)
        if original.flow in (Flow.RECEIVED, Flow.COUNT_GAIN):
            if original.flow is Flow.RECEIVED and not original.quantity:
                freight: LateFreight = self._context.entry("late freight", original.source)
                step = valuation.reverse_freight(stock, original, freight.receipt)
            else:
                product = self.product(original.product)
                step = valuation.reverse_receipt(
                    stock, self._method, original, called=product.name, unit=product.unit
                )
        else:
            step = valuation.reverse_take(stock, self._method, original)
        return self._moved(original.product, record_id, step, on)

    @property
    def _method(self) -> Any:  # noqa: ANN401 - Method, as the settings hold it
        return self._context.settings().stock_value

    def _take(self, product_id: str, flow: Flow, amount: Decimal) -> Step:
        """Take an amount out at what stock is worth."""
        product = self.product(product_id)
        return valuation.take(
            self.on_hand(product_id),
            self._method,
            flow,
            amount,
            called=product.name,
            unit=product.unit,
        )

    def _moved(self, product: str, record_id: str, step: Step, on: date) -> Movement:
        """Remember what is on hand now, and write down the step."""
        self._on_hand[product] = step.after
        self._kept[product] = True
        return Movement(
            product=Id(product),
            source=Id(record_id),
            flow=step.flow,
            moved_on=on,
            quantity=step.quantity,
            cost=step.cost,
            price_difference=step.price_difference,
            on_hand=step.after.quantity,
            value=step.after.value,
            taken=step.taken,
            layers=step.after.layers,
        )


def on_hand_of(conn: Connection, product_id: str) -> Decimal:
    """Give how much of a product is on hand, in its stock unit, for reading only."""
    text = conn.execute(_newest(product_id)).scalar()
    return Decimal(0) if text is None else _movement(text).on_hand


def _newest(product_id: str) -> Select[Any]:
    """Ask for the newest movement of a product, from the end of its chain: however many it has."""
    return (
        select(record.c.canonical)
        .where(record.c.subject == f"product:{product_id}", record.c.kind == "movement")
        .order_by(record.c.sequence.desc())
        .limit(1)
    )


def _movement(text: str) -> Movement:
    """Read a movement from its record's canonical text."""
    return decode_fields(Movement, chain.read(text)["entry"], {})
