"""The journal: double entry derived from what is booked, one entry a document and day.

Nothing is typed into it. Legs on the same account are merged, debits equal credits in every
entry by the way it is made, and a sold car leaves inventory as one credit that names its
sub-lines. The entries of a closed period are those frozen when it was closed.
General information; the local accountant decides.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import groupby

from recondition.accounts import chart
from recondition.accounts.facts import Facts, LineFact, Windows
from recondition.accounts.others import Others
from recondition.accounts.places import Places
from recondition.accounts.sheet import Sheet


@dataclass(frozen=True, slots=True, kw_only=True)
class Leg:
    """One side of an entry: an amount in minor units, above zero a debit, below a credit.

    ``vehicle`` is a stock number; ``parts`` are the sub-lines that a release is made of.
    """

    role: str
    code: str
    name: str
    vehicle: str | None
    amount: int
    parts: tuple[tuple[str, int], ...] = ()

    @property
    def debit(self) -> int:
        """The amount where it is a debit, else 0."""
        return max(self.amount, 0)

    @property
    def credit(self) -> int:
        """The amount where it is a credit, else 0."""
        return max(-self.amount, 0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One balanced entry. ``number`` counts within its period (``2031-03/004``)."""

    number: str
    period: str
    day: str
    document: str
    memo: str
    legs: tuple[Leg, ...]

    @property
    def debits(self) -> int:
        """The sum of its debits, which is that of its credits."""
        return sum(leg.debit for leg in self.legs)


Balances = dict[tuple[str | None, str], int]
"""What stands on each role, by vehicle (its stock number)."""


def merged(entry: Entry) -> tuple[Leg, ...]:
    """Give the legs of an entry as they are read: those on one account and vehicle as one.

    Kinds of posting that share an account of the user's own chart are kept apart inside.
    """
    found: dict[tuple[str, str | None], Leg] = {}
    for leg in entry.legs:
        key = (leg.code, leg.vehicle)
        before = found.get(key)
        found[key] = leg if before is None else replace(
            before, amount=before.amount + leg.amount, parts=(*before.parts, *leg.parts)
        )  # fmt: skip
    kept = [leg for leg in found.values() if leg.amount]
    return tuple(sorted(kept, key=lambda leg: (leg.amount < 0, leg.code, leg.vehicle or "")))


class Journal:
    """Derives the entries of a book, period by period, and keeps what stands on each account."""

    def __init__(
        self,
        facts: Facts,
        accounts: chart.Chart,
        frozen: Mapping[str, tuple[Entry, ...]] | None = None,
    ) -> None:
        """``frozen`` are the entries of closed periods, which are taken as they are."""
        self._facts = facts
        self._accounts = accounts
        self._frozen = dict(frozen or {})
        recorded = Windows()
        for each in facts.invoices:
            recorded.add(each)
        self.places = Places(facts.sales, recorded, facts.names)
        self.balances: Balances = {}
        self._released: dict[str | None, Mapping[str, int]] = {}

    def entries(self) -> Iterator[Entry]:
        """Give all entries in order; ``balances`` grows with them."""
        others = Others(self._facts, self.places, self._name)
        lines = groupby(self._facts.lines, key=lambda line: line.period)
        waiting = next(lines, None)
        for period in sorted(others.periods | set(self._frozen) | self._facts.line_periods):
            sheet = Sheet()
            while waiting is not None and waiting[0] <= period:
                if waiting[0] < period:
                    message = "lines are read in the order of their periods"
                    raise ValueError(message)
                if period not in self._frozen:
                    self._lines(sheet, waiting[1])
                waiting = next(lines, None)
            yield from self._period(period, sheet, others)

    def _name(self, vehicle: str | None) -> str | None:
        """Give a vehicle's stock number."""
        return self._facts.names.get(vehicle, vehicle) if vehicle else None

    def _period(self, period: str, sheet: Sheet, others: Others) -> Iterator[Entry]:
        """Give the entries of one period, frozen or made now."""
        if period in self._frozen:
            made = self._frozen[period]
            self._count(made)
        else:
            others.post(sheet, period)
            made = self._made(period, sheet)
            self._count(made)
            for last in (others.bring_back, others.release):
                moved = Sheet()
                last(moved, period, self.balances, self._released)
                more = self._made(period, moved)
                self._count(more)
                made = (*made, *more)
            made = _numbered(period, made)
        yield from made

    def _lines(self, sheet: Sheet, lines: Iterable[LineFact]) -> None:
        """Post the lines of a period."""
        for line in lines:
            self.line(sheet, line)

    def line(self, sheet: Sheet, line: LineFact) -> None:
        """Post one line: cost and tax that comes back against what it is paid from."""
        places = self.places
        name = self._name(line.vehicle)
        paid = line.cost + line.tax_recovered
        legs = (
            (places.charged_to(line), name, line.cost),
            (chart.INPUT_TAX, None, line.tax_recovered),
            (places.paid_from(line), name, -paid),
        )
        sheet.post(line.day, places.document(line), legs)

    def _made(self, period: str, sheet: Sheet) -> tuple[Entry, ...]:
        """Turn what was posted on a sheet into entries."""
        made = []
        for (day, document), legs in sorted(
            sheet.posted.items(), key=lambda item: (item[0][0], item[0][1].rank, item[0][1].name)
        ):
            kept = tuple(
                self._leg(day, role, vehicle, amount, sheet.parts.get((day, document), ()))
                for (role, vehicle), amount in legs.items()
                if amount
            )
            if kept:
                kept = tuple(
                    sorted(kept, key=lambda leg: (leg.amount < 0, leg.code, leg.vehicle or ""))
                )
                memo = sheet.memos.get((day, document), document.name)
                made.append(Entry(number=f"{document.rank}", period=period, day=day,
                                  document=document.name, memo=memo, legs=kept))  # fmt: skip
        return tuple(made)

    def _leg(
        self, day: str, role: str, vehicle: str | None, amount: int,
        parts: tuple[tuple[str, int], ...],
    ) -> Leg:  # fmt: skip
        """Put a leg on its account."""
        found = self._accounts.account(role, day)
        inner = parts if role == chart.ALL_SUB_LINES else ()
        return Leg(role=role, code=found.code, name=found.name, vehicle=vehicle, amount=amount,
                   parts=inner)  # fmt: skip

    def _count(self, entries: Iterable[Entry]) -> None:
        """Add entries to what stands on the accounts."""
        for entry in entries:
            for leg in entry.legs:
                key = (leg.vehicle, leg.role)
                self.balances[key] = self.balances.get(key, 0) + leg.amount
                if leg.parts:
                    self._released[leg.vehicle] = dict(leg.parts)

    def account_in(self, period: str, role: str) -> tuple[str, str] | None:
        """Give the account a role has in the frozen journal of a closed period."""
        for entry in self._frozen.get(period, ()):
            for leg in entry.legs:
                if leg.role == role:
                    return leg.code, leg.name
        return None


def _numbered(period: str, entries: tuple[Entry, ...]) -> tuple[Entry, ...]:
    """Put the entries of a period in order of day and document, and number them."""
    ordered = sorted(entries, key=lambda entry: (entry.day, int(entry.number), entry.document))
    return tuple(
        replace(entry, number=f"{period}/{place:03}") for place, entry in enumerate(ordered, 1)
    )
