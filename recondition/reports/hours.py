"""The four kinds of time of a vehicle, each by itself: hands-on, bay, clock and billed."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from decimal import Decimal
from fractions import Fraction
from typing import Any

from recondition.amounts import Quantity
from recondition.amounts.rounding import round_to
from recondition.ledger.drafts import Stored
from recondition.ledger.lines import HoursTaken, Labour, Payer
from recondition.reports.table import CellKind, Column, Table


def hours_table(lines: Iterable[Stored[Any]], *, billed: bool) -> Table | None:
    """Add up the hours of standing labour; None where there is none.

    A line that states no bay or clock time of its own is not guessed at. Billed hours are the
    hands-on ones unless it states others, and none where it bills an amount or nothing.
    """
    labour = [
        line.entry for line in lines if isinstance(line.entry, Labour) and not line.reversed_by
    ]
    if not labour:
        return None
    rows = [
        _row("hands-on", "work on the vehicle", [entry.quantity for entry in labour]),
        _row("bay", "the bay was taken", [entry.bay for entry in labour]),
        _row("by the clock", "from start to end", [entry.elapsed for entry in labour]),
    ]
    if billed:
        rows.append(_row("billed", "what the owner pays for", [_paid(e) for e in labour]))
    clocked = sum(entry.taken is HoursTaken.BY_THE_CLOCK for entry in labour)
    columns = (
        Column("kind", "Hours"),
        Column("meaning", "What they are"),
        Column("hours", "In all", CellKind.NUMBER),
        Column("lines", "Lines", CellKind.INTEGER),
    )
    note = f"{clocked} of {len(labour)} lines were kept by the clock, the others written down."
    return Table("Hours", columns, tuple(rows), note)


def _paid(entry: Labour) -> Quantity | None:
    """Give the hours that an owner pays for; none where the bill is an amount, or nothing."""
    if entry.billed_time is not None:
        return entry.billed_time
    again = entry.rework is not None and entry.rework.payer is not Payer.OWNER
    return None if again or entry.billed is not None else entry.quantity


def _row(kind: str, words: str, times: Sequence[Quantity | None]) -> tuple[str, str, Decimal, int]:
    """Add up one kind of time."""
    stated = [time.to("h") for time in times if time is not None]
    return (kind, words, round_to(sum(stated, Fraction(0)), 2), len(stated))
