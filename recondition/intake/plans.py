"""Contradictions in candidate work, named when it is entered rather than when it is weighed."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby
from typing import TYPE_CHECKING, Any

from recondition.book.kinds import KINDS
from recondition.book.reading import ids_by_ref, stored
from recondition.errors import Refused
from recondition.ledger.codec import PlainDict, decode_fields
from recondition.worth import contradictions
from recondition.worth.estimates import CandidateState

if TYPE_CHECKING:
    from collections.abc import Iterator

    from recondition.book import Connection
    from recondition.worth.estimates import Candidate

JUDGED = ("candidate", "interaction", "terms", "trial")
# Where the values stand that contradict each other.
_FIELDS: dict[type[Refused], str] = {
    contradictions.NeedsItself: "requires",
    contradictions.NeedsAndExcludes: "excludes",
    contradictions.NoUplift: "uplift.low",
    contradictions.NotATerm: "items",
    contradictions.NotATime: "cut_off_time",
    contradictions.CureTooLong: "cure_hours",
    contradictions.RequiresTheLast: "requires",
}


@dataclass(frozen=True, slots=True)
class Asked:
    """A row of candidate work or of an interaction; its entry names others by ref.

    ``key`` is whatever the caller knows the row by.
    """

    key: Any
    kind: str
    ref: str
    vehicle: str
    entry: Any


@dataclass(frozen=True, slots=True)
class Contradiction:
    """A row, the field it contradicts itself or another row in, and the refusal."""

    key: Any
    kind: str
    field: str
    refused: Refused


def asked(key: Any, kind: str, ref: str, plain: PlainDict, words: dict[str, str]) -> Asked:  # noqa: ANN401 - the caller's own
    """Read a row's plain form; refs stand where ids will stand later."""
    entry = decode_fields(KINDS[kind].entry, plain, words)
    return Asked(key, kind, ref, str(plain.get("vehicle", "")), entry)


def contradictions_in(
    conn: Connection, rows: Iterator[Asked], left_alone: dict[str, set[str]]
) -> Iterator[Contradiction]:
    """Judge rows that come by vehicle, with what the book holds of the same vehicle.

    ``left_alone`` gives, by vehicle, the panels that the same file marks as not to be touched.
    """
    for vehicle, group in groupby(rows, key=lambda row: row.vehicle):
        of_one = list(group)
        found = ids_by_ref(conn, "vehicle", [vehicle]).get(vehicle)
        work = [row for row in of_one if row.kind == "candidate"]
        panels = _left_alone(conn, found, work) | left_alone.get(vehicle, set())
        for row in of_one:
            refused = _in_itself(row, panels)
            if refused is not None:
                yield Contradiction(row.key, row.kind, _FIELDS.get(type(refused), "ref"), refused)
        if any(row.entry.requires for row in work):
            yield from _rings(conn, found, work)
            yield from _before_the_last(conn, found, work)
        if any(row.entry.cure_hours for row in work):
            yield from _cures(conn, found, of_one)


def _left_alone(conn: Connection, vehicle: str | None, work: list[Asked]) -> set[str]:
    """Give the panels that the book says must be left, where any row could need to know."""
    in_doubt = any(row.entry.panels and not _has_uplift(row.entry) for row in work)
    if vehicle is None or not in_doubt:
        return set()
    panels = stored(conn, "panel", vehicle=vehicle)
    return {panel.entry.panel for panel in panels if panel.entry.no_touch}


def _has_uplift(candidate: Candidate) -> bool:
    """Tell whether an uplift is estimated at all."""
    return candidate.uplift is not None or candidate.uplift_percent is not None


def _in_itself(row: Asked, left_alone: set[str]) -> Refused | None:
    """Give the contradiction that a row holds alone."""
    try:
        if row.kind == "interaction":
            contradictions.check_term(row.entry, f"interaction {row.ref}")
        elif row.kind == "terms":
            contradictions.check_terms(row.entry, f"terms {row.ref}")
        elif row.kind == "trial":
            contradictions.check_trial(row.entry, f"test {row.ref}")
        elif row.entry.state is not CandidateState.DONE:
            untouchable = not left_alone.isdisjoint(row.entry.panels)
            where = f"candidate work {row.ref}"
            contradictions.check_piece(row.entry, where, untouchable=untouchable)
            both = set(row.entry.requires) & set(row.entry.excludes)
            if both:
                return contradictions.needs_what_it_excludes(row.ref or "This work", min(both))
    except Refused as refused:
        return refused
    return None


def _before_the_last(
    conn: Connection, vehicle: str | None, work: list[Asked]
) -> Iterator[Contradiction]:
    """Find work that needs what comes after all other work."""
    there = stored(conn, "candidate", vehicle=vehicle) if vehicle is not None else []
    last = {item.ref for item in there if item.entry.after_all}
    last -= {row.ref for row in work}
    last |= {row.ref for row in work if row.entry.after_all}
    for row in work:
        needed = last.intersection(row.entry.requires)
        if needed and not row.entry.after_all:
            refused = contradictions.requires_the_last(min(needed), f"candidate work {row.ref}")
            yield Contradiction(row.key, row.kind, "requires", refused)


def _cures(conn: Connection, vehicle: str | None, rows: list[Asked]) -> Iterator[Contradiction]:
    """Find cures that outlast the days of the terms, of the file or else of the book."""
    stated = [row.entry for row in rows if row.kind == "terms"]
    if not stated and vehicle is not None:
        stated = [item.entry for item in stored(conn, "terms", vehicle=vehicle)]
    for row in rows if stated else ():
        if row.kind == "candidate":
            try:
                contradictions.check_cure(row.entry, stated[-1], f"candidate work {row.ref}")
            except Refused as refused:
                yield Contradiction(row.key, row.kind, "cure_hours", refused)


def _rings(conn: Connection, vehicle: str | None, work: list[Asked]) -> Iterator[Contradiction]:
    """Find work that needs itself, through rows of the file and through those of the book."""
    requires: dict[str, tuple[str, ...]] = {}
    if vehicle is not None:
        there = stored(conn, "candidate", vehicle=vehicle)
        refs = {item.id: item.ref for item in there}
        for item in there:
            needed = contradictions.asked_first(item.entry)
            requires[item.ref] = tuple(refs[other] for other in needed if other in refs)
    rows = {row.ref: row for row in work if row.ref}
    requires |= {ref: contradictions.asked_first(row.entry) for ref, row in rows.items()}
    for ring in contradictions.rings(requires):
        ours = [rows[ref] for ref in ring if ref in rows]
        if ours:
            refused = contradictions.needs_itself(ring)
            yield Contradiction(ours[0].key, "candidate", "requires", refused)
