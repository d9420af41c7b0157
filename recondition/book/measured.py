"""The amount behind a consumable's line, worked out from what was read off at the bench."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction

from sqlalchemy import Connection, select

from recondition.amounts import Quantity
from recondition.book.context import Context
from recondition.book.standing import standing
from recondition.book.tables import entity, line, record
from recondition.book.tables_stock import standard_amount
from recondition.errors import Refused
from recondition.ledger import chain
from recondition.ledger.codec import decode_fields
from recondition.ledger.lines import Consumable
from recondition.ledger.pricing import Priced
from recondition.materials import conversion, measuring
from recondition.materials.measuring import Measure, Measured, Way
from recondition.materials.products import Product
from recondition.materials.receiving import Container, MixedBatch, StandardAmount


class AmountNeeded(Refused):
    """A use that says neither how much nor how that was measured."""

    def __init__(self) -> None:
        """List the ways."""
        super().__init__(
            "the line does not say how much was used",
            todo="Give an amount, two weights, two levels, pump strokes, or the amount of a mix "
            "that was sprayed; or 'standard amount' as the way it was measured.",
        )


class NoStandardAmount(Refused):
    """A standard amount is asked for, and none is on record."""

    def __init__(self, product: str, operation: str) -> None:
        """Name product and operation."""
        super().__init__(
            f"there is no standard amount of {product} for the operation {operation!r}",
            todo="Add one to the sheet 'standard amounts', or measure what was used.",
        )


class OtherProduct(Refused):
    """A container, batch or mix that holds another product than the line names."""

    def __init__(self, what: str, name: str, holds: str, named: str) -> None:
        """Name the thing, what is in it and what the line says."""
        super().__init__(
            f"{what} {name} holds {holds}, and the line says {named}",
            todo="Look at the label again, and name the one that was used.",
        )


class MixNeeded(Refused):
    """An amount of ready mix without the batch it was mixed in."""

    def __init__(self) -> None:
        """Say what is missing."""
        super().__init__(
            "an amount was sprayed, and the line does not say of which mixed batch",
            todo="Name the mixed batch, or give the concentrate that was used.",
        )


class Bench:
    """Works out amounts inside one transaction."""

    def __init__(self, conn: Connection, context: Context, flush: Callable[[], None]) -> None:
        """Read through one connection; ``flush`` writes what waits to be read again."""
        self._conn = conn
        self._context = context
        self._flush = flush

    def amount(self, entry: Consumable) -> Measured:
        """Give what was used, in the product's stock unit, with how it was measured.

        Raises AmountNeeded, OtherProduct, NoStandardAmount and what ``materials.measuring``
        names.
        """
        product = self._context.product(entry.product)
        holder = self._holder(entry, product)
        measure = entry.measure
        if measure is None:
            return self._plain(entry, product)
        if measure.gross_before is not None and measure.gross_after is not None:
            return measuring.weighed(
                product,
                measure.gross_before,
                measure.gross_after,
                resolution=measure.resolution,
                tare=holder.tare if holder else None,
            )
        if measure.sprayed is not None:
            return self._of_mix(entry, product, measure.sprayed)
        if measure.way is Way.STANDARD:
            return measuring.standard(product, self._standard(entry, product))
        return self._by_mark(entry, product, measure, holder)

    def _by_mark(
        self, entry: Consumable, product: Product, measure: Measure, holder: Container | None
    ) -> Measured:
        """Take an amount by level marks or pump strokes, or as it was read off."""
        if measure.level_before is not None and measure.level_after is not None:
            holds = holder.holds if holder else None
            return measuring.by_level(
                product, measure.level_before, measure.level_after, holds=holds
            )
        if measure.strokes is not None and measure.per_stroke is not None:
            return measuring.dispensed_strokes(product, measure.strokes, measure.per_stroke)
        return self._plain(entry, product)

    def _plain(self, entry: Consumable, product: Product) -> Measured:
        """Take an amount that was read off as it is."""
        if entry.quantity is None:
            raise AmountNeeded
        way = entry.measure.way if entry.measure else None
        dimension = conversion.dimension_of(product.unit)
        if way is Way.COUNTED or (way is None and dimension in ("count", "sets", "uses")):
            return measuring.counted(product, entry.quantity)
        if way is None or way is Way.DISPENSED:
            return measuring.dispensed(product, entry.quantity)
        amount = conversion.in_stock_unit(entry.quantity, product)
        return Measured(quantity=amount, measure=Measure(way=way))

    def _holder(self, entry: Consumable, product: Product) -> Container | None:
        """Give the container, once it and the batch and mix are seen to hold the product."""
        holder: Container | None = None
        for kind, name in (
            ("container", entry.container),
            ("receipt", entry.receipt),
            ("mixed batch", entry.mixed),
        ):
            if name is None:
                continue
            found = self._context.entry(kind, name)
            if found.product != entry.product:
                inside = self._context.product(found.product).name
                raise OtherProduct(kind, self._context.ref(name), inside, product.name)
            if kind == "container":
                holder = found
        return holder

    def _of_mix(self, entry: Consumable, product: Product, sprayed: Quantity) -> Measured:
        """Take a share of a mixed batch, after what its standing uses took before."""
        if entry.mixed is None:
            raise MixNeeded
        self._flush()
        query = (
            select(record.c.canonical)
            .join(line, line.c.record_id == record.c.id)
            .where(line.c.mixed == entry.mixed, standing())
        )
        used, taken = Fraction(0), Fraction(0)
        for text in self._conn.execute(query).scalars():
            payload = chain.read(text)
            priced = decode_fields(Priced, payload["priced"], {})
            if priced.measure and priced.measure.sprayed and priced.quantity:
                used += priced.measure.sprayed.to("ml")
                taken += conversion.in_millilitres(priced.quantity, product)
        mixed: MixedBatch = self._context.entry("mixed batch", entry.mixed)
        return measuring.of_mix(mixed, product, sprayed, used_before=used, taken_before=taken)

    def _standard(self, entry: Consumable, product: Product) -> StandardAmount:
        """Give the shop's standard amount for an operation."""
        query = (
            select(entity.c.id)
            .join(standard_amount, standard_amount.c.record_id == entity.c.current)
            .where(
                entity.c.kind == "standard amount",
                standard_amount.c.product == entry.product,
                standard_amount.c.operation == (entry.operation or ""),
            )
        )
        found = self._conn.execute(query).scalar()
        if found is None:
            raise NoStandardAmount(product.name, entry.operation or "")
        standard: StandardAmount = self._context.entry("standard amount", found)
        return standard
