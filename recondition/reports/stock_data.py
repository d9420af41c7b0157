"""What the reports of stock read: products, their movements, and what stands behind each."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property
from typing import Any

from recondition.amounts import Money, Quantity
from recondition.book import Connection, reading
from recondition.book.settings import Settings
from recondition.ledger.chain import SHOP
from recondition.ledger.drafts import Stored
from recondition.ledger.lines import LineKind, Standing
from recondition.materials.conversion import in_stock_unit
from recondition.materials.measuring import Way
from recondition.materials.products import Product
from recondition.materials.stock import Movement

_ON_STOCK = (LineKind.CONSUMABLE, LineKind.COUNT, LineKind.REVERSAL)


class Shelves:
    """The products of a book with their movements, read when they are first asked for."""

    def __init__(self, conn: Connection, which: str | None) -> None:
        """Narrow to one product by its ref. Raises NotThere."""
        self._conn = conn
        self.products: list[Stored[Product]] = (
            [reading.one(conn, "product", which)]
            if which is not None
            else sorted(reading.stored(conn, "product"), key=lambda each: each.ref)
        )

    @cached_property
    def settings(self) -> Settings:
        """The settings in force."""
        return reading.settings_of(self._conn)

    @cached_property
    def _moved(self) -> dict[str, list[Stored[Movement]]]:
        """Every movement by product, in the order of posting."""
        found: dict[str, list[Stored[Movement]]] = {}
        for movement in reading.stored(self._conn, "movement"):
            found.setdefault(movement.entry.product, []).append(movement)
        return found

    def movements(self, product: str) -> list[Stored[Movement]]:
        """List the movements of a product in the order they were posted."""
        return self._moved.get(product, [])

    def on_hand(self, product: str) -> Decimal:
        """Give what is on hand in the stock unit."""
        moved = self.movements(product)
        return moved[-1].entry.on_hand if moved else Decimal(0)

    def value(self, product: str) -> Money:
        """Give what that is worth."""
        moved = self.movements(product)
        return moved[-1].entry.value if moved else Money.zero(self.settings.currency)

    @cached_property
    def lines(self) -> dict[str, Stored[Any]]:
        """Every posted line that can move stock, and what took one back, by its id."""
        return {line.id: line for line in reading.stored(self._conn, *_ON_STOCK)}

    @cached_property
    def vehicles(self) -> dict[str, Stored[Any]]:
        """Every vehicle by its id."""
        return {vehicle.id: vehicle for vehicle in reading.stored(self._conn, "vehicle")}

    @cached_property
    def refs(self) -> dict[str, str]:
        """The users' names of what movements and uses refer to, by id."""
        kinds = ("person", "supplier", "receipt", "container", "mixed batch")
        return reading.refs_by_id(self._conn, kinds)

    def whose(self, line: Stored[Any]) -> str:
        """Give the stock number of a line's vehicle; ``shop`` where it has none."""
        if line.subject == SHOP:
            return SHOP
        return self.vehicles[line.subject.partition(":")[2]].ref

    def stands(self, movement: Stored[Movement]) -> bool:
        """Tell whether a movement neither takes a line back nor was taken back itself."""
        line = self.lines.get(movement.entry.source)
        return line is None or (line.reversed_by is None and line.reverses is None)


@dataclass(frozen=True, slots=True)
class Due:
    """A product's reorder point against what is on hand."""

    on_hand: Decimal
    at: Quantity
    at_in_stock_unit: Decimal

    @property
    def is_due(self) -> bool:
        """Whether an order is due: at or below the point."""
        return self.on_hand <= self.at_in_stock_unit

    @property
    def words(self) -> str:
        """Say it in words, with the point."""
        return f"{'order due' if self.is_due else 'enough'} (at {self.at})"


def due(product: Product, on_hand: Decimal) -> Due | None:
    """Compare stock with a product's reorder point; None where it has none."""
    if product.reorder_at is None:
        return None
    return Due(on_hand, product.reorder_at, in_stock_unit(product.reorder_at, product).number)


def measured_how(line: Stored[Any]) -> str:
    """Say how the amount of a use or count was found, its doubt, and what it stands as."""
    measure = line.priced.measure if line.priced else None
    if measure is None:
        return str(line.entry.standing)
    standing = Standing.ASSUMED if measure.way is Way.STANDARD else line.entry.standing
    doubt = f" \u00b1 {measure.uncertainty}" if measure.uncertainty else ""
    same = measure.way.value == standing.value
    return f"{measure.way}{doubt}" + ("" if same else f", {standing}")
