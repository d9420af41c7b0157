"""Cost against expected uplift of one vehicle: tables and a picture.

What it was to cost, what it has cost so far, what is to come, and what it is expected to
bring: per piece of work, finding, area and kind of line.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from recondition.amounts import Money
from recondition.amounts.money import total
from recondition.condition.findings import Finding
from recondition.ledger.drafts import Stored
from recondition.ledger.lines import Reversal
from recondition.ledger.rollup import Line, Piece, entered_of
from recondition.reports.drawing import Figure
from recondition.reports.figures import Stair, stairs
from recondition.reports.proofs import marks
from recondition.reports.table import Cell, CellKind, Column, Table
from recondition.worth.estimates import CandidateState
from recondition.worth.progress import Progress, Step
from recondition.worth.spent import Against

_MONEY, _TEXT = CellKind.MONEY, CellKind.TEXT
_AMOUNTS = (
    Column("estimate", "Estimate", _MONEY),
    Column("actual", "Actual so far", _MONEY),
    Column("remaining", "Remaining", _MONEY),
)
_OUTSIDE = Column("outside", "Actual outside any estimate", _MONEY)
NOWHERE = "(none)"


@dataclass(frozen=True, slots=True)
class CostAndUplift:
    """What the report reads: the worked-out progress and the records that name its keys.

    ``proofs`` names by a line's id what proves it.
    """

    progress: Progress
    findings: Mapping[str, Stored[Finding]]
    lines: Mapping[str, Line]
    pieces: tuple[Piece, ...]
    proofs: Mapping[str, str]


def build(data: CostAndUplift) -> list[Table]:
    """Give the report's tables: work, findings, areas, kinds, and the lines behind them."""
    return [
        _work(data.progress),
        _findings(data),
        _areas(data.progress),
        _kinds(data.progress),
        kind_by_area(data.pieces, data.progress),
        _inside(data),
        _outside(data),
    ]


def picture(progress: Progress, name: str) -> Figure | None:
    """Draw cost and uplift as steps, done work first; None where there is no work to draw.

    Work that was left stands in it only where money was spent on it.
    """
    drawn = [s for s in progress.steps if s.state is not CandidateState.LEFT or s.actual]
    if not drawn:
        return None
    steps = [Stair(f"{s.ref}, {s.state}", s.cost_so_far, s.uplift_so_far) for s in drawn]
    return stairs(steps, name=name, title="Cost against expected uplift, step by step")


def _work(progress: Progress) -> Table:
    whole = progress.whole
    amounts = (whole.estimate, whole.actual, whole.remaining, progress.uplift)
    return Table(
        title="Candidate work",
        columns=(
            Column("ref", "Work"),
            Column("name", "What it is"),
            Column("state", "State"),
            *_AMOUNTS,
            Column("uplift", "Expected uplift", _MONEY),
        ),
        rows=tuple(map(_step_row, progress.steps)),
        total=("all", "", "", *amounts),
        note=_note(progress),
    )


def _step_row(step: Step) -> tuple[Cell, ...]:
    amounts = (step.estimate, step.actual, step.remaining, step.uplift)
    return (step.ref, step.name, step.state.value, *amounts)


def _note(progress: Progress) -> str:
    actual = "what the owner is billed" if progress.consigned else "what it cost the shop"
    return (
        f"Estimated: estimate, remaining and uplift are expected values, failure and waiting "
        f"included, each rounded once, so this column may differ from its total by the smallest "
        f"coin. Posted: actual is {actual}. The uplift is on the {progress.basis} price, before "
        f"commission; the total counts work that is not left, and what several pieces of work "
        f"bring only together."
    )


def _findings(data: CostAndUplift) -> Table:
    return Table(
        title="By finding",
        columns=(
            Column("finding", "Finding"),
            Column("panel", "Panel"),
            Column("defect", "What is wrong"),
            *_AMOUNTS,
            _OUTSIDE,
        ),
        rows=tuple(
            sorted(
                (_finding_row(row, data.findings) for row in data.progress.findings),
                key=lambda row: (row[0] == NOWHERE, str(row[0])),
            )
        ),
        note="Assumed: an estimate that serves several findings is shared equally over them, to "
        "the smallest coin.",
    )


def _finding_row(row: Against, findings: Mapping[str, Stored[Finding]]) -> tuple[Cell, ...]:
    found = findings.get(row.key) if row.key else None
    if found is None:
        return (NOWHERE, "", "serves no one finding", *_amounts(row), row.outside)
    entry = found.entry
    return (found.ref, entry.panel, entry.defect, *_amounts(row), row.outside)


def _areas(progress: Progress) -> Table:
    return _by_key("By area", "area", "Area", progress.areas)


def _kinds(progress: Progress) -> Table:
    return _by_key("By kind of cost", "kind", "Kind of cost", progress.kinds)


