"""Plans worked out beside the pages: the last known answer at once, a newer one when it is ready.

A search takes up to seconds and runs in a thread of its own, two at a time. An answer holds as
long as the entries that bear on it, and for a while of the shop's clock, since work is laid out
from the moment it was asked for.
"""

from __future__ import annotations

from collections import OrderedDict
from concurrent.futures import CancelledError, Future, ThreadPoolExecutor
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from threading import Lock
from typing import TYPE_CHECKING, TypeVar, cast

from flask import current_app

from recondition.book.freezing import Planned
from recondition.book.open_work import state_of
from recondition.book.questions import question_of, vehicle_of
from recondition.errors import Refused
from recondition.reports.dealer import Answer
from recondition.web.visit import the_book
from recondition.worth.decision import decide
from recondition.worth.what_if import Lever, levers

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from recondition.book.engine import Book
    from recondition.reports.drawing import Figure
    from recondition.reports.table import Table
    from recondition.worth.advice import Advice
    from recondition.worth.question import Question

T = TypeVar("T")
ANSWERS = "recondition-answers"
SECONDS = 8.0
HOLDS = timedelta(minutes=15)
_KEPT_MAX = 60
_AT_ONCE = 2


class Overtaken(Refused):
    """A question was asked anew by the same person before it was answered."""

    http_status = 409

    def __init__(self) -> None:
        """Say that the newer one counts."""
        super().__init__(
            "a newer question took the place of this one", todo="Look at the newer answer."
        )


class PlanMoved(Refused):
    """A plan that was shown is not the newest any more."""

    http_status = 409

    def __init__(self, stock: str) -> None:
        """Name the vehicle."""
        super().__init__(
            f"the plan of {stock} has moved since it was shown",
            todo="Look at it as it is now, and freeze that.",
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """The answer on one vehicle as of a moment of the shop's clock, ready to be shown.

    ``state`` names the entries that it was made from; ``figures`` are by the place of the table
    behind each.
    """

    state: str
    at: datetime
    question: Question
    advice: Advice
    words: str
    tables: tuple[Table, ...]
    figures: Mapping[int, Figure]
    levers: tuple[Lever, ...]

    @property
    def planned(self) -> Planned:
        """The plan alone, to be kept."""
        return Planned(self.question, self.advice, self.at.date())

    def holds(self, state: str, now: datetime) -> bool:
        """Tell whether nothing has moved that bears on it."""
        return self.state == state and now - self.at < HOLDS and now.date() == self.at.date()


@dataclass(frozen=True, slots=True)
class Look:
    """What is known of a vehicle's plan: the last answer, whether it still holds, or why none."""

    known: Known | None = None
    holds: bool = False
    refused: Refused | None = None


@dataclass(slots=True)
class _Work:
    """One search that waits or is under way."""

    state: str
    future: Future[Known]


@dataclass(slots=True)
class Answers:
    """The answers of one book that is served."""

    book: Book
    seconds: float = SECONDS
    _pool: ThreadPoolExecutor = field(
        default_factory=lambda: ThreadPoolExecutor(_AT_ONCE, thread_name_prefix="plan")
    )
    _known: OrderedDict[str, Known] = field(default_factory=OrderedDict)
    _work: dict[str, _Work] = field(default_factory=dict)
    _asked: dict[str, Future[object]] = field(default_factory=dict)
    _lock: Lock = field(default_factory=Lock)

    def look(self, stock: str, now: datetime, *, wait: float = 0.0) -> Look:
        """Give what is known, and have it worked out where it does not hold any more.

        ``wait`` is how many seconds to wait for it. Raises NotThere for an unknown vehicle.
        """
        with self.book.reading() as conn:
            state = state_of(conn, vehicle_of(conn, stock).id)
        with self._lock:
            known = self._known.get(stock)
            if known is not None and known.holds(state, now):
                self._known.move_to_end(stock)
                return Look(known, holds=True)
            work = self._begun(stock, state, now)
        return self._looked(stock, work, known, wait)

    def shown(self, stock: str, state: str, now: datetime) -> Known:
        """Give the answer that a page showed, by the state of the book that it was made from.

        Raises PlanMoved where a newer one took its place, or its day is over.
        """
        with self._lock:
            known = self._known.get(stock)
        if known is None or known.state != state or known.at.date() != now.date():
            raise PlanMoved(stock)
        return known

    def _begun(self, stock: str, state: str, now: datetime) -> _Work:
        """Give the search for a state of the book, begun where it is not; the lock is held."""
        work = self._work.get(stock)
        if work is None or work.state != state:
            if work is not None:
                work.future.cancel()
            work = _Work(state, self._pool.submit(self._made, stock, now))
            self._work[stock] = work
        return work

    def _looked(self, stock: str, work: _Work, before: Known | None, wait: float) -> Look:
        """Wait a little for a search, and take its answer in."""
        try:
            found = work.future.result(timeout=wait)
        except (TimeoutError, CancelledError):
            return Look(before)
        except Refused as refused:
            self._over(stock, work)
            return Look(before, refused=refused)
        except BaseException:
            self._over(stock, work)
            raise
        with self._lock:
            self._known[stock] = found
            if len(self._known) > _KEPT_MAX:
                self._known.popitem(last=False)
        self._over(stock, work)
        return Look(found, holds=True)

    def _over(self, stock: str, work: _Work) -> None:
        """Forget a search that has ended."""
        with self._lock:
            if self._work.get(stock) is work:
                del self._work[stock]

    def _made(self, stock: str, at: datetime) -> Known:
        """Work the answer out; the book is not held open while the search goes on."""
        with self.book.reading() as conn:
            vehicle = vehicle_of(conn, stock)
            state = state_of(conn, vehicle.id)
            question = question_of(conn, vehicle, at)
        advice = decide(question, seconds=self.seconds)
        with self.book.reading() as conn:
            return _shown(Answer(conn, vehicle_of(conn, stock), question, advice, at), state)

    def ask(self, owner: str, work: Callable[[], T], *, wait: float) -> T:
        """Have something small worked out for somebody, whose question before is dropped.

        Raises Overtaken where a newer one took its place, TimeoutError after ``wait`` seconds, and
        what ``work`` raises.
        """
        future = self._pool.submit(work)
        with self._lock:
            before = self._asked.get(owner)
            self._asked[owner] = cast("Future[object]", future)
        if before is not None:
            before.cancel()
        try:
            return future.result(timeout=wait)
        except CancelledError:
            raise Overtaken from None
        finally:
            with self._lock:
                if self._asked.get(owner) is future:
                    del self._asked[owner]

    def close(self) -> None:
        """Begin nothing more."""
        self._pool.shutdown(wait=False, cancel_futures=True)


def _shown(made: Answer, state: str) -> Known:
    """Take from an answer all that a page shows, as long as the book is open."""
    drawn = {place: draw() for place, draw in made.pictures.items()}
    return Known(
        state=state,
        at=made.at,
        question=made.question,
        advice=made.advice,
        words=made.words,
        tables=made.tables,
        figures={place: figure for place, figure in drawn.items() if figure is not None},
        levers=levers(made.question, made.advice),
    )


def the_answers() -> Answers:
    """Give the answers of the book that is served."""
    return cast("Answers", current_app.extensions[ANSWERS])


def shop_clock() -> datetime:
    """Give the moment on the shop's own wall clock, without its zone."""
    now = the_book().now().astimezone()
    return now.replace(tzinfo=None, second=0, microsecond=0)
