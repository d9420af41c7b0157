"""What the journal makes of everything that is no line: invoices, payments, sales and the rest.

Each gives balanced legs in its own period, and the same with changed sides in the period in
which it was taken back.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import Any

from recondition.accounts import chart
from recondition.accounts.facts import (
    Facts,
    InvoiceFact,
    OwnerInvoiceFact,
    PaymentFact,
    SaleFact,
    StockFact,
)
from recondition.accounts.places import Document, Places
from recondition.accounts.sheet import Leg, Sheet
from recondition.ledger.lines import LineKind
from recondition.ledger.periods import first_day, last_day, next_month

Name = Callable[[str | None], str | None]
Balances = Mapping[tuple[str | None, str], int]
Released = Mapping[str | None, Mapping[str, int]]

_SERVICE = {
    LineKind.LABOUR.value: chart.SERVICE_LABOUR,
    LineKind.PART.value: chart.SERVICE_MATERIALS,
    LineKind.CONSUMABLE.value: chart.SERVICE_MATERIALS,
}


class Others:
    """Posts what is no line, period by period."""

    def __init__(self, facts: Facts, places: Places, name: Name) -> None:
        """Sort everything by the period it is booked in, and by that in which it is undone."""
        self._places = places
        self._name = name
        self._sales = facts.sales
        self._names = facts.names
        self._by_period: dict[str, list[Callable[[Sheet], None]]] = {}
        for each in facts.stock:
            self._at(each.period, self._stock, each)
        groups: tuple[tuple[Iterable[Any], Callable[[Any], tuple[Document, list[Leg]]]], ...] = (
            (facts.invoices, self._invoice),
            (facts.payments, self._payment),
            (facts.sales, self._sold),
            (facts.sales, self._settlement),
            (facts.owner_invoices, self._owner_invoice),
            (facts.owner_invoices, self._owner_cost),
            (facts.values, self._value),
        )
        for found, legs_of in groups:
            for each in found:
                self._at(each.period, self._booked, each, legs_of)
                if each.undone is not None:
                    self._at(each.undone.period, self._taken_back, each, legs_of)
        for invoice in facts.invoices:
            if invoice.rounding and invoice.undone is None:
                self._at(invoice.rounding_period, self._rounding, invoice)
        for accrual in facts.accruals:
            self._at(accrual.period, self._accrued, accrual, 1)
            self._at(next_month(accrual.period), self._accrued, accrual, -1)

    @property
    def periods(self) -> set[str]:
        """The periods in which any of it is booked."""
        sold = {sale.period for sale in self._sales}
        return set(self._by_period) | sold

    def _at(self, period: str, act: Callable[..., None], *args: Any) -> None:  # noqa: ANN401
        """Note what is to be posted in a period."""
        self._by_period.setdefault(period, []).append(lambda sheet: act(sheet, *args))

    def post(self, sheet: Sheet, period: str) -> None:
        """Post everything of a period but the release of sold cars."""
        for act in self._by_period.get(period, ()):
            act(sheet)

    def _booked(self, sheet: Sheet, fact: Any, legs_of: Callable[..., Any]) -> None:  # noqa: ANN401
        """Post something in its own period."""
        document, legs = legs_of(fact)
        sheet.post(fact.day, document, legs)

    def _taken_back(self, sheet: Sheet, fact: Any, legs_of: Callable[..., Any]) -> None:  # noqa: ANN401
        """Post the same with changed sides, on the day it was taken back."""
        document, legs = legs_of(fact)
        back = Document(document.rank, f"{document.name}, taken back")
        sheet.post(fact.undone.day, back, [(r, v, -a) for r, v, a in legs])

    def _stock(self, sheet: Sheet, fact: StockFact) -> None:
        """Post what a receipt, freight, return or reversal did to stock.

        For a movement that a line caused only its price difference is left to post.
        """
        role = self._places.owed_on(fact.invoice, fact.period, fact.settled, chart.PAYABLE)
        opening = role == chart.OPENING
        document = (
            Document(0, "opening") if opening
            else self._places.bought(fact.supplier, fact.number) if fact.owed
            else Document(6, fact.what)
        )  # fmt: skip
        legs: list[Leg] = [
            (chart.STOCK, None, fact.owed - fact.difference),
            (chart.PRICE_DIFFERENCE, None, fact.difference),
            (chart.INPUT_TAX, None, fact.tax_recovered),
            (role, None, -fact.owed - fact.tax_recovered),
        ]
        sheet.post(fact.day, document, legs)

    def _invoice(self, fact: InvoiceFact) -> tuple[Document, list[Leg]]:
        """Owe a supplier invoice whole; its lines take it off what is to be allocated."""
        owed = chart.PAYABLE_SELLER if fact.seller else chart.PAYABLE
        if fact.opening:
            return Document(0, "opening"), [
                (chart.OPENING, None, fact.total),
                (owed, None, -fact.total),
            ]
        left = fact.total - fact.before
        other = chart.PAYABLE if fact.seller else chart.PAYABLE_SELLER
        return self._places.bought(fact.key[0], fact.number), [
            (chart.TO_ALLOCATE, None, left),
            (owed, None, -left - fact.other),
            (other, None, fact.other),
        ]

    def _rounding(self, sheet: Sheet, fact: InvoiceFact) -> None:
        """Take the cents that are left over once all lines in foreign money are there."""
        document = self._places.bought(fact.key[0], fact.number)
        legs: list[Leg] = [
            (chart.ROUNDING, None, fact.rounding),
            (chart.TO_ALLOCATE, None, -fact.rounding),
        ]
        sheet.post(fact.rounding_day, document, legs)

    def _payment(self, fact: PaymentFact) -> tuple[Document, list[Leg]]:
        """Money against what it settles; the rest is exchange gain or loss."""
        document = Document(7, f"payment {fact.ref}")
        vehicle = self._name(fact.vehicle)
        if fact.set_off:
            return document, [
                (chart.DUE_TO_OWNER, self._name(fact.proceeds), fact.settled),
                (fact.against, vehicle, -fact.settled),
            ]
        sign = -1 if fact.received else 1
        moved = fact.settled + fact.exchange
        # Paying more than was owed is a loss, receiving more than was due a gain.
        lost = sign * fact.exchange
        exchange = chart.EXCHANGE_LOSS if lost > 0 else chart.EXCHANGE_GAIN
        return document, [
            (fact.against, vehicle, sign * fact.settled),
            (exchange, vehicle, lost),
            (chart.BANK, None, -sign * moved),
        ]

    def _sold(self, fact: SaleFact) -> tuple[Document, list[Leg]]:
        """Make the hammer a sale of an own car; an owner's car is sold on the owner's behalf."""
        document, vehicle = Document(1, f"sale {fact.ref}"), self._name(fact.vehicle)
        if fact.consigned:
            return document, [
                (chart.SALE_RECEIVABLE, vehicle, fact.hammer),
                (chart.DUE_TO_OWNER, vehicle, -fact.hammer),
            ]
        due = fact.hammer + (fact.tax if fact.tax_on_top else 0)
        return document, [
            (chart.SALE_RECEIVABLE, vehicle, due),
            (chart.VEHICLE_SALES, vehicle, fact.tax - due),
            (chart.OUTPUT_TAX, None, -fact.tax),
        ]

    def _settlement(self, fact: SaleFact) -> tuple[Document, list[Leg]]:
        """Commission and fees are kept back from the hammer; the shop's own are its income."""
        document, vehicle = Document(2, f"settlement {fact.ref}"), self._name(fact.vehicle)
        kept = fact.commission + fact.fees
        if not fact.consigned:
            fee = {"unsold": "unsold fee", "withdrawn": "withdrawal fee"}.get(
                fact.result, "entry fee"
            )
            owed = chart.SALE_RECEIVABLE if fact.result == "sold" else chart.PAYABLE
            return document, [
                (chart.by_item("selling", "commission"), vehicle, fact.commission),
                (chart.by_item("selling", fee), vehicle, fact.fees),
                (owed, vehicle, -kept),
            ]
        sold = fact.result == "sold"
        asked = fact.shop_commission + (fact.tax if fact.tax_on_top else 0)
        return document, [
            (chart.DUE_TO_OWNER if sold else chart.OWNER_RECEIVABLE, vehicle, kept + asked),
            (chart.SALE_RECEIVABLE if sold else chart.PAYABLE, vehicle, -kept),
            (chart.COMMISSION_INCOME, vehicle, fact.tax - asked),
            (chart.OUTPUT_TAX, None, -fact.tax),
        ]

    def _owner_invoice(self, fact: OwnerInvoiceFact) -> tuple[Document, list[Leg]]:
        """Work for an owner is a service sale when it is billed."""
        vehicle = self._name(fact.vehicle)
        legs: list[Leg] = [
            (_SERVICE.get(kind, chart.SERVICE_OTHER), vehicle, -billed)
            for kind, billed, _ in fact.lines
        ]
        owed = sum(billed for _, billed, _ in fact.lines) + fact.tax
        legs += [(chart.OUTPUT_TAX, None, -fact.tax), (chart.OWNER_RECEIVABLE, vehicle, owed)]
        return Document(1, f"owner invoice {fact.ref}"), legs

    def _owner_cost(self, fact: OwnerInvoiceFact) -> tuple[Document, list[Leg]]:
        """With it the cost of that work leaves work in process."""
        vehicle = self._name(fact.vehicle)
        cost = sum(cost for _, _, cost in fact.lines)
        return Document(3, f"cost of owner invoice {fact.ref}"), [
            (chart.COST_SERVICE, vehicle, cost),
            (chart.WORK_FOR_OWNERS, vehicle, -cost),
        ]

    def _value(self, fact: Any) -> tuple[Document, list[Leg]]:  # noqa: ANN401 - a ValueFact
        """Expense a write-down in its period; a recovery takes it back."""
        vehicle = self._name(fact.vehicle)
        return Document(8, f"value test {fact.ref}"), [
            (chart.WRITE_DOWN, vehicle, -fact.change),
            (chart.WRITTEN_DOWN, vehicle, fact.change),
        ]

    def _accrued(self, sheet: Sheet, fact: Any, sign: int) -> None:  # noqa: ANN401 - an AccrualFact
        """Accrue at the end of the period, and take it back on the first day of the next."""
        period = fact.period if sign > 0 else next_month(fact.period)
        day = last_day(period) if sign > 0 else first_day(period)
        role = (
            chart.WORK_FOR_OWNERS
            if fact.consigned
            else self._places.of_own_car(fact.vehicle, period, fact.happened, landed=False)
        )
        name = f"sublet accrued {fact.ref}" + ("" if sign > 0 else ", taken back")
        legs: list[Leg] = [
            (role, self._name(fact.vehicle), sign * fact.amount),
            (chart.ACCRUED, None, -sign * fact.amount),
        ]
        sheet.post(day.isoformat(), Document(9, name), legs)

    def bring_back(
        self, sheet: Sheet, period: str, balances: Balances, released: Released
    ) -> None:  # fmt: skip
        """Bring back to inventory the own cars whose sale of an earlier period was undone.

        ``released`` is what each car's last release was made of.
        """
        for sale in self._own_sold():
            if sale.undone is not None and sale.undone.period == period != sale.period:
                name = self._name(sale.vehicle)
                _brought_back(sheet, sale, name, balances, released.get(name, {}))

    def release(
        self, sheet: Sheet, period: str, balances: Balances, _released_before: Released
    ) -> None:  # fmt: skip
        """Release the own cars sold in a period.

        ``balances`` is what stands on each account after everything else of the period.
        """
        for sale in self._own_sold():
            if sale.period == period and not (sale.undone and sale.undone.period == period):
                _released(sheet, sale, self._name(sale.vehicle), balances)

    def _own_sold(self) -> list[SaleFact]:
        """Give the own cars that were sold."""
        return [sale for sale in self._sales if not sale.consigned and sale.result == "sold"]