def _by_key(title: str, key: str, heading: str, rows: Iterable[Against]) -> Table:
    return Table(
        title=title,
        columns=(Column(key, heading), *_AMOUNTS, _OUTSIDE),
        rows=tuple((row.key or NOWHERE, *_amounts(row), row.outside) for row in rows),
    )


def _amounts(row: Against) -> tuple[Money, Money, Money]:
    return row.estimate, row.actual, row.remaining


def kind_by_area(pieces: Iterable[Piece], progress: Progress) -> Table:
    """Cross the kinds of line with the areas: what was posted, in the smallest coin throughout."""
    import pandas as pd  # noqa: PLC0415 - slow to load, wanted here only

    currency = progress.currency
    rows = [(p.kind, p.area or NOWHERE, _counted(p, progress)) for p in pieces]
    frame = pd.DataFrame(rows, columns=["kind", "area", "minor"]).astype({"minor": "int64"})
    crossed = frame.pivot_table(
        index="kind", columns="area", values="minor", aggfunc="sum", fill_value=0, sort=True
    )
    areas = [str(area) for area in crossed.columns]
    sums = [Money(int(crossed[area].sum()), currency) for area in crossed.columns]
    body = tuple(
        _crossed_row(str(kind), [Money(int(minor), currency) for minor in row])
        for kind, row in zip(crossed.index, crossed.to_numpy(), strict=True)
    )
    return Table(
        title=f"{_posted(progress)}, by kind of line and area",
        columns=(
            Column("kind", "Kind of line"),
            *(Column(area, area, _MONEY) for area in areas),
            Column("all", "all", _MONEY),
        ),
        rows=body,
        total=("all", *sums, total(sums, currency)),
    )


def _posted(progress: Progress) -> str:
    """Name what actual amounts are: what the owner is billed, or what it cost the shop."""
    return "Billed to the owner" if progress.consigned else "Posted"


def _crossed_row(kind: str, amounts: list[Money]) -> tuple[Cell, ...]:
    return (kind, *amounts, total(amounts, amounts[0].currency))


def _counted(piece: Piece, progress: Progress) -> int:
    money = piece.billed if progress.consigned else piece.cost
    return money.minor if money else 0


def _inside(data: CostAndUplift) -> Table:
    """Open the totals of candidate work up to their lines, and each line to its proof."""
    works = [(step.ref, line) for step in data.progress.steps for line in step.lines]
    return Table(
        title="Lines of the work",
        columns=(
            Column("ref", "Work"),
            Column("line", "Line"),
            Column("words", "What was done"),
            Column("serves", "For"),
            Column("proof", "Proof"),
            Column("amount", "Amount", _MONEY),
        ),
        rows=tuple(_inside_row(data, work, line) for work, line in works),
        total=("all", "", "", "", "", data.progress.whole.actual),
        note="Proof: documents of the line, or the batch or order it came from with theirs.",
    )


def _inside_row(data: CostAndUplift, work: str, line_id: str) -> tuple[Cell, ...]:
    line = data.lines[line_id]
    _, entry = entered_of(line, data.lines)
    taken_back = f"takes back: {line.entry.why}" if isinstance(line.entry, Reversal) else ""
    lines = data.lines

    def ref_of(each: str | None) -> str:
        return lines[each].ref if each and each in lines else ""

    found = (data.findings.get(link.finding) for link in entry.links)
    serves = ", ".join(finding.ref for finding in found if finding is not None)
    words = taken_back or entry.words + marks(entry, ref_of)
    proof = data.proofs.get(line_id, "")
    return (work, line.ref, words, serves, proof, _amount(line, data.progress))


def _amount(line: Line, progress: Progress) -> Money | None:
    if line.priced is None:
        return None
    return line.priced.billed if progress.consigned else line.priced.cost


def _outside(data: CostAndUplift) -> Table:
    rows = tuple(_outside_row(data.lines[line], data.progress) for line in data.progress.outside)
    return Table(
        title="Lines outside any estimate",
        columns=(
            Column("line", "Line"),
            Column("work_date", "Work date", CellKind.DATE),
            Column("kind", "Kind"),
            Column("words", "What was done"),
            Column("amount", "Amount", _MONEY),
        ),
        rows=rows,
        total=("all", None, "", "", data.progress.outside_total),
        note="Posted lines that name no candidate work: arrival, transport, unplanned work. Each "
        f"amount is {'what the owner is billed' if data.progress.consigned else 'its cost'}.",
    )


def _outside_row(line: Line, progress: Progress) -> tuple[Cell, ...]:
    entry = line.entry
    words = entry.why if isinstance(entry, Reversal) else entry.words
    return (line.ref, entry.work_date, str(line.kind), words, _amount(line, progress))
