"""Every use of stock with the batches that it names.

A use names its receipt itself, or through the container or the mixed batch it was taken from.
What counts is the batch that was in the container when the use was posted, by the order of
the product's own chain.
"""

from __future__ import annotations

from dataclasses import dataclass

from recondition.book import Connection, reading
from recondition.book.versions import at, versions
from recondition.ledger.drafts import Stored
from recondition.ledger.lines import Consumable, Use
from recondition.materials.receiving import MixedBatch
from recondition.materials.stock import Movement
from recondition.reports.stock_data import Shelves


@dataclass(frozen=True, slots=True)
class Taken:
    """One use of stock: its line, its movement, and the batches it names.

    ``named`` gives for each batch where it is named.
    """

    line: Stored[Consumable]
    moved: Stored[Movement]
    named: dict[str, str]

    @property
    def stands(self) -> bool:
        """Whether the line was not taken back."""
        return self.line.reversed_by is None

    @property
    def wasted(self) -> bool:
        """Whether the amount was thrown away."""
        return self.line.entry.use is Use.WASTED


class Uses:
    """Every use of stock with the batches it names."""

    def __init__(self, conn: Connection) -> None:
        """Read lines, containers with their earlier versions, and mixed batches."""
        self.shelves = Shelves(conn, None)
        self._containers = versions(conn, "container")
        self._mixes = {each.id: each for each in reading.stored(conn, "mixed batch")}

    def of(self, product: str) -> list[Taken]:
        """List the uses of a product in the order of posting, reversed ones among them."""
        return [
            Taken(line, moved, self._named(line.entry, moved.sequence))
            for moved in self.shelves.movements(product)
            if (line := self.shelves.lines.get(moved.entry.source)) is not None
            and isinstance(line.entry, Consumable)
        ]

    def _named(self, entry: Consumable, sequence: int) -> dict[str, str]:
        """Give each batch that a use names, and where it is named."""
        named: dict[str, str] = {}
        refs = self.shelves.refs
        if entry.mixed is not None:
            batch = self._of_mix(self._mixes[entry.mixed])
            if batch is not None:
                named[batch] = refs[entry.mixed]
        if entry.container is not None:
            batch = self._in_container(entry.container, sequence)
            if batch is not None:
                named[batch] = refs[entry.container]
        if entry.receipt is not None:
            named[entry.receipt] = "line"
        return named

    def _of_mix(self, mix: Stored[MixedBatch]) -> str | None:
        """Give the batch of a mix: its own, else that of the bottle it was made in."""
        if mix.entry.receipt is not None or mix.entry.container is None:
            return mix.entry.receipt
        return self._in_container(mix.entry.container, mix.sequence)

    def _in_container(self, container: str, sequence: int) -> str | None:
        """Give the batch that was in a container at a place in the product's chain."""
        then = at(self._containers[container], sequence)
        return None if then is None else then.entry.receipt
