"""Work done again: why, at what cost, and which line each does again.

Rework is the same operation on the same place because of our own result, never a second stage
that was planned (common practice, no source). A line that was taken back counts no more.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from fractions import Fraction

from recondition.amounts import Money
from recondition.amounts.money import total
from recondition.ledger.drafts import Stored
from recondition.ledger.lines import Cause, Entered, Labour, Payer, Reversal, Rework

Line = Stored[Entered | Reversal]


@dataclass(frozen=True, slots=True, kw_only=True)
class Again:
    """One line that does work again. ``hours`` are hands-on, nothing where it is no labour."""

    line: Line
    rework: Rework
    hours: Fraction
    cost: Money
    billed: Money


@dataclass(frozen=True, slots=True, kw_only=True)
class Sum:
    """What rework of one cause, or of one payer, adds up to."""

    key: Cause | Payer
    lines: int
    hours: Fraction
    cost: Money
    billed: Money


def done_again(lines: Iterable[Line], currency: str) -> tuple[Again, ...]:
    """List the standing lines that do work again, in their order."""
    found = []
    for line in lines:
        entry = line.entry
        if isinstance(entry, Reversal) or line.reversed_by or entry.rework is None:
            continue
        priced = line.priced
        found.append(
            Again(
                line=line,
                rework=entry.rework,
                hours=entry.quantity.to("h") if isinstance(entry, Labour) else Fraction(0),
                cost=priced.cost if priced else Money.zero(currency),
                billed=(priced.billed if priced else None) or Money.zero(currency),
            )
        )
    return tuple(found)


def by_cause(found: Iterable[Again], currency: str) -> tuple[Sum, ...]:
    """Add rework up by its cause; causes without any are left out."""
    return _by(tuple(found), Cause, lambda again: again.rework.cause, currency)


def by_payer(found: Iterable[Again], currency: str) -> tuple[Sum, ...]:
    """Add rework up by who bears it; payers without any are left out."""
    return _by(tuple(found), Payer, lambda again: again.rework.payer, currency)


def _by(
    found: tuple[Again, ...],
    keys: Iterable[Cause | Payer],
    key_of: Callable[[Again], Cause | Payer],
    currency: str,
) -> tuple[Sum, ...]:
    """Add rework up by one of its keys."""
    sums = []
    for key in keys:
        among = [again for again in found if key_of(again) is key]
        if among:
            sums.append(
                Sum(
                    key=key,
                    lines=len(among),
                    hours=sum((again.hours for again in among), Fraction(0)),
                    cost=total((again.cost for again in among), currency),
                    billed=total((again.billed for again in among), currency),
                )
            )
    return tuple(sums)
