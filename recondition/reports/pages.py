"""The dealer's reports of one or several vehicles, and their pages.

Adding a report: a function that gives its parts, a row in ``REPORTS`` and one in ``TITLES``.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from functools import partial
from typing import Any

from recondition.book import Connection, questions, reading
from recondition.book.record import met_of
from recondition.condition.vehicle import Vehicle
from recondition.ledger.drafts import Stored
from recondition.ledger.rollup import pieces
from recondition.reports import condition, cost_and_uplift, record, worth_more
from recondition.reports.dealer import answer
from recondition.reports.drawing import Figure
from recondition.reports.html import Block, Page, Photographs, Pictured, Section
from recondition.reports.proofs import proofs
from recondition.reports.table import Table
from recondition.worth.advice import listed
from recondition.worth.decision import chosen_of
from recondition.worth.estimates import CandidateState
from recondition.worth.progress import cost_and_uplift as progress_of
from recondition.worth.question import Question
from recondition.worth.track import biases

_BEGUN = (CandidateState.STARTED, CandidateState.DONE)


@dataclass(frozen=True, slots=True)
class Part:
    """What a report says of one vehicle: a sentence, tables, pictures of some of them, pairs.

    ``pictures`` are by the place of the table that stands behind each.
    """

    heading: str
    words: str
    tables: tuple[Table, ...]
    pictures: Mapping[int, Callable[[], Figure | None]] = field(default_factory=dict)
    photographs: tuple[Photographs, ...] = ()


def _with_terms(conn: Connection, refs: tuple[str, ...]) -> list[Stored[Vehicle]]:
    """Give the vehicles named; all those that have sale terms where none is named."""
    named = questions.vehicles(conn, refs)
    if refs:
        return named
    priced = {terms.entry.vehicle for terms in reading.stored(conn, "terms")}
    return [vehicle for vehicle in named if vehicle.id in priced]


def _heading(vehicle: Stored[Vehicle]) -> str:
    """Name a vehicle above its part."""
    return f"{vehicle.ref} {vehicle.entry.designation}"


def worth_doing_parts(conn: Connection, refs: tuple[str, ...], at: datetime) -> list[Part]:
    """Give the advice for each vehicle. Raises NotThere, NoTerms and what ``decide`` raises."""
    parts = []
    for vehicle in _with_terms(conn, refs):
        made = answer(conn, vehicle, at)
        parts.append(Part(_heading(vehicle), made.words, made.tables, made.pictures))
    return parts


def track_record_parts(conn: Connection, refs: tuple[str, ...], at: datetime) -> list[Part]:
    """Give every frozen decision as it met what happened."""
    del at
    names = reading.refs_by_id(conn, ["vehicle", "person"])
    met = [each for each in met_of(conn) if not refs or names.get(each.vehicle) in refs]
    sold = sum(each.actual is not None for each in met)
    words = (
        f"{len(met)} estimates of frozen decisions, {sold} of which met what happened."
        if met
        else "No decision was frozen yet: 'recondition decide' freezes one."
    )
    heading = ", ".join(refs) if refs else "The whole shop"
    return [Part(heading, words, tuple(worth_more.record(met, biases(met), names)))]


def _planned(question: Question) -> set[str]:
    """Give the work that the plan does or asks about."""
    return set(chosen_of(question))


def _carried_out(question: Question, lines: Iterable[Stored[Any]]) -> tuple[Question, list[str]]:
    """Narrow a question to the work that is done, begun, planned or has lines.

    Gives also the refs of what the plan leaves.
    """
    begun = {getattr(line.entry, "candidate", None) for line in lines}
    begun |= {i for i, c in question.candidates.items() if c.state in _BEGUN}
    kept = begun | _planned(question)
    candidates = {
        item: replace(
            candidate,
            requires=tuple(other for other in candidate.requires if other in kept),
            excludes=tuple(other for other in candidate.excludes if other in kept),
        )
        for item, candidate in question.candidates.items()
        if item in kept
    }
    together = tuple(t for t in question.interactions if set(t.items) <= set(candidates))
    left = [question.ref(item) for item in question.in_order() if item not in kept]
    return replace(question, candidates=candidates, interactions=together), left


def cost_and_uplift_parts(conn: Connection, refs: tuple[str, ...], at: datetime) -> list[Part]:
    """Give estimate against actual for each vehicle. Raises NotThere, NoTerms."""
    parts = []
    for vehicle in _with_terms(conn, refs):
        asked = questions.question_of(conn, vehicle, at)
        lines = {line.id: line for line in reading.lines(conn, vehicle.id)}
        question, left = _carried_out(asked, lines.values())
        findings = {item.id: item for item in reading.stored(conn, "finding", vehicle=vehicle.id)}
        entries = {key: item.entry for key, item in findings.items()}
        cut = pieces(lines.values(), entries)
        progress = progress_of(question, cut, entries)
        proved = proofs(conn, lines.values())
        data = cost_and_uplift.CostAndUplift(progress, findings, lines, cut, proved)
        whole = progress.whole
        spent = "billed to the owner for" if progress.consigned else "spent on"
        words = (
            f"In {progress.currency}: estimated {whole.estimate.grouped}, {spent} that so far "
            f"{whole.actual.grouped}, and outside any estimate (arrival, transport, work nobody "
            f"estimated) {progress.outside_total.grouped}; still to come "
            f"{whole.remaining.grouped}, against an expected uplift of "
            f"{progress.uplift.grouped}."
        )
        if left:
            words += f" Not in these figures, since the plan leaves it: {listed(left)}."
        parts.append(
            Part(
                _heading(vehicle),
                words,
                tuple(cost_and_uplift.build(data)),
                {0: partial(cost_and_uplift.picture, progress, f"steps-{vehicle.ref}")},
            )
        )
    return parts


def _of_the_shop(
    tables_of: Callable[[Connection, tuple[str, ...]], tuple[str, tuple[Table, ...]]],
) -> Callable[[Connection, tuple[str, ...], datetime], list[Part]]:
    """Make a report without a picture, of the vehicles named or of the whole shop."""

    def parts(conn: Connection, refs: tuple[str, ...], at: datetime) -> list[Part]:
        del at
        words, tables = tables_of(conn, refs)
        heading = ", ".join(refs) if refs else "The whole shop"
        return [Part(heading, words, tables)]

    return parts


def _of_the_bench(
    of_one: Callable[[Connection, Stored[Vehicle]], condition.Told],
) -> Callable[[Connection, tuple[str, ...], datetime], list[Part]]:
    """Make a report of the condition bench, of the vehicles named or of every vehicle."""

    def parts(conn: Connection, refs: tuple[str, ...], at: datetime) -> list[Part]:
        del at
        made = []
        for vehicle in questions.vehicles(conn, refs):
            told = of_one(conn, vehicle)
            made.append(
                Part(_heading(vehicle), told.words, told.tables, told.pictures, told.photographs)
            )
        return made

    return parts


_FOOT = (
    "Estimates and uplifts are the user's own; posted amounts open up to their lines in the "
    "workbook."
)
_BENCH_FOOT = (
    "For the shop. What was seen and measured, by whom and when, stands in the book; a remark is "
    "no verdict."
)
_FEET = dict.fromkeys(("arrival", "condition", "changes"), _BENCH_FOOT)

REPORTS: dict[str, Callable[[Connection, tuple[str, ...], datetime], list[Part]]] = {
    "worth-doing": worth_doing_parts,
    "cost-and-uplift": cost_and_uplift_parts,
    "arrival": _of_the_bench(condition.arrival),
    "condition": _of_the_bench(condition.now),
    "changes": _of_the_bench(condition.changes),
    "track-record": track_record_parts,
    "rework": _of_the_shop(record.rework_tables),
    "operations": _of_the_shop(record.operation_tables),
}

TITLES = {
    "worth-doing": ("What is worth doing", "What to do before the sale, and what to leave."),
    "cost-and-uplift": (
        "Cost and uplift",
        "What the work was to cost, what it has cost, and what it is expected to bring.",
    ),
    "arrival": ("Arrival condition", "How the car came: found, measured and taken into custody."),
    "condition": ("Condition now", "What is still there, what may still be taken off, and why."),
    "changes": ("What changed", "What work and decisions moved, with before and after."),
    "track-record": (
        "Track record",
        "What was expected of each decision, and what happened.",
    ),
    "rework": ("Rework", "What was done again, why, and who bears it."),
    "operations": (
        "What operations take",
        "The shop's own record of hours and amounts, beside what was estimated.",
    ),
}


def _section(part: Part) -> Section:
    """Turn a part into a section of a page, its picture first with the table behind it."""
    blocks: list[Block] = list(part.tables)
    for place, picture in part.pictures.items():
        figure = picture()
        if figure is not None:
            blocks[place] = Pictured(figure, part.tables[place])
    return Section(part.heading, (part.words,), (*blocks, *part.photographs))


def page_of(name: str, parts: Sequence[Part], *, made_at: datetime) -> Page:
    """Lay a report out as one page. ``made_at`` has its zone."""
    title, lead = TITLES[name]
    count = len(parts)
    return Page(
        title=title,
        subject=parts[0].heading if count == 1 else f"{count} vehicles",
        lead=lead,
        sections=tuple(_section(part) for part in parts),
        foot=f"Made {made_at:%Y-%m-%d %H:%M %Z}. {_FEET.get(name, _FOOT)}",
    )
