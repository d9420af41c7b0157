"""Tying what was booked to what it rests on: invoices to lines, cars to inventory."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from recondition.accounts import chart
from recondition.accounts.facts import InvoiceKey
from recondition.accounts.figures import EXCHANGE, OTHER, REVENUE, WORK

DOUBLE_DAYS = 31


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """What one line or receipt took from an invoice, with tax: its ref, vehicle, amount.

    ``number`` is the invoice's as the line has it.
    """

    ref: str
    number: str
    vehicle: str
    amount: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Bill:
    """One recorded invoice that stands."""

    ref: str
    key: InvoiceKey
    supplier: str
    number: str
    day: date
    total: int
    paid: int
    rounding: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Tie:
    """One invoice against its lines: total = lines + rounding + unallocated, in minor units."""

    bill: Bill
    taken: tuple[Taken, ...]
    unallocated: int
    doubles: tuple[str, ...]

    @property
    def lines(self) -> int:
        """What its lines took."""
        return sum(each.amount for each in self.taken)

    def by_vehicle(self) -> dict[str, int]:
        """Give what each vehicle bears of it."""
        found: dict[str, int] = {}
        for each in self.taken:
            found[each.vehicle] = found.get(each.vehicle, 0) + each.amount
        return found


def tie(bills: Sequence[Bill], taken: Mapping[InvoiceKey, tuple[Taken, ...]]) -> list[Tie]:
    """Hold invoices against their lines, and name possible doubles of each."""
    return [
        Tie(
            bill=bill,
            taken=taken.get(bill.key, ()),
            unallocated=bill.total
            - bill.rounding
            - sum(each.amount for each in taken.get(bill.key, ())),
            doubles=tuple(other.ref for other in bills if _may_be_double(bill, other)),
        )
        for bill in bills
    ]


def _may_be_double(one: Bill, other: Bill) -> bool:
    """Tell whether two invoices may be the same.

    They have the same total, and the same number or the same sender within a month.
    """
    if one.ref == other.ref or one.total != other.total:
        return False
    same_number = one.key[1] == other.key[1]
    near = abs((one.day - other.day).days) <= DOUBLE_DAYS
    return same_number or (one.supplier == other.supplier and near)


@dataclass(frozen=True, slots=True, kw_only=True)
class CarInventory:
    """What one own car stands at: by its lines and tests, and by the journal (minor units).

    ``tested`` is what value tests and accruals did, ``released`` what went to cost of sales,
    ``after_sale`` what went to work after its sale, an expense at once.
    """

    vehicle: str
    landed: int
    reconditioning: int
    tested: int
    released: int
    after_sale: int
    journal: int

    @property
    def by_lines(self) -> int:
        """What its lines, accruals and value tests come to, less what went to expenses."""
        gone = self.released + self.after_sale
        return self.landed + self.reconditioning + self.tested - gone

    @property
    def difference(self) -> int:
        """What parts the two; zero in books that tie."""
        return self.by_lines - self.journal


Balances = Mapping[tuple[str | None, str], int]


def stands_at(balances: Balances, vehicle: str, *, without: Iterable[str] = ()) -> int:
    """Give what stands on one car's inventory by the journal."""
    skipped = set(without)
    return sum(
        amount
        for (whose, role), amount in balances.items()
        if whose == vehicle and role.startswith(chart.INVENTORY) and role not in skipped
    )


def on(balances: Balances, role: str, vehicle: str | None = None) -> int:
    """Give what stands on one role, of one vehicle where it is named, else of all."""
    return sum(
        amount
        for (whose, which), amount in balances.items()
        if which == role and (vehicle is None or whose == vehicle)
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Profit:
    """What one vehicle brought, in minor units; costs are above zero."""

    vehicle: str
    revenue: int
    cost_vehicle: int
    cost_work: int
    selling: int
    spoiled: int
    exchange: int
    other: int
    holding: int

    @property
    def gross(self) -> int:
        """Revenue less the cost of what was sold."""
        return self.revenue - self.cost_vehicle - self.cost_work

    @property
    def after_selling(self) -> int:
        """Gross less selling, spoiled work, exchange and other costs of the vehicle."""
        return self.gross - self.selling - self.spoiled - self.exchange - self.other

    @property
    def after_holding(self) -> int:
        """After selling less holding."""
        return self.after_selling - self.holding


def profit_of(balances: Balances, vehicle: str) -> Profit:
    """Give what a vehicle brought so far, by the journal."""

    def group(name: str) -> int:
        return sum(
            amount
            for (whose, role), amount in balances.items()
            if whose == vehicle and role.startswith(f"{name}: ")
        )

    def roles(*names: str) -> int:
        return sum(on(balances, name, vehicle) for name in names)

    return Profit(
        vehicle=vehicle,
        revenue=-roles(*REVENUE),
        cost_vehicle=roles(chart.COST_VEHICLE),
        cost_work=roles(*WORK),
        selling=group("selling"),
        spoiled=roles(chart.SPOILED),
        exchange=roles(*EXCHANGE),
        other=roles(*OTHER),
        holding=group("holding"),
    )
