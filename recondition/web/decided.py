"""What is decided on a vehicle's work: left with a reason, asked, approved, frozen."""

from __future__ import annotations

from typing import TYPE_CHECKING

from flask import Blueprint, request, url_for

from recondition.book.freezing import freeze
from recondition.book.roles import Right
from recondition.errors import Refused
from recondition.web.answers import shop_clock
from recondition.web.decision import plan_page, row_of
from recondition.web.entry import done, refused_page, scripted
from recondition.web.forms import post_row, said_of, sent
from recondition.web.vehicles import seen
from recondition.web.visit import needs, the_book, visit
from recondition.worth.estimates import CandidateState

if TYPE_CHECKING:
    from collections.abc import Callable

    from flask.typing import ResponseReturnValue

pages = Blueprint("decided", __name__)
_ANSWER = ("answer", "answered_on", "amount", "how", "by", "limit", "words")
_QUESTION = ("asked_on", "amount", "limit", "words")


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
    """Enter what an owner answered about a piece of work."""
    return _entered(
        stock, lambda: said_of(post_row("approvals", _fields(stock, _ANSWER), key=_key()))
    )


@pages.post("/vehicles/<path:stock>/plan/ask")
@needs(Right.DECIDE)
def ask(stock: str) -> ResponseReturnValue:
    """Note that the owner is asked about a piece of work."""
    return _entered(
        stock, lambda: said_of(post_row("change requests", _fields(stock, _QUESTION), key=_key()))
    )


@pages.post("/vehicles/<path:stock>/plan/leave")
@needs(Right.DECIDE)
def leave(stock: str) -> ResponseReturnValue:
    """Leave a piece of work, with the reason."""
    return _entered(stock, lambda: _state(stock, CandidateState.LEFT, sent("left_reason")))


@pages.post("/vehicles/<path:stock>/plan/take-up")
@needs(Right.DECIDE)
def take_up(stock: str) -> ResponseReturnValue:
    """Take up again a piece of work that was left."""
    return _entered(stock, lambda: _state(stock, CandidateState.OPEN, ""))


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
    """Freeze the decision, to hold it against what happens; the plan is worked out once more."""
    note = sent("note", "").strip() or None

    def enter() -> list[str]:
        return freeze(the_book(), stock, visit().person, shop_clock(), note=note, seed=0)

    return _entered(stock, enter)


def _key() -> str | None:
    """Give the key under which an entry is kept once."""
    return sent("key", "") or None
