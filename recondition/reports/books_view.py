"""The journal as reports read it: its entries up to a period, and what stands on each account."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from recondition.accounts.journal import Entry
from recondition.amounts import Money
from recondition.book import Connection, reading
from recondition.book.accounting import journal_of
from recondition.book.settings import Settings

Balances = Mapping[tuple[str | None, str], int]

GENERAL = "General information; the local accountant decides how it is treated."


@dataclass(frozen=True, slots=True, kw_only=True)
class View:
    """Entries of a book up to and including ``period`` (all of them where it is None)."""

    settings: Settings
    period: str | None
    entries: tuple[Entry, ...]
    balances: Balances

    @property
    def currency(self) -> str:
        """The home currency."""
        return self.settings.currency

    def money(self, minor: int) -> Money:
        """Give minor units as money."""
        return Money(minor, self.currency)

    def of_period(self) -> tuple[Entry, ...]:
        """Give the entries of the period alone; all of them where none is named."""
        if self.period is None:
            return self.entries
        return tuple(entry for entry in self.entries if entry.period == self.period)

    def when(self) -> str:
        """Say up to when the figures go."""
        return "so far" if self.period is None else f"at the end of {self.period}"


def view_of(conn: Connection, period: str | None = None) -> View:
    """Read the journal up to a period."""
    kept: list[Entry] = []
    balances: dict[tuple[str | None, str], int] = {}
    for entry in journal_of(conn).entries():
        if period is not None and entry.period > period:
            continue
        kept.append(entry)
        for leg in entry.legs:
            key = (leg.vehicle, leg.role)
            balances[key] = balances.get(key, 0) + leg.amount
    return View(
        settings=reading.settings_of(conn),
        period=period,
        entries=tuple(kept),
        balances=balances,
    )
