"""The decision on one vehicle: the plan, what would change it, and estimates moved by hand."""

from __future__ import annotations

import re
import uuid
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from flask import Blueprint, jsonify, render_template, request, url_for

from recondition.book import Connection, reading
from recondition.book.roles import Right
from recondition.condition.vehicle import Holding
from recondition.errors import Refused
from recondition.intake.cells import OutOfBounds
from recondition.intake.sheets import sheet_named
from recondition.intake.written import ids_named, texts_of
from recondition.reports.worth_doing import summary
from recondition.web.answers import ANSWERS, Answers, Known, Look, shop_clock, the_answers
from recondition.web.entry import done, refused_page, scripted
from recondition.web.forms import post_row, said_of, sent
from recondition.web.opened import Opened
from recondition.web.pieces import forms_of, works_of
from recondition.web.sliders import name_of, turn_words
from recondition.web.vehicles import Seen, WorkElsewhere, seen
from recondition.web.visit import EXTENSION, may, needs, the_book, visit
from recondition.worth.advice import Advice
from recondition.worth.decision import decide
from recondition.worth.what_if import Change, Figure, asked_with, levers, moved, turned

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from flask.blueprints import BlueprintSetupState
    from flask.typing import ResponseReturnValue

    from recondition.worth.estimates import Candidate
    from recondition.worth.question import Question
    from recondition.worth.what_if import Lever

pages = Blueprint("decision", __name__)
_SEARCH_SECONDS = 5.0
_WAIT_SECONDS = 20.0
_LOOK_SECONDS = 0.6
_FIGURE = re.compile(r"-?[0-9]{1,12}(\.[0-9]{1,9})?")
_CHANGES_MAX = 400
_JSON_BYTES_MAX = 64 * 1024


class NotAFigure(Refused):
    """A figure of an estimate that is no plain number."""

    exit_status = 2

    def __init__(self, name: str, found: str) -> None:
        """Name the estimate, by its field, and show what was typed."""
        figure, _, ref = name.partition(":")
        super().__init__(
            f"{found!r} is not a figure",
            where=f"{ref} {figure.replace('_', ' ')}",
            todo="Write it as 1234.50, without commas.",
        )


class NoAnswerYet(Refused):
    """An estimate is moved while the plan itself is still being worked out."""

    http_status = 409

    def __init__(self) -> None:
        """Say to wait."""
        super().__init__("the plan is still being worked out", todo="Try again in a moment.")


@pages.record
def _prepared(state: BlueprintSetupState) -> None:
    """Give the application its answers."""
    state.app.extensions[ANSWERS] = Answers(state.app.extensions[EXTENSION])


@dataclass(frozen=True, slots=True, kw_only=True)
class Moved:
    """The plan with estimates moved, beside the plan as it is."""

    before: Advice
    after: Advice
    levers: tuple[Lever, ...]
    typed: Mapping[str, str]

    @property
    def known(self) -> str:
        """Say whether it is proven, and what it gives up to touch less."""
        after = self.after
        said = "proven" if after.proven else (
            f"a better set could be worth up to {after.gap.grouped} more"
        )  # fmt: skip
        if after.given_up:
            said += f"; it gives up {after.given_up.grouped} to touch less"
        return said

    @property
    def turns(self) -> list[tuple[str, str, str]]:
        """Give ref, verdict before and verdict now of all work whose verdict turned."""
        return [(t.ref, t.was.value, t.now.value) for t in turned(self.before, self.after)]


@pages.get("/vehicles/<path:stock>/plan")
@needs(Right.MONEY)
def plan(stock: str) -> ResponseReturnValue:
    """Show the decision: at once as it is known, anew when it is worked out."""
    return plan_page(stock)


def plan_page(
    stock: str,
    *,
    made: Moved | None = None,
    refused: Refused | None = None,
    given: Mapping[str, str] | None = None,
) -> str:
    """Lay the decision out. ``given`` are the fields of a form that was refused."""
    look = the_answers().look(stock, shop_clock(), wait=_LOOK_SECONDS)
    with the_book().reading() as conn:
        car = seen(conn, stock)
        known = look.known
        works = works_of(conn, car, known, made) if known else []
        opened = _opened(known, car) if known else []
        forms = forms_of(conn, car, known, given or {}) if known and may(Right.DECIDE) else {}
        last = reading.stored(conn, "decision", vehicle=car.vehicle.id)
        empty = _missing(conn, car, look)
    return render_template(
        "web/decision.html.j2", car=car, look=look, known=known, works=works, opened=opened,
        forms=forms, made=made, refused=refused, given=given or {}, empty=empty,
        consigned=car.vehicle.entry.holding is Holding.CONSIGNED,
        frozen=last[-1] if last else None,
        key=uuid.uuid4().hex,
    )  # fmt: skip


