"""What is said beside a row that was entered: what the rules told, what to remember."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from textwrap import fill

from recondition.book.posting import Result
from recondition.ledger.lines import LineEntry

WIDTH = 80
SHOWN_MAX = 20


def said_beside(told: Iterable[str], reminders: Iterable[str]) -> list[str]:
    """Give the lines below a row's own, folded to the width of a terminal."""
    lines = [f"note: {text}" for text in told] + [f"caution: {text}" for text in reminders]
    return [
        fill(line, WIDTH, initial_indent="  ", subsequent_indent="    ", break_on_hyphens=False)
        for line in lines
    ]


def told_of(results: Iterable[Result]) -> list[str]:
    """Give what the rules of the trade told of work among some results, each by its ref."""
    return [
        f"{result.draft.kind} {result.draft.ref}: {text}"
        for result in results
        if isinstance(result.draft.entry, LineEntry)
        for text in result.told
    ]


@dataclass(slots=True)
class Told:
    """What the rules of the trade told of many rows: the first of it, and how much more."""

    first: list[str] = field(default_factory=list)
    more: int = 0

    def add(self, results: Iterable[Result]) -> None:
        """Take in what was told of some results."""
        told = told_of(results)
        room = SHOWN_MAX - len(self.first)
        self.first += told[:room]
        self.more += len(told[room:])

    def words(self) -> list[str]:
        """Give what is shown, and how much more there is."""
        rest = f"{self.more:,} more like these; 'recondition rules check STOCK' lists them"
        return [*self.first, *([rest] if self.more else [])]
