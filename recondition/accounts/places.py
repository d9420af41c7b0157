"""Where a line goes: the account it is charged to, the one it is paid from, its document.

Own vehicles are inventory, each by itself; what is done and paid for an owner is work in process
until it is billed; spoiled work, selling and holding are expenses at once (IAS 2, 6, 10 and 16, in
outline). A car that is sold takes no more cost: what comes late is cost of sales, and work
after the sale is an expense of its own (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from recondition.accounts import chart
from recondition.accounts.facts import InvoiceKey, LineFact, SaleFact, Windows
from recondition.amounts.documents import Settled
from recondition.ledger.items import BOUGHT_FOR
from recondition.ledger.lines import LineKind, Purpose


@dataclass(frozen=True, slots=True)
class Document:
    """What an entry stands for. ``rank`` puts documents of one day in their order."""

    rank: int
    name: str


class Sales:
    """The sales of a book, by vehicle, and which one is in force in a period."""

    def __init__(self, sales: Iterable[SaleFact]) -> None:
        """Take the sales that went through."""
        self._by_vehicle: dict[str, list[SaleFact]] = {}
        for sale in sales:
            if sale.result == "sold" and not sale.consigned:
                self._by_vehicle.setdefault(sale.vehicle, []).append(sale)

    def in_force(self, vehicle: str | None, period: str) -> SaleFact | None:
        """Give the sale of a vehicle that stands at the end of a period."""
        if vehicle is None:
            return None
        for sale in self._by_vehicle.get(vehicle, ()):
            gone = sale.undone is not None and sale.undone.period <= period
            if sale.period <= period and not gone:
                return sale
        return None


class Places:
    """Says of each line which accounts it moves, and under which document."""

    def __init__(
        self, sales: Iterable[SaleFact], recorded: Windows, names: Mapping[str, str]
    ) -> None:  # fmt: skip
        """Take the sales, and when each supplier invoice is on record."""
        self.sales = Sales(sales)
        self._recorded = recorded
        self._names = names

    def charged_to(self, line: LineFact) -> str:  # noqa: PLR0911 - one a place
        """Give the role of the account that a line's cost is charged to."""
        if line.vehicle is None or line.purpose == Purpose.OVERHEAD:
            count = line.kind == LineKind.COUNT
            return chart.COUNT_DIFFERENCE if count else chart.OVERHEAD
        if line.purpose == Purpose.SPOILAGE:
            return chart.SPOILED
        if line.consigned and line.billed:
            return chart.WORK_FOR_OWNERS
        if line.purpose == Purpose.SELLING:
            return chart.by_item("selling", line.item)
        if line.purpose == Purpose.HOLDING:
            return chart.by_item("holding", line.item)
        if line.consigned:
            return chart.NOT_BILLED
        return self.of_own_car(
            line.vehicle, line.period, line.happened, landed=line.purpose == Purpose.LANDED,
            item=line.item,
        )  # fmt: skip

    def of_own_car(
        self, vehicle: str, period: str, happened: str, *, landed: bool, item: str | None = None
    ) -> str:
        """Give the role for a cost of an own car: inventory, or what a sold car leaves of it."""
        sale = self.sales.in_force(vehicle, period)
        if sale is not None and (period > sale.period or happened > sale.day):
            if landed:
                return chart.COST_VEHICLE
            return chart.AFTER_SALE if happened > sale.day else chart.COST_RECONDITIONING
        return chart.by_item(chart.INVENTORY, item) if landed else chart.RECONDITIONING

    def paid_from(self, line: LineFact) -> str:
        """Give the role of the account that a line is paid from."""
        if line.kind == LineKind.LABOUR:
            return chart.LABOUR_ABSORBED
        if line.from_stock:
            return chart.STOCK
        owed = chart.PAYABLE_SELLER if line.item in BOUGHT_FOR else chart.PAYABLE
        return self.owed_on(line.invoice, line.period, line.settled, owed)

    def owed_on(
        self, invoice: InvoiceKey | None, period: str, settled: str | None, owed: str
    ) -> str:
        """Give the role for what was bought: settled at once, on a recorded invoice, or owed."""
        if settled == Settled.OPENING:
            return chart.OPENING
        if settled == Settled.BANK:
            return chart.BANK
        if self.is_recorded(invoice, period):
            return chart.TO_ALLOCATE
        return owed

    def is_recorded(self, invoice: InvoiceKey | None, period: str) -> bool:
        """Tell whether a supplier invoice is on record in a period."""
        return self._recorded.holds(invoice, period)

    def document(self, line: LineFact) -> Document:
        """Give the document that a line stands under."""
        if line.settled == Settled.OPENING:
            return Document(0, "opening")
        if line.kind == LineKind.LABOUR:
            return Document(5, "hours")
        if line.kind == LineKind.COUNT:
            return Document(6, "stock count")
        if line.from_stock:
            return Document(6, "stock used")
        return self.bought(line.supplier, line.number)

    def bought(self, supplier: str | None, number: str | None) -> Document:
        """Give the document of something bought."""
        whose = self._names.get(supplier or "")
        if number:
            return Document(4, f"invoice {number}" + (f" of {whose}" if whose else ""))
        return Document(4, f"bought from {whose}" if whose else "bought without invoice")