def _opened(known: Known, car: Seen) -> list[Opened]:
    """Open up what stands behind the verdicts: every table but theirs, with its picture."""
    return [
        Opened(table, car.links, figure=known.figures.get(place))
        for place, table in enumerate(known.tables)
        if place > 0
    ]


def _missing(conn: Connection, car: Seen, look: Look) -> str:
    """Say what a plan still needs, where nothing can be weighed yet."""
    if not reading.stored(conn, "terms", vehicle=car.vehicle.id):
        return "terms"
    if look.known is not None and not look.known.question.candidates:
        return "candidates"
    return ""


@pages.get("/vehicles/<path:stock>/plan/answer")
@needs(Right.MONEY, Right.BENCH)
def answer(stock: str) -> ResponseReturnValue:
    """Tell a script whether the plan is worked out."""
    look = the_answers().look(stock, shop_clock(), wait=_LOOK_SECONDS)
    ready = look.holds or look.refused is not None
    at = look.known.at.isoformat(timespec="minutes") if look.known else None
    return jsonify({"ready": ready, "as_of": at, "refused": look.refused is not None})


@pages.post("/vehicles/<path:stock>/plan/what-if")
@needs(Right.DECIDE)
def what_if(stock: str) -> ResponseReturnValue:
    """Work the plan out with some estimates moved; nothing is kept."""
    given = _figures_sent()
    try:
        known = _known(stock)
        changes = list(_changes(known.question, given))
        owner = f"{visit().signed_in.token_hash} {stock}"
        made = the_answers().ask(owner, lambda: _moved(known, changes), wait=_WAIT_SECONDS)
    except TimeoutError:
        raise NoAnswerYet from None
    except Refused as refused:
        return _refused(stock, refused)
    made = replace(made, typed=given)
    if scripted():
        return jsonify(_plain(made))
    return plan_page(stock, made=made)


def _refused(stock: str, refused: Refused) -> ResponseReturnValue:
    """Answer with the plan that an estimate could not be moved in; to a script the refusal."""
    return refused_page(refused, "" if scripted() else plan_page(stock, refused=refused))


def _figures_sent() -> dict[str, str]:
    """Give the figures that were sent, as texts by name: by JSON or by a form."""
    sent_now: Any = _json_sent() if request.is_json else request.form
    pairs = dict(sent_now.items()) if hasattr(sent_now, "items") else {}
    kinds = {figure.value for figure in Figure}
    return {
        name: str(text).strip()
        for name, text in list(pairs.items())[:_CHANGES_MAX]
        if name.partition(":")[0] in kinds
    }


def _json_sent() -> Any:  # noqa: ANN401 - JSON holds anything
    """Give the JSON that was sent; nothing where it cannot be read, or is more than figures."""
    if (request.content_length or 0) > _JSON_BYTES_MAX:
        return None
    try:
        return request.get_json(silent=True)
    except RecursionError:  # nested far deeper than any figure
        return None


def _known(stock: str) -> Known:
    """Give the answer that estimates are moved from. Raises NoAnswerYet, or why there is none."""
    look = the_answers().look(stock, shop_clock(), wait=_WAIT_SECONDS)
    if look.refused is not None:
        raise look.refused
    if look.known is None:
        raise NoAnswerYet
    return look.known


def _changes(question: Question, given: Mapping[str, str]) -> Iterable[Change]:
    """Read figures as changes of a question; those that stand as they are give none.

    Raises NotAFigure, OutOfBounds; work that is not there is for ``asked_with`` to refuse.
    """
    by_ref = {question.ref(item): item for item in question.candidates}
    for name, text in given.items():
        kind, _, ref = name.partition(":")
        change = Change(by_ref.get(ref, ref), Figure(kind), _figure(name, text))
        if change.item not in question.candidates or not _stands(question, change):
            yield change