def sub_lines(vehicle: str | None, balances: Balances) -> dict[str, int]:
    """Give what stands on the inventory of one vehicle, by role."""
    return {
        role: amount
        for (whose, role), amount in balances.items()
        if whose == vehicle and role.startswith(chart.INVENTORY) and amount
    }


def _released(sheet: Sheet, sale: SaleFact, vehicle: str | None, balances: Balances) -> None:
    """Move everything on a car's inventory to cost of sales, as one credit."""
    found = sub_lines(vehicle, balances)
    work = found.get(chart.RECONDITIONING, 0)
    whole = sum(found.values())
    document = Document(3, f"release {vehicle}")
    memo = "Release of " + ", ".join(role.removeprefix("inventory: ") for role in sorted(found))
    sheet.post(sale.day, document, [
        (chart.COST_VEHICLE, vehicle, whole - work),
        (chart.COST_RECONDITIONING, vehicle, work),
        (chart.ALL_SUB_LINES, vehicle, -whole),
    ], memo)  # fmt: skip
    sheet.parts[sale.day, document] = tuple(sorted(found.items()))


def _brought_back(
    sheet: Sheet,
    sale: SaleFact,
    vehicle: str | None,
    balances: Balances,
    parts: Mapping[str, int],
) -> None:
    """Put a car whose sale was undone back into inventory, with what came late."""
    if sale.undone is None:
        return
    cost = balances.get((vehicle, chart.COST_VEHICLE), 0)
    work = balances.get((vehicle, chart.COST_RECONDITIONING), 0)
    released = sum(parts.values())
    late_work = work - parts.get(chart.RECONDITIONING, 0)
    sheet.post(sale.undone.day, Document(3, f"release {vehicle}, taken back"), [
        (chart.ALL_SUB_LINES, vehicle, released),
        (chart.RECONDITIONING, vehicle, late_work),
        (chart.by_item(chart.INVENTORY, None), vehicle, cost + work - released - late_work),
        (chart.COST_VEHICLE, vehicle, -cost),
        (chart.COST_RECONDITIONING, vehicle, -work),
    ])  # fmt: skip
