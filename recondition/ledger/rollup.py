"""What lines add up to: by vehicle, kind, purpose, finding, area, panel, candidate, period.

Every total is a sum of amounts that were rounded once, at the posted line, and can name the
lines behind it. A reversal counts, negative, under the keys of the line it takes back; only
its period is its own, because a closed period takes no more lines.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from recondition.amounts.money import total
from recondition.condition.panels import Area, area_of
from recondition.errors import Refused
from recondition.ledger.drafts import Stored
from recondition.ledger.lines import Entered, Reversal, document_day
from recondition.ledger.periods import month_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from recondition.amounts import Money
    from recondition.condition.findings import Finding

Line = Stored[Entered | Reversal]
Key = str | None


class Axis(StrEnum):
    """What a roll-up is sorted by. The key None gathers what has none, such as overhead."""

    VEHICLE = "vehicle"
    KIND = "kind"
    PURPOSE = "purpose"
    FINDING = "finding"
    AREA = "area"
    PANEL = "panel"
    CANDIDATE = "candidate"
    PERIOD = "period"


class ReversedLineMissing(Refused):
    """A line takes back another one that is not there: the book is damaged or was cut."""

    exit_status = 3


@dataclass(frozen=True, slots=True)
class Piece:
    """The smallest addend: a line that links to no finding, or one finding's share of a line.

    ``line`` is the id of the posted line, ``entered`` the entry whose keys count.
    """

    line: str
    kind: str
    entered: Entered
    period: str
    finding: str | None
    area: Area | None
    panel: str | None
    cost: Money
    billed: Money | None

    def key(self, axis: Axis) -> Key:
        """Give the key that the piece counts under."""
        match axis:
            case Axis.VEHICLE | Axis.PURPOSE | Axis.CANDIDATE:
                found: Key = getattr(self.entered, axis.value)
            case _:
                found = getattr(self, axis.value)
        return found


@dataclass(frozen=True, slots=True)
class Total:
    """Cost to the shop, amount billed to owners, and the ids of the lines behind both."""

    cost: Money
    billed: Money
    lines: tuple[str, ...]


def entered_of(line: Line, lines: Mapping[str, Line]) -> tuple[str, Entered]:
    """Give the kind and entry whose keys a line counts under: for a reversal, the original's.

    Raises ReversedLineMissing.
    """
    entry = line.entry
    if not isinstance(entry, Reversal):
        return line.kind, entry
    original = lines.get(entry.reverses)
    if original is None or isinstance(original.entry, Reversal):
        what = f"Line {line.ref} takes back a line that is not in the book."
        todo = "Run the check of the book, and restore a backup if it reports damage."
        raise ReversedLineMissing(what, where=f"line {line.ref}", todo=todo)
    return original.kind, original.entry


def pieces(lines: Iterable[Line], findings: Mapping[str, Finding]) -> tuple[Piece, ...]:
    """Cut lines into pieces, in their order. ``findings`` is by id.

    Area and panel are the finding's; for a line without one, the line's own panel and its
    area. Raises ReversedLineMissing, and ValueError for a line that was never priced.
    """
    by_id = {line.id: line for line in lines}
    return tuple(piece for line in by_id.values() for piece in _cut(line, by_id, findings))


def _cut(line: Line, lines: Mapping[str, Line], findings: Mapping[str, Finding]) -> Iterable[Piece]:
    if line.priced is None:
        message = f"line {line.id} has no price"
        raise ValueError(message)
    kind, entry = entered_of(line, lines)
    period = period_of(line)
    if not line.priced.shares:
        area = area_of(entry.panel) if entry.panel else None
        cost, billed = line.priced.cost, line.priced.billed
        yield Piece(line.id, kind, entry, period, None, area, entry.panel, cost, billed)
    for share in line.priced.shares:
        finding = findings.get(share.finding)
        area, panel = (finding.area, finding.panel) if finding else (None, None)
        cost, billed = share.cost, share.billed
        yield Piece(line.id, kind, entry, period, share.finding, area, panel, cost, billed)


def period_of(line: Line) -> str:
    """Give the posting period (YYYY-MM) that a line was booked in."""
    booked = line.priced.period if line.priced is not None else None
    return booked or line.entry.period or month_of(document_day(line.entry))


def add_up(among: Iterable[Piece], currency: str) -> Total:
    """Add pieces of one currency. Raises CurrencyMismatch."""
    kept = tuple(among)
    return Total(
        cost=total((piece.cost for piece in kept), currency),
        billed=total((piece.billed for piece in kept if piece.billed is not None), currency),
        lines=tuple(dict.fromkeys(piece.line for piece in kept)),
    )


def roll_up(among: Iterable[Piece], axis: Axis, currency: str) -> dict[Key, Total]:
    """Add pieces by one axis, keys in the order they first appear."""
    groups: dict[Key, list[Piece]] = defaultdict(list)
    for piece in among:
        groups[piece.key(axis)].append(piece)
    return {key: add_up(group, currency) for key, group in groups.items()}