def _figure(name: str, text: str) -> Decimal:
    """Read one figure that was sent. Raises NotAFigure, OutOfBounds."""
    if not _FIGURE.fullmatch(text):
        raise NotAFigure(name, text)
    found, (kind, _, ref) = Decimal(text), name.partition(":")
    if found < 0 and not Figure(kind).adds:
        what = f"The {kind} of {ref} cannot be below zero."
        raise OutOfBounds(what, where=f"{ref} {kind}", todo="Write zero or more.")
    return found


def _stands(question: Question, change: Change) -> bool:
    """Tell whether an estimate is what it is said to be."""
    candidate = question.candidates[change.item]
    three: Any = getattr(candidate, change.figure.value)
    if three is None:
        return False
    likely = three.likely if isinstance(three.likely, Decimal) else three.likely.number
    return bool(likely == change.likely)


def _moved(known: Known, changes: list[Change]) -> Moved:
    """Work the plan out with estimates moved, by the same code as the plan itself."""
    question = asked_with(known.question, changes)
    after = decide(question, seconds=_SEARCH_SECONDS)
    return Moved(before=known.advice, after=after, levers=levers(question, after), typed={})


def _plain(made: Moved) -> dict[str, object]:
    """Write a plan with estimates moved for a script; whole numbers as texts."""
    net, was = made.after.plan.net, made.before.plan.net
    return {
        "net": {"amount": str(net), "currency": net.currency},
        "was": {"amount": str(was), "currency": was.currency},
        "more": (net - was).grouped,
        "net_words": f"{net.grouped} {net.currency}",
        "was_words": f"{was.grouped} {was.currency}",
        "words": summary(made.after),
        "proven": made.after.proven,
        "known": made.known,
        "turned": [{"ref": ref, "was": was_, "now": now} for ref, was_, now in made.turns],
        "verdicts": {item.ref: item.verdict.value for item in made.after.items},
        "levers": {
            name_of(lever): {
                "turn": None if lever.turn is None else str(lever.turn),
                "between": [str(each) for each in lever.between or ()],
                "words": turn_words(lever),
            }
            for lever in made.levers
        },
    }  # fmt: skip


@pages.post("/vehicles/<path:stock>/plan/estimate")
@needs(Right.DECIDE)
def estimate(stock: str) -> ResponseReturnValue:
    """Enter the estimates of one piece of work as they were moved: a new version of it."""
    ref = sent("enter", "")
    given = _figures_sent()
    mine = {name: text for name, text in given.items() if name.partition(":")[2] == ref}
    try:
        result = post_row("candidates", _row_moved(stock, ref, mine), key=sent("key", "") or None)
    except Refused as refused:
        return _refused(stock, refused)
    return done(said_of(result), url_for("decision.plan", stock=stock))


def _row_moved(stock: str, ref: str, given: Mapping[str, str]) -> dict[str, str]:
    """Give the row of a piece of work with its estimates moved, whose estimate it now is, and when.

    Raises NotThere, NotAFigure, OutOfBounds, UnknownItem.
    """
    with the_book().reading() as conn:
        car = seen(conn, stock)
        row, candidate = row_of(conn, car, ref)
        for name, text in given.items():
            figure = Figure(name.partition(":")[0])
            candidate = moved(candidate, figure, _figure(name, text))
        row |= _written(conn, ref, candidate)
    row["estimated_by"] = visit().person
    row["estimated_on"] = shop_clock().date().isoformat()
    return row


def row_of(conn: Connection, car: Seen, ref: str) -> tuple[dict[str, str], Candidate]:
    """Give candidate work of a vehicle as the row that it came from.

    Raises NotThere, WorkElsewhere.
    """
    found = reading.one(conn, "candidate", ref)
    if found.subject != car.vehicle.subject:
        of = reading.names_of(conn, [found.entry.vehicle])
        raise WorkElsewhere(ref, of[found.entry.vehicle], car.ref)
    return _written(conn, ref, found.entry), found.entry


def _written(conn: Connection, ref: str, candidate: Candidate) -> dict[str, str]:
    """Write candidate work as a row of its sheet."""
    sheet = sheet_named("candidates")
    names = reading.names_of(conn, ids_named(sheet, candidate))
    return texts_of(sheet, ref, candidate, names, reading.settings_of(conn))
