"""The lines behind one total of a vehicle: those of a piece of work, a finding, an area, a kind."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from recondition.amounts import Money
from recondition.amounts.money import total
from recondition.book import Connection, reading
from recondition.condition.vehicle import Holding, Vehicle
from recondition.ledger.lines import LineKind, Reversal
from recondition.ledger.rollup import Axis, Line, Piece, pieces
from recondition.reports.cost_and_uplift import NOWHERE
from recondition.reports.proofs import BILLED_NOTE, marks
from recondition.reports.table import Cell, CellKind, Column, Table
from recondition.worth.progress import Bought

if TYPE_CHECKING:
    from recondition.ledger.drafts import Stored

AXES = {
    "work": Axis.CANDIDATE, "finding": Axis.FINDING, "area": Axis.AREA, "kind": Axis.KIND,
    "panel": Axis.PANEL, "purpose": Axis.PURPOSE, "period": Axis.PERIOD,
}  # fmt: skip
BOUGHT, OUTSIDE = "bought", "outside"
NAMES = (*AXES, BOUGHT, OUTSIDE)
_REFS = {"work": "candidate", "finding": "finding"}


def narrowed(conn: Connection, vehicle: Stored[Vehicle], wanted: Mapping[str, str]) -> Table:
    """Give the lines of a vehicle that a total adds up, each with its share in it.

    ``wanted`` names what is added up, by the names in ``NAMES``: a ref, an area or a kind as the
    reports show it, ``(none)`` for what has none; ``outside`` takes lines without candidate work
    (``yes``) or with it (``no``), ``bought`` one of the kinds of cost. The total is the one that
    was asked about: what was billed for a consigned vehicle, else what it cost. Raises NotThere
    for an unknown ref.
    """
    lines = {line.id: line for line in reading.lines(conn, vehicle.id)}
    findings = {f.id: f.entry for f in reading.stored(conn, "finding", vehicle=vehicle.id)}
    keys = {name: _key(conn, name, text) for name, text in wanted.items() if name in AXES}
    kept = [
        piece
        for piece in pieces(lines.values(), findings)
        if all(piece.key(AXES[name]) == key for name, key in keys.items())
        and _bought(piece, wanted.get(BOUGHT))
        and wanted.get(OUTSIDE) in (None, "no" if piece.entered.candidate else "yes")
    ]
    consigned = vehicle.entry.holding is Holding.CONSIGNED
    return _table(conn, kept, lines, consigned=consigned)


def _key(conn: Connection, name: str, text: str) -> str | None:
    """Give the key that a roll-up has for what a report shows."""
    if text == NOWHERE:
        return None
    return reading.id_of(conn, _REFS[name], text) if name in _REFS else text


def _bought(piece: Piece, wanted: str | None) -> bool:
    """Tell whether a piece is of one of the kinds of cost that an estimate knows."""
    if wanted is None:
        return True
    return wanted == (Bought.HOURS if piece.kind == LineKind.LABOUR else Bought.CASH)


def _table(
    conn: Connection, kept: list[Piece], lines: Mapping[str, Line], *, consigned: bool
) -> Table:
    """Write pieces as rows, those of one line one after another."""
    refs = reading.names_of(conn, _named(kept, lines))
    currency = reading.settings_of(conn).currency
    amounts = [(piece.billed if consigned else piece.cost) for piece in kept]
    rows = tuple(
        _row(lines[piece.line], piece, refs, amount)
        for piece, amount in zip(kept, amounts, strict=True)
    )
    sums = total((amount for amount in amounts if amount is not None), currency)
    counted = len({piece.line for piece in kept})
    said = "1 line" if counted == 1 else f"{counted} lines"
    return Table(
        title="Lines behind the total",
        columns=(
            Column("ref", "Line"),
            Column("work_date", "Day", CellKind.DATE),
            Column("kind", "Kind"),
            Column("words", "What"),
            Column("finding", "For"),
            Column("amount", "Billed" if consigned else "Cost", CellKind.MONEY),
        ),
        rows=rows,
        total=("all", None, "", said, "", sums),
        note="A line that serves several findings counts here with its share."
        + (f" {BILLED_NOTE}" if consigned else ""),
    )


def _named(kept: list[Piece], lines: Mapping[str, Line]) -> set[str]:
    """Give the ids whose refs are shown."""
    found = {piece.finding for piece in kept if piece.finding}
    for piece in kept:
        entry = lines[piece.line].entry
        if isinstance(entry, Reversal):
            found.add(entry.reverses)
        if piece.entered.rework is not None:
            found.add(piece.entered.rework.of)
    return found


def _row(
    line: Line, piece: Piece, refs: Mapping[str, str], amount: Money | None
) -> tuple[Cell, ...]:
    """Write one piece of a line."""
    entry = line.entry
    if isinstance(entry, Reversal):
        words = f"takes back {refs.get(entry.reverses, '')}: {entry.why}"
    else:
        words = entry.words + marks(entry, lambda each: refs.get(each or "", ""))
    serves = refs.get(piece.finding or "", "")
    return (line.ref, entry.work_date, line.kind, words, serves, amount)
