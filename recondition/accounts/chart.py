"""The account map: which account of the user's own chart each kind of posting goes to.

A role is what a posting is; the map gives it a code and a name from a day on. The default is a
small chart of generic accounts, in no country's numbering; a book's own rows stand over it.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

import rfc8785

from recondition.ledger.items import CostItem


@dataclass(frozen=True, slots=True)
class Account:
    """One account of a chart."""

    code: str
    name: str


@dataclass(frozen=True, slots=True, kw_only=True)
class MappedAccount:
    """A row of the account map: from a day on, a role goes to this account."""

    role: str
    from_date: date
    code: str
    name: str


INVENTORY = "inventory"
RECONDITIONING = "inventory: reconditioning"
WRITTEN_DOWN = "inventory: written down"
ALL_SUB_LINES = "inventory: all sub-lines"
STOCK = "consumables stock"
WORK_FOR_OWNERS = "work in process for owners"
SALE_RECEIVABLE = "receivable: sale"
OWNER_RECEIVABLE = "receivable: owner"
INPUT_TAX = "input tax"
BANK = "bank"
TO_ALLOCATE = "invoices to allocate"
PAYABLE = "payable"
PAYABLE_SELLER = "payable: seller"
ACCRUED = "accrued sublet work"
DUE_TO_OWNER = "due to owner"
OUTPUT_TAX = "output tax"
OPENING = "opening balances"
VEHICLE_SALES = "vehicle sales"
SERVICE_LABOUR = "service sales: labour"
SERVICE_MATERIALS = "service sales: materials"
SERVICE_OTHER = "service sales: other"
COMMISSION_INCOME = "commission income"
COST_VEHICLE = "cost of sales: vehicle"
COST_RECONDITIONING = "cost of sales: reconditioning"
COST_SERVICE = "cost of service sales"
LABOUR_ABSORBED = "labour absorbed"
SPOILED = "spoiled work"
OVERHEAD = "overhead"
COUNT_DIFFERENCE = "stock count difference"
PRICE_DIFFERENCE = "stock price difference"
EXCHANGE_LOSS = "exchange loss"
EXCHANGE_GAIN = "exchange gain"
WRITE_DOWN = "write-down"
AFTER_SALE = "after-sale work"
NOT_BILLED = "owner work not billed"
ROUNDING = "rounding difference"

_FIXED = {
    RECONDITIONING: ("1490", "Vehicle inventory: reconditioning"),
    WRITTEN_DOWN: ("1495", "Vehicle inventory: written down"),
    ALL_SUB_LINES: ("1400", "Vehicle inventory: all sub-lines"),
    STOCK: ("1300", "Consumables stock"),
    WORK_FOR_OWNERS: ("1350", "Work in process - customer jobs"),
    SALE_RECEIVABLE: ("1210", "Auctioneer receivable"),
    OWNER_RECEIVABLE: ("1200", "Accounts receivable - owner"),
    INPUT_TAX: ("1250", "Input tax recoverable"),
    BANK: ("1000", "Bank"),
    TO_ALLOCATE: ("1280", "Supplier invoices to be allocated"),
    PAYABLE: ("2000", "Accounts payable"),
    PAYABLE_SELLER: ("2010", "Accounts payable - seller"),
    ACCRUED: ("2050", "Accrued sublet work"),
    DUE_TO_OWNER: ("2100", "Due to owner"),
    OUTPUT_TAX: ("2200", "Sales tax payable"),
    OPENING: ("3000", "Opening balances"),
    VEHICLE_SALES: ("4000", "Vehicle sales"),
    SERVICE_LABOUR: ("4100", "Service sales: labour"),
    SERVICE_MATERIALS: ("4110", "Service sales: materials"),
    SERVICE_OTHER: ("4120", "Service sales: other"),
    COMMISSION_INCOME: ("4200", "Commission income"),
    EXCHANGE_GAIN: ("4900", "Exchange gain"),
    COST_VEHICLE: ("5000", "Cost of sales: vehicle"),
    COST_RECONDITIONING: ("5010", "Cost of sales: reconditioning"),
    COST_SERVICE: ("5100", "Cost of service sales"),
    LABOUR_ABSORBED: ("5900", "Labour absorbed (contra wages)"),
    SPOILED: ("6000", "Spoiled work expense"),
    AFTER_SALE: ("6010", "After-sale work expense"),
    NOT_BILLED: ("6020", "Owner work not billed"),
    COUNT_DIFFERENCE: ("6030", "Stock count difference"),
    PRICE_DIFFERENCE: ("6040", "Stock price difference"),
    WRITE_DOWN: ("6050", "Write-down to net realisable value"),
    OVERHEAD: ("6300", "Overhead expense"),
    EXCHANGE_LOSS: ("6900", "Exchange loss"),
    ROUNDING: ("6910", "Rounding difference"),
}

_GROUPS = (
    (INVENTORY, 1401, "Vehicle inventory"),
    ("selling", 6101, "Selling expense"),
    ("holding", 6201, "Holding expense"),
)


def by_item(group: str, item: CostItem | str | None) -> str:
    """Give the role of a landed, selling or holding cost by what it was paid for."""
    return f"{group}: {CostItem(item or CostItem.OTHER).value}"


DEFAULT: Mapping[str, Account] = {
    **{role: Account(*pair) for role, pair in _FIXED.items()},
    **{
        by_item(group, item): Account(str(first + place), f"{name}: {item.value}")
        for group, first, name in _GROUPS
        for place, item in enumerate(CostItem)
    },
}
"""Every role with its account where the book's own map says nothing."""


class Chart:
    """The account map in force: the default, with the book's own rows over it."""

    def __init__(self, rows: Iterable[MappedAccount] = ()) -> None:
        """Take the book's own rows."""
        self._rows: dict[str, list[MappedAccount]] = {}
        for row in sorted(rows, key=lambda row: row.from_date):
            self._rows.setdefault(row.role, []).append(row)

    def account(self, role: str, day: str) -> Account:
        """Give the account of a role on a day (ISO 8601)."""
        found = DEFAULT[role]
        for row in self._rows.get(role, ()):
            if row.from_date.isoformat() <= day:
                found = Account(row.code, row.name)
        return found

    def history(self, role: str) -> list[tuple[date | None, Account]]:
        """Give every account a role ever had, with its first day (None for the generic one)."""
        own: list[tuple[date | None, Account]] = [
            (row.from_date, Account(row.code, row.name)) for row in self._rows.get(role, ())
        ]
        return [(None, DEFAULT[role]), *own]

    def version(self, day: str) -> str:
        """Give the hash (SHA-256) of the whole map as it is on a day."""
        said = {role: [*self._pair(role, day)] for role in DEFAULT}
        return hashlib.sha256(rfc8785.dumps(said)).hexdigest()

    def _pair(self, role: str, day: str) -> tuple[str, str]:
        found = self.account(role, day)
        return found.code, found.name
