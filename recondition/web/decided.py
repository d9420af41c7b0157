"""What is decided on a vehicle's work: left with a reason, asked, approved, frozen."""

from __future__ import annotations

from typing import TYPE_CHECKING

from flask import Blueprint, request, url_for

from recondition.book import reading
from recondition.book.freezing import Freezing, freeze
from recondition.book.roles import Right
from recondition.errors import Refused
from recondition.web import rows
from recondition.web.answers import shop_clock, the_answers
from recondition.web.decision import plan_page, row_of
from recondition.web.entry import done, refused_page, scripted
from recondition.web.forms import post_row, sent
from recondition.web.pieces import AGREED, ANSWER, QUESTION
from recondition.web.rows import said_of
from recondition.web.vehicles import seen
from recondition.web.visit import needs, the_book, visit
from recondition.worth.estimates import CandidateState

if TYPE_CHECKING:
    from collections.abc import Callable

    from flask.typing import ResponseReturnValue

pages = Blueprint("decided", __name__)


def _entered(stock: str, enter: Callable[[], list[str]]) -> ResponseReturnValue:
    """Enter something and go back to the plan; refused, the plan shows the form again."""
    try:
        said = enter()
    except Refused as refused:
        page = "" if scripted() else plan_page(stock, refused=refused, given=dict(request.form))
        return refused_page(refused, page)
    return done(said, url_for("decision.plan", stock=stock))


def _fields(stock: str, names: tuple[str, ...]) -> dict[str, str]:
    """Give the fields of an owner's row that were filled, on this vehicle and its work."""
    row = {"vehicle": stock, "candidates": sent("candidates", "")}
    return row | {name: text for name in names if (text := sent(name, "").strip())}


@pages.post("/vehicles/<path:stock>/plan/approve")
@needs(Right.DECIDE)
def approve(stock: str) -> ResponseReturnValue:
    """Enter what an owner answered about a piece of work, and agreed to; all of it or nothing."""

    def enter() -> list[str]:
        values, agreed = _fields(stock, ANSWER), bool(sent(AGREED, ""))
        made = rows.answered(values, key=_key(), agreed=agreed)
        said = [line for result in made for line in said_of(result)]
        if len(made) > 1:
            said.append("The owner agrees to what cannot be undone: it is on record.")
        return said

    return _entered(stock, enter)


@pages.post("/vehicles/<path:stock>/plan/ask")
@needs(Right.DECIDE)
def ask(stock: str) -> ResponseReturnValue:
    """Note that the owner is asked about a piece of work."""
    return _entered(
        stock, lambda: said_of(post_row("change requests", _fields(stock, QUESTION), key=_key()))
    )


@pages.post("/vehicles/<path:stock>/plan/leave")
@needs(Right.DECIDE)
def leave(stock: str) -> ResponseReturnValue:
    """Leave a piece of work, with the reason."""

    def left() -> list[str]:
        why = sent("left_reason", label="Why it is not to be done")
        return _state(stock, CandidateState.LEFT, why)

    return _entered(stock, left)


@pages.post("/vehicles/<path:stock>/plan/take-up")
@needs(Right.DECIDE)
def take_up(stock: str) -> ResponseReturnValue:
    """Take up again a piece of work that was left, as it stood before."""

    def enter() -> list[str]:
        before = _before_left(stock, sent("candidates"))
        said = _state(stock, before, "")
        return [*said, f"{sent('candidates')} stands as before it was left: {before.value}."]

    return _entered(stock, enter)


def _before_left(stock: str, ref: str) -> CandidateState:
    """Give the state that candidate work had before it was left; open where it had none."""
    with the_book().reading() as conn:
        vehicle = seen(conn, stock).vehicle
        own = reading.one(conn, "candidate", ref)
        made = reading.versions(conn, own.kind, vehicle=vehicle.id).get(own.id, [])
    states = [each.entry.state for each in made if each.entry.state is not CandidateState.LEFT]
    return states[-1] if states else CandidateState.OPEN


def _state(stock: str, state: CandidateState, why: str) -> list[str]:
    """Enter a new version of candidate work in another state; all else of it stays."""
    with the_book().reading() as conn:
        row, _ = row_of(conn, seen(conn, stock), sent("candidates"))
    row.pop("left_reason", None)
    row["state"] = state.value
    if why:
        row["left_reason"] = why
    return said_of(post_row("candidates", row, key=_key()))


@pages.post("/vehicles/<path:stock>/plan/freeze")
@needs(Right.DECIDE)
def frozen(stock: str) -> ResponseReturnValue:
    """Freeze the decision that the page showed, to hold it against what happens."""

    def enter() -> list[str]:
        said = Freezing(
            stock=stock, author_ref=visit().person, note=sent("note", "").strip() or None,
            key=_key(),
        )  # fmt: skip
        state = sent("state", label="The plan that was shown")
        return freeze(
            the_book(), said, lambda: the_answers().shown(stock, state, shop_clock()).planned
        )

    return _entered(stock, enter)


def _key() -> str | None:
    """Give the key under which an entry is kept once."""
    return sent("key", "") or None
