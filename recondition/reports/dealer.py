"""The dealer's answer on one vehicle, put together: advice, time, risk, tests, record."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from functools import cached_property, partial
from typing import TYPE_CHECKING

from recondition.book import Connection, reading
from recondition.book.questions import question_of
from recondition.book.record import corrected, met_of
from recondition.book.stopping import reasons_to_stop
from recondition.condition.vehicle import Vehicle
from recondition.ledger.drafts import Stored
from recondition.reports import worth_doing, worth_more, worth_time
from recondition.reports.bench_notes import notes_of
from recondition.reports.table import Column, Table
from recondition.worth.advice import Advice, Plan
from recondition.worth.decision import SECONDS, decide
from recondition.worth.track import biases
from recondition.worth.trials import worth_of_test
from recondition.worth.weighing import weigh

if TYPE_CHECKING:
    from recondition.reports.drawing import Figure
    from recondition.worth.question import Question


@dataclass(frozen=True)
class Answer:
    """The answer on one vehicle with everything that stands beside it."""

    conn: Connection
    vehicle: Stored[Vehicle]
    question: Question
    advice: Advice
    at: datetime

    @property
    def words(self) -> str:
        """The answer in words: what to do, whether it is proven, ready, and what stops it."""
        return worth_doing.summary(self.advice)

    @cached_property
    def tables(self) -> tuple[Table, ...]:
        """Every table, the verdicts first."""
        return tuple(self._tables())

    @property
    def pictures(self) -> Mapping[int, Callable[[], Figure | None]]:
        """The pictures, by the place of the table behind each."""
        ref = self.vehicle.ref
        advice, question = self.advice, self.question
        places = {table.title: place for place, table in enumerate(self.tables)}
        drawn: dict[int, Callable[[], Figure | None]] = {
            places["What the seller gains"]: partial(
                worth_doing.picture, advice, question, f"gain-{ref}"
            )
        }
        if "Ready or not" in places:
            drawn[places["Ready or not"]] = partial(
                worth_time.timeline, advice, question, f"time-{ref}"
            )
        return drawn

    def as_json(self) -> Mapping[str, object]:
        """Give the answer for machines."""
        return worth_doing.as_json(self.advice, self.tables)

    def _tables(self) -> list[Table]:
        advice, question = self.advice, self.question
        verdicts, gains, *behind = worth_doing.build(advice, question)
        made = [verdicts, gains, worth_more.flips(advice, question.indifference)]
        if advice.chosen:
            made.append(worth_time.timetable(advice, question))
        if advice.ready.alternatives:
            made.append(worth_time.ways(advice, question))
        if advice.chosen:
            made.append(worth_more.risk(advice))
        made += [table for table in (self._stops(), self._trials()) if table is not None]
        made += behind
        met = met_of(self.conn)
        if any(each.actual is not None for each in met):
            names = reading.refs_by_id(self.conn, ["vehicle", "person"])
            made.append(worth_more.record(met, biases(met), names)[1])
        people = reading.refs_by_id(self.conn, ["person"])
        made.append(worth_more.inputs(question, people))
        made.append(notes_of(self.conn, question, advice, self.vehicle.id))
        return made

    def _trials(self) -> Table | None:
        trials = reading.stored(self.conn, "trial", vehicle=self.vehicle.id)
        if not trials:
            return None
        weighing = weigh(self.question)
        return worth_more.trials(
            [(t.ref, t.entry.name, worth_of_test(weighing, t.entry)) for t in trials]
        )

    def _stops(self) -> Table | None:
        found = reasons_to_stop(self.conn, self.vehicle, self.at)
        if not found:
            return None
        columns = (Column("ref", "Work"), Column("why", "Why"))
        rows = tuple((ref or "all of it", why) for ref, why in found)
        return Table("Stop and look again", columns, rows, "Past spend never enters.")


def answer(  # noqa: PLR0913 - each is a separate choice of the caller
    conn: Connection,
    vehicle: Stored[Vehicle],
    at: datetime,
    *,
    seconds: float = SECONDS,
    seed: int = 0,
    by_record: bool = False,
    tell: Callable[[Plan], None] | None = None,
) -> Answer:
    """Work the answer out. ``by_record`` corrects estimates by the shop's own track record.

    Raises NoTerms and what ``decide`` raises.
    """
    question = question_of(conn, vehicle, at)
    said: list[str] = []
    if by_record:
        question, said = corrected(conn, question)
    advice = decide(question, seconds=seconds, seed=seed, tell=tell)
    if by_record:
        note = f"Corrected by the record: {'; '.join(said)}." if said else (
            "The record has nothing to correct by."
        )  # fmt: skip
        advice = replace(advice, notes=(*advice.notes, note))
    return Answer(conn, vehicle, question, advice, at)
