"""The bench on a phone: the cars that are here, one car's list for today, its photographs."""

from __future__ import annotations

from typing import TYPE_CHECKING

from flask import Blueprint, render_template, request, url_for

from recondition.book import marking, reading
from recondition.book.roles import Right
from recondition.book.today import today_of
from recondition.condition.vehicle import Holding
from recondition.ledger.lines import Unlinked
from recondition.web import bench_photographs as shots
from recondition.web.bench_shared import car_of, finding_words, my_clock, sent_key
from recondition.web.bench_sheets import of_a_car
from recondition.web.entry import done
from recondition.web.forms import said_of, sent
from recondition.web.rows import address_of
from recondition.web.vehicles import WorkElsewhere
from recondition.web.visit import needs, the_book, visit
from recondition.worth.estimates import CandidateState
from recondition.worth.today import hours_words
from recondition.worth.track import SaleResult

if TYPE_CHECKING:
    from collections.abc import Sequence

    from flask.typing import ResponseReturnValue

    from recondition.book import Connection
    from recondition.book.today import Today
    from recondition.condition.vehicle import Vehicle
    from recondition.ledger.drafts import Stored
    from recondition.worth.estimates import Candidate
    from recondition.worth.today import Todo

pages = Blueprint("bench", __name__)

_TO_DO = (CandidateState.OPEN, CandidateState.STARTED)


@pages.get("/bench")
@needs(Right.BENCH)
def cars() -> ResponseReturnValue:
    """Show the clock of whoever asks, and the cars that are here."""
    with the_book().reading() as conn:
        clock, here = my_clock(conn), cars_here(conn)
    return render_template("web/bench.html.j2", clock=clock, cars=here, consigned=_consigned(here))


def cars_here(conn: Connection) -> list[Stored[Vehicle]]:
    """List the vehicles that were not sold, by stock number."""
    undone = {each.entry.reverses for each in reading.stored(conn, "entry reversal")}
    sales = [each for each in reading.stored(conn, "sale") if each.id not in undone]
    gone = {each.entry.vehicle for each in sales if each.entry.result is SaleResult.SOLD}
    every = (each for each in reading.stored(conn, "vehicle") if each.id not in gone)
    return sorted(every, key=lambda each: each.ref)


def _consigned(found: Sequence[Stored[Vehicle]]) -> set[str]:
    """Give the stock numbers of cars that are not the shop's own."""
    return {each.ref for each in found if each.entry.holding is Holding.CONSIGNED}


@pages.get("/bench/<path:stock>")
@needs(Right.BENCH)
def car(stock: str) -> ResponseReturnValue:
    """Show what is to be done on one car today, what waits, and why."""
    now = the_book().now().astimezone()
    with the_book().reading() as conn:
        today, clock = today_of(conn, stock, now), my_clock(conn)
    ready = [todo for todo in today.todos if is_ready(todo)]
    waiting = [todo for todo in today.todos if not is_ready(todo)]
    return render_template(
        "web/bench_car.html.j2", today=today, clock=clock, ready=ready, waiting=waiting,
        found=lambda todo: _findings(today, todo), hours=hours_words, row=clock_row, stock=stock,
        WHOLE=Unlinked.WHOLE_VEHICLE.value,
        sheets=[(address_of(s.name), s.name.capitalize()) for s in of_a_car()],
    )  # fmt: skip


def is_ready(todo: Todo) -> bool:
    """Tell whether work can go on: nothing stops it, and nothing is waited for or it runs."""
    return not todo.stopped and (not todo.waits or todo.state is CandidateState.STARTED)


def _findings(today: Today, todo: Todo) -> list[str]:
    """Say which findings a piece of work serves."""
    return [finding_words(today.findings[each]) for each in todo.findings if each in today.findings]


def clock_row(today: Today, todo: Todo) -> dict[str, str]:
    """Give what a clock on a piece of work is on, as fields of the sheet labour."""
    links = "; ".join(today.findings[each].ref for each in todo.findings)
    row = {"vehicle": today.vehicle.ref, "words": todo.name, "candidate": todo.ref}
    row |= {"links": links} if links else {"unlinked": Unlinked.WHOLE_VEHICLE.value}
    if len(todo.panels) == 1:
        row["panel"] = todo.panels[0]
    if todo.override:
        row["override"] = todo.override
    return row


@pages.post("/bench/<path:stock>/state")
@needs(Right.BENCH)
def stands(stock: str) -> ResponseReturnValue:
    """Say that a piece of candidate work is begun or done, or is still open after all."""
    said, ref = sent("state"), sent("candidate")
    state = CandidateState.DONE if said == "done" else CandidateState.STARTED
    with the_book().reading() as conn:
        found = reading.one(conn, "candidate", ref)
        of = reading.names_of(conn, [found.entry.vehicle])
        if said == "open":
            state = _before_done(conn, found)
    if stock not in of.values():
        raise WorkElsewhere(ref, of[found.entry.vehicle], stock)
    result = marking.mark(the_book(), ref, state, author_ref=visit().person, key=sent_key())
    lines = [f"{ref}: {state.value}", *said_of(result)[1:]]
    return done(lines, url_for(".car", stock=stock))


def _before_done(conn: Connection, found: Stored[Candidate]) -> CandidateState:
    """Give the state that work had before it was said to be done: begun, or open."""
    made = reading.versions(conn, "candidate", vehicle=found.entry.vehicle)[found.id]
    states = [each.entry.state for each in made if each.entry.state in _TO_DO]
    return states[-1] if states else CandidateState.OPEN


@pages.get("/bench/<path:stock>/photograph")
@needs(Right.BENCH)
def photograph(stock: str) -> ResponseReturnValue:
    """Show the form that takes photographs of the car, or of a finding that is there."""
    with the_book().reading() as conn:
        found = car_of(conn, stock)
    return render_template(
        "web/bench_photograph.html.j2", car=found, finding_words=finding_words,
        wanted=request.args.get("finding", ""), refused=None,
    )  # fmt: skip


@pages.post("/bench/<path:stock>/photograph")
@needs(Right.BENCH)
def photographed(stock: str) -> ResponseReturnValue:
    """Keep photographs with the car, and with a finding where one is chosen."""
    with the_book().reading() as conn:
        found = car_of(conn, stock)
    finding = next((each for each in found.findings if each.ref == sent("finding", "")), None)
    shown = f"{finding.entry.panel}: {finding.entry.defect}" if finding else found.name
    given = {"vehicle": stock, "title": sent("title", shots.title_of(shown))}
    if finding is not None:
        given |= {"finding": finding.ref, "panel": finding.entry.panel}
    with shots.laid_out() as taken:
        if not taken:
            raise shots.NoPhotograph
        lines = [line for each in shots.post(taken, given, sent_key()) for line in said_of(each)]
    return done(lines, url_for(".car", stock=stock))
