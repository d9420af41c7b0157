"""What the books can be asked for, by name: one list for the command and for the pages."""

from __future__ import annotations

from dataclasses import dataclass
from importlib import import_module
from typing import TYPE_CHECKING

from recondition.errors import Refused

if TYPE_CHECKING:
    from recondition.book import Connection
    from recondition.reports.table import Table

REFS, PERIOD = "refs", "period"


class NoSuchReport(Refused):
    """A report of the books that is not known."""

    exit_status = 2
    http_status = 404

    def __init__(self, name: str) -> None:
        """Name it, and what there is."""
        super().__init__(
            f"the books have no report {name!r}", todo=f"There are: {', '.join(OF_SHOP)}."
        )


@dataclass(frozen=True, slots=True)
class Named:
    """One report: the function that makes it, its title, what it can be narrowed to, its help.

    ``function`` is ``module.name`` in ``recondition.reports``; ``narrowed`` holds REFS (stock
    numbers), PERIOD or both.
    """

    function: str
    title: str
    narrowed: tuple[str, ...]
    words: str

    def tables(
        self, conn: Connection, refs: tuple[str, ...] = (), period: str | None = None
    ) -> list[Table]:
        """Make its tables; what it cannot be narrowed to is left out. Raises NotThere, NotAPeriod.

        A vehicle that is not there is refused, also where it narrows nothing.
        """
        from recondition.book.questions import vehicle_of  # noqa: PLC0415 - heavy, and only here
        from recondition.ledger.periods import check_period  # noqa: PLC0415 - as above

        if period is not None:
            check_period(period)
        for ref in refs:
            vehicle_of(conn, ref)
        module, _, name = self.function.partition(".")
        make = getattr(import_module(f"recondition.reports.{module}"), name)
        given = {REFS: refs, PERIOD: period}
        made: list[Table] = make(conn, **{key: given[key] for key in self.narrowed})
        return made


_BOTH = (REFS, PERIOD)
OF_SHOP: dict[str, Named] = {
    "journal": Named(
        "books_journal.journal", "Journal", _BOTH,
        "Show the journal, of a month with --period, of some vehicles where they are named."),
    "accounts": Named(
        "books_journal.balances", "Accounts", (PERIOD,),
        "Show what stands on every account, at the end of a month with --period."),
    "inventory": Named(
        "books_cars.inventory", "Stock and work in process", _BOTH,
        "Show cars in inventory, owners' jobs and stock at month end, each against its lines."),
    "ties": Named(
        "books_ties.ties", "What ties to what", (PERIOD,),
        "Show sums that are known in two ways side by side, and whether they tie."),
    "profit": Named(
        "books_cars.profit", "What each vehicle brought", _BOTH,
        "Show what each vehicle brought: gross, after selling, after holding."),
    "landed": Named(
        "books_bought.landed", "Landed cost", (REFS,),
        "Show landed cost line by line, with foreign amounts, rates and their sources."),
    "invoices": Named(
        "books_bought.invoices", "Supplier invoices", _BOTH,
        "Hold supplier invoices against their lines; name what is unallocated, open or double."),
    "tax": Named(
        "books_tax.tax", "Tax", (PERIOD,),
        "Show tax paid and charged by code, and how it ties to the accounts."),
    "stock-book": Named(
        "books_tax.stock_book", "Stock book", (REFS,),
        "Show the stock book: how each car came and went, margin, tax, and whether the margin "
        "scheme may be used."),
    "hours": Named(
        "books_hours.hours", "Hours", (PERIOD,),
        "Show hours paid, on jobs, reworked and left over, by person and week."),
    "late": Named(
        "books_hours.late", "After the close", _BOTH,
        "Show what came after its month was closed: who, when, why."),
}  # fmt: skip
"""The reports of the shop, or of what they can be narrowed to."""


def named(name: str) -> Named:
    """Give a report by its name. Raises NoSuchReport."""
    if name not in OF_SHOP:
        raise NoSuchReport(name)
    return OF_SHOP[name]
