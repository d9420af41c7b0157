"""Figures of one vehicle as sums of legs: which of them each figure is made of.

A report shows the figure and its page the legs; both go by what stands here. A figure adds up
the legs of one vehicle that it holds, as the journal has them or with changed sides.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass

from recondition.accounts import chart
from recondition.accounts.journal import Entry, Leg

Holds = Callable[[str, str], bool]
"""Tell of a leg whether a figure holds it, by its entry's document and its own role."""


@dataclass(frozen=True, slots=True)
class Figure:
    """A figure of one vehicle: its title, its side (1 debits, -1 credits), the legs it holds."""

    title: str
    sign: int
    holds: Holds

    def legs(self, entries: Iterable[Entry], vehicle: str) -> Iterator[tuple[Entry, Leg, int]]:
        """Give its legs of a vehicle (a stock number), each with what it adds in minor units."""
        for entry in entries:
            for leg in entry.legs:
                if leg.vehicle == vehicle and self.holds(entry.document, leg.role):
                    yield entry, leg, self.sign * leg.amount


_RELEASE, _TEST, _ACCRUED = "release ", "value test ", "sublet accrued "
_NO_LINES = (_RELEASE, _TEST, _ACCRUED)
_ITSELF = (chart.RECONDITIONING, chart.WRITTEN_DOWN, chart.ALL_SUB_LINES)
_SOLD = (chart.COST_VEHICLE, chart.COST_RECONDITIONING)

REVENUE = (
    chart.VEHICLE_SALES, chart.SERVICE_LABOUR, chart.SERVICE_MATERIALS, chart.SERVICE_OTHER,
    chart.COMMISSION_INCOME,
)  # fmt: skip
WORK = (chart.COST_RECONDITIONING, chart.COST_SERVICE)
EXCHANGE = (chart.EXCHANGE_LOSS, chart.EXCHANGE_GAIN)
OTHER = (chart.WRITE_DOWN, chart.AFTER_SALE, chart.NOT_BILLED)
_BETWEEN = (chart.SPOILED, *EXCHANGE, *OTHER)
_GROSS = (*REVENUE, chart.COST_VEHICLE, *WORK)


def _on(*roles: str, groups: tuple[str, ...] = ()) -> Holds:
    """Hold some roles, and those of some groups, in whichever entry."""
    starts = tuple(f"{group}: " for group in groups)
    return lambda _, role: role in roles or role.startswith(starts)


def _landed(document: str, role: str) -> bool:
    """Hold what lines of landed cost put on a car, or on the cost of one that is sold."""
    car = role.startswith(chart.INVENTORY) and role not in _ITSELF
    return (car or role == chart.COST_VEHICLE) and not document.startswith(_NO_LINES)


def _work(document: str, role: str) -> bool:
    """Hold what lines of work put on a car, on its cost or on work after its sale."""
    work = role in (chart.RECONDITIONING, chart.COST_RECONDITIONING, chart.AFTER_SALE)
    return work and not document.startswith(_NO_LINES)


def _tested(document: str, role: str) -> bool:
    """Hold what value tests did to a car, and what accruals put on it, wherever they went."""
    car = role.startswith(chart.INVENTORY)
    return (car and document.startswith(_TEST)) or (
        (car or role in (*_SOLD, chart.AFTER_SALE)) and document.startswith(_ACCRUED)
    )


FIGURES = {
    "landed": Figure("Landed", 1, _landed),
    "work": Figure("Work on it", 1, _work),
    "tested": Figure("Written down, accrued", 1, _tested),
    "sold": Figure("Gone to cost of sales", -1, _on(*_SOLD)),
    "after_sale": Figure("Gone to after-sale work", -1, _on(chart.AFTER_SALE)),
    "journal": Figure("Stands at", 1, lambda _, role: role.startswith(chart.INVENTORY)),
    "in_process": Figure("In process, at cost", 1, _on(chart.WORK_FOR_OWNERS)),
    "sales_and_service": Figure("Sales and service", -1, _on(*REVENUE)),
    "gross": Figure("Gross", -1, _on(*_GROSS)),
    "after_selling": Figure(
        "After selling", -1, _on(*_GROSS, *_BETWEEN, groups=("selling",))),
    "after_holding": Figure(
        "After holding", -1, _on(*_GROSS, *_BETWEEN, groups=("selling", "holding"))),
    "cost_of_the_car": Figure("Cost of the car", 1, _on(chart.COST_VEHICLE)),
    "cost_of_the_work": Figure("Cost of the work", 1, _on(*WORK)),
    "selling": Figure("Selling", 1, _on(groups=("selling",))),
    "spoiled": Figure("Spoiled, exchange, other", 1, _on(*_BETWEEN)),
    "holding": Figure("Holding", 1, _on(groups=("holding",))),
    "to_come_in": Figure("To come in from the sale", 1, _on(chart.SALE_RECEIVABLE)),
    "due_to_owner": Figure("Due to the owner from the sale", -1, _on(chart.DUE_TO_OWNER)),
    "owed_for_work": Figure("The owner owes for work", 1, _on(chart.OWNER_RECEIVABLE)),
}  # fmt: skip
"""Every figure that opens up to its legs, by its name in addresses."""
BOOKED = {
    "(comes back, booked)": ("tax that comes back, booked", 1, (chart.INPUT_TAX,)),
    "(charged, booked)": ("tax charged, booked", -1, (chart.OUTPUT_TAX,)),
    "(owed)": ("owed (below zero: comes back)", -1, (chart.INPUT_TAX, chart.OUTPUT_TAX)),
}
"""What the accounts say of tax: words, side and roles, by what stands for a tax code."""


def summed(entries: Iterable[Entry], name: str) -> dict[str, int]:
    """Add a figure up by vehicle (stock number), in minor units."""
    figure, found = FIGURES[name], dict[str, int]()
    for entry in entries:
        for leg in entry.legs:
            if leg.vehicle is not None and figure.holds(entry.document, leg.role):
                found[leg.vehicle] = found.get(leg.vehicle, 0) + figure.sign * leg.amount
    return found
