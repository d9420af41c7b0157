"""The shop's own record by operation: what jobs took, beside what was estimated.

Low, middle and high are the smallest, the median and the largest of the jobs on record, with
their number: a shop with ten sales a year has no fitted precision to offer. A job is one
piece of candidate work, or one vehicle where a line names none. Rework, lost work, waste, and
figures that were assumed or estimated stay out.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction

from recondition.amounts.exact import as_fraction
from recondition.ledger.drafts import Stored
from recondition.ledger.lines import Consumable, Entered, Labour, Purpose, Reversal, Standing, Use
from recondition.worth.estimates import Candidate

Line = Stored[Entered | Reversal]
Job = tuple[str | None, str | None]
_KNOWN = (Standing.MEASURED, Standing.COUNTED)


@dataclass(frozen=True, slots=True, kw_only=True)
class Range:
    """Low, middle and high of ``n`` figures, exact. The middle of an even number is a mean."""

    n: int
    low: Fraction
    middle: Fraction
    high: Fraction


@dataclass(frozen=True, slots=True, kw_only=True)
class Operation:
    """Hours of one operation: what jobs took, what was estimated likely, how often it held.

    ``estimated`` is of those jobs whose candidate work has no other operation; ``inside`` of
    them took between the estimate's low and high. ``lines`` are the ids behind it.
    """

    name: str
    actual: Range
    estimated: Range | None
    inside: int
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Amount:
    """Amounts of one product (its id) that jobs of one operation used, in its stock unit."""

    name: str
    product: str
    used: Range
    lines: tuple[str, ...]


def range_of(figures: Iterable[Fraction]) -> Range:
    """Give low, middle and high of some figures; ValueError where there are none."""
    found = sorted(figures)
    if not found:
        message = "a range needs a figure"
        raise ValueError(message)
    half = len(found) // 2
    middle = found[half] if len(found) % 2 else (found[half - 1] + found[half]) / 2
    return Range(n=len(found), low=found[0], middle=middle, high=found[-1])


def operations(lines: Iterable[Line], candidates: Mapping[str, Candidate]) -> tuple[Operation, ...]:
    """Give the record of hours by operation, in the order of their names."""
    among = list(lines)
    labour = [(line, entry) for line, entry in _counted(among) if isinstance(entry, Labour)]
    names, jobs = _jobs(labour)
    alone = _alone(among)
    made = []
    for key in sorted(jobs):
        hours = {
            job: sum((entry.quantity.to("h") for _, entry in found), Fraction(0))
            for job, found in jobs[key].items()
        }
        asked = ((job, candidates.get(job[1] or "")) for job in hours if job in alone)
        held = {job: candidate for job, candidate in asked if candidate is not None}
        likely = [as_fraction(candidate.hours.likely) for candidate in held.values()]
        inside = sum(
            as_fraction(c.hours.low) <= hours[job] <= as_fraction(c.hours.high)
            for job, c in held.items()
        )
        made.append(
            Operation(
                name=names[key],
                actual=range_of(hours.values()),
                estimated=range_of(likely) if likely else None,
                inside=inside,
                lines=tuple(line.id for found in jobs[key].values() for line, _ in found),
            )
        )
    return tuple(made)


def amounts(
    lines: Iterable[Line], amount_of: Callable[[Line], Fraction | None]
) -> tuple[Amount, ...]:
    """Give the record of amounts by operation and product; ``amount_of`` gives a line's own."""
    used: dict[tuple[str, str], dict[Job, list[tuple[str, Fraction]]]] = {}
    names: dict[str, str] = {}
    for line, entry in _counted(lines):
        amount = amount_of(line) if isinstance(entry, Consumable) else None
        if amount is None or not isinstance(entry, Consumable) or not entry.operation:
            continue
        key = entry.operation.casefold()
        names.setdefault(key, entry.operation)
        jobs = used.setdefault((key, entry.product), {})
        jobs.setdefault((entry.vehicle, entry.candidate), []).append((line.id, amount))
    return tuple(
        Amount(
            name=names[key],
            product=product,
            used=range_of(sum((a for _, a in found), Fraction(0)) for found in jobs.values()),
            lines=tuple(line for found in jobs.values() for line, _ in found),
        )
        for (key, product), jobs in sorted(used.items())
    )


def _counted(lines: Iterable[Line]) -> Iterable[tuple[Line, Entered]]:
    """Give the standing lines that belong in a record of what work takes."""
    for line in lines:
        entry = line.entry
        if isinstance(entry, Reversal) or line.reversed_by or entry.rework is not None:
            continue
        wasted = isinstance(entry, Consumable) and entry.use is Use.WASTED
        lost = wasted or entry.purpose is Purpose.SPOILAGE
        if entry.vehicle is not None and not lost and entry.standing in _KNOWN:
            yield line, entry


def _jobs(
    labour: Iterable[tuple[Line, Labour]],
) -> tuple[dict[str, str], dict[str, dict[Job, list[tuple[Line, Labour]]]]]:
    """Sort labour by operation and job; give also each operation's name as first typed."""
    names: dict[str, str] = {}
    jobs: dict[str, dict[Job, list[tuple[Line, Labour]]]] = {}
    for line, entry in labour:
        if not entry.operation:
            continue
        key = entry.operation.casefold()
        names.setdefault(key, entry.operation)
        job = (entry.vehicle, entry.candidate)
        jobs.setdefault(key, {}).setdefault(job, []).append((line, entry))
    return names, jobs


def _alone(lines: Iterable[Line]) -> set[Job]:
    """Give the jobs whose labour is all of one operation: their whole estimate is for it.

    Labour that names none counts as another one, and so does rework: it took hours of them.
    """
    served: dict[Job, set[str]] = {}
    for line in lines:
        entry = line.entry
        if isinstance(entry, Labour) and not line.reversed_by:
            name = (entry.operation or "").casefold()
            served.setdefault((entry.vehicle, entry.candidate), set()).add(name)
    return {job for job, names in served.items() if len(names) == 1 and "" not in names}
