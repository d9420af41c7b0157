"""Several vehicles planned together, as tables."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import timedelta
from fractions import Fraction
from typing import TYPE_CHECKING

from recondition.amounts.rounding import round_to
from recondition.reports.plain import to_json
from recondition.reports.table import Cell, CellKind, Column, Table
from recondition.reports.worth_time import shown
from recondition.worth.advice import listed, with_currency

if TYPE_CHECKING:
    from recondition.worth.question import Question
    from recondition.worth.several import Together

_MONEY = CellKind.MONEY


def words(found: Together) -> str:
    """Say the whole in two sentences."""
    said = f"Together expected to add {with_currency(found.net)}, with {found.cash.grouped} of cash"
    said += f" of a purse of {found.purse.grouped}." if found.purse is not None else "."
    if found.gap.minor == 0:
        return f"{said} No allowed plan is worth more: proven."
    percent = round_to(found.gap.fraction * 100 / max(found.net.fraction, Fraction(1)), 1)
    return (
        f"{said} A better plan could still be worth up to {found.gap.grouped} more ({percent} %)."
    )


def tables(
    found: Together, questions: Mapping[str, Question], names: Mapping[str, str]
) -> list[Table]:
    """Give the vehicles with their work, the days of the shop, and what more room is worth."""
    made = [_vehicles(found, questions, names), _days(found)]
    if found.more:
        made.append(_more(found))
    return made


def _vehicles(
    found: Together, questions: Mapping[str, Question], names: Mapping[str, str]
) -> Table:
    ranked = sorted(found.shares, key=lambda share: (-share.per_hour.minor, share.ref))
    rows = []
    for share in ranked:
        question = questions[share.ref]
        names_of = [
            question.ref(item) + (" (ask)" if item in share.asks else "")
            for item in share.plan.items
        ]
        items = listed(names_of) if names_of else "nothing"
        rows.append(
            (share.ref, names.get(share.ref, ""), items, share.plan.net, share.per_hour,
             round_to(share.hours, 2), shown(share.end), shown(share.wall))
        )  # fmt: skip
    return Table(
        title="Vehicles, the most net for an hour first",
        columns=(
            Column("vehicle", "Vehicle"),
            Column("name", "What it is"),
            Column("items", "Work in the plan"),
            Column("net", "Expected net", _MONEY),
            Column("per_hour", "Net per hour", _MONEY),
            Column("hours", "Hours", CellKind.NUMBER),
            Column("end", "Ready"),
            Column("wall", "Last moment"),
        ),
        rows=tuple(rows),
        note=_asked(found, questions),
    )


def _asked(found: Together, questions: Mapping[str, Question]) -> str:
    """Say what is asked about first, and why."""
    words = ["Hours are those that the cut-off is held against."]
    words += [
        f"Ask before {questions[share.ref].ref(item)}: {why}."
        for share in found.shares
        for item, why in share.asks.items()
    ]
    return " ".join(words)


def _days(found: Together) -> Table:
    """Say for each working day which vehicle is worked on, by whom, with what."""
    rows = list(_day_rows(found))
    return Table(
        title="Which vehicle when",
        columns=(
            Column("day", "Day", CellKind.DATE),
            Column("vehicle", "Vehicle"),
            Column("work", "Work"),
            Column("who", "Who"),
            Column("from", "From"),
            Column("to", "To"),
        ),
        rows=tuple(rows),
    )


def _day_rows(found: Together) -> Iterator[tuple[Cell, ...]]:
    starts = [each.start for share in found.shares for each in share.lying]
    ends = [each.end for share in found.shares for each in share.lying]
    if not starts:
        return
    day, last = min(starts).date(), max(ends).date()
    while day <= last:
        for ref, each in found.on(day):
            begin = each.start if each.start.date() == day else None
            end = each.end if each.end.date() == day else None
            yield (
                day,
                ref,
                each.ref,
                each.who or "anybody",
                begin.strftime("%H:%M") if begin else "opening",
                end.strftime("%H:%M") if end else "closing",
            )
        day += timedelta(days=1)


def _more(found: Together) -> Table:
    return Table(
        title="What more room is worth",
        columns=(
            Column("what", "One more"),
            Column("worth", "Is worth", _MONEY),
            Column("at_most", "At most", _MONEY),
        ),
        rows=tuple((each.what, each.worth, each.at_most) for each in found.more),
        note="By solving again with it. Where the two differ the figure is only bounded.",
    )


def as_json(found: Together, questions: Mapping[str, Question]) -> Mapping[str, object]:
    """Give the plan for machines."""
    shares = {
        share.ref: {
            "do": [questions[share.ref].ref(i) for i in share.plan.items if i not in share.asks],
            "ask": [questions[share.ref].ref(i) for i in share.asks],
            "net": {"amount": str(share.plan.net), "currency": share.plan.net.currency},
        }
        for share in found.shares
    }
    together = {
        "net": {"amount": str(found.net), "currency": found.net.currency},
        "gap": {"amount": str(found.gap), "currency": found.gap.currency},
        "proven": found.gap.minor == 0,
        "tables": {table.title: to_json(table) for table in tables(found, questions, {})},
    }
    return {**shares, "together": together}
