"""Which bay each piece of work of a plan takes, where the plan says only that one is free.

A vehicle stays in the bay it stood in last where that is free, else it takes the lowest free one.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

    from recondition.worth.question import Question
    from recondition.worth.ready import Lying
    from recondition.worth.several import Together


@dataclass(frozen=True, slots=True, kw_only=True)
class Stay:
    """A bay, from 1 on, taken by a piece of work on a vehicle from ``lying.start`` to ``end``.

    ``end`` is when its cure is over where that keeps the bay, else when its work ends.
    """

    bay: int
    vehicle: str
    lying: Lying
    end: datetime


def stays(found: Together, questions: Mapping[str, Question]) -> tuple[Stay, ...]:
    """Give a bay to each piece of work of a plan, in the order of their beginnings."""
    waiting = sorted(
        (
            (each, share.ref, _end(questions[share.ref], each))
            for share in found.shares
            for each in share.lying
            if each.start < each.end
        ),
        key=lambda one: (one[0].start, one[2], one[1], one[0].ref),
    )
    free_from: dict[int, datetime] = {}
    last: dict[str, int] = {}
    made = []
    for lying, vehicle, end in waiting:
        bay = _bay(free_from, last.get(vehicle), lying.start)
        free_from[bay], last[vehicle] = end, bay
        made.append(Stay(bay=bay, vehicle=vehicle, lying=lying, end=end))
    return tuple(made)


def _end(question: Question, each: Lying) -> datetime:
    """Give until when work takes its bay."""
    return each.ready if question.candidates[each.item].cure_keeps_bay else each.end


def _bay(free_from: Mapping[int, datetime], last: int | None, start: datetime) -> int:
    """Give the bay that a vehicle stood in last where it is free, else the lowest free one."""
    if last is not None and free_from[last] <= start:
        return last
    bay = 1
    while bay in free_from and free_from[bay] > start:
        bay += 1
    return bay
