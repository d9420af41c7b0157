"""The clock with one thumb: start, pause, take up again, stop, drop."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from flask import Blueprint, request, url_for

from recondition.book import reading
from recondition.book.roles import Right
from recondition.book.today import today_of
from recondition.errors import Refused
from recondition.intake import clocking
from recondition.ledger.clocks import Tick
from recondition.ledger.lines import Unlinked
from recondition.web.bench import is_ready
from recondition.web.bench_shared import chosen, my_clock, pressed, sent_key, unpriced
from recondition.web.entry import done
from recondition.web.forms import sent
from recondition.web.visit import may, needs, the_book, visit

if TYPE_CHECKING:
    from flask.typing import ResponseReturnValue

pages = Blueprint("bench_clock", __name__)

_ROW = ("vehicle", "words", "candidate", "links", "unlinked", "panel", "operation", "override",
        "film_removal")  # fmt: skip
_COST_FOLLOWS = " by the clock"


class NotATurn(Refused):
    """A clock is to be turned in a way that there is not."""

    exit_status = 2

    def __init__(self, found: str) -> None:
        """Name what was asked for."""
        super().__init__(
            f"a clock cannot {found}", todo="It can start, pause, resume, stop and drop."
        )


@pages.post("/bench/clock/<turn>")
@needs(Right.BENCH)
def turn(turn: str) -> ResponseReturnValue:
    """Turn the clock of whoever asks."""
    turns = {"start": _start, "pause": _pause, "resume": _resume, "stop": _stop, "drop": _drop}
    if turn not in turns:
        raise NotATurn(turn)
    with the_book().reading() as conn:
        before = my_clock(conn)
    try:
        lines = turns[turn](_when())
    except Refused as refused:
        raise unpriced(refused) from refused
    stock = sent("vehicle", "") or (before.stock if before else "")
    if turn == "stop" and before is not None:
        lines += _next(before.stock)
    return done(lines, url_for("bench.car", stock=stock) if stock else url_for("bench.cars"))


def _when() -> dict[str, Any]:
    """Give who turns the clock, when, and under which key."""
    return {"author_ref": visit().person, "key": sent_key(), **pressed()}


def _start(when: dict[str, Any]) -> list[str]:
    """Start a clock on what the form says; where it names no finding, on the whole vehicle."""
    given = {field: request.form.get(field, "").strip() for field in _ROW}
    values = {field: text for field, text in given.items() if text}
    ticked = request.form.getlist("finding")
    if ticked and "links" not in values:
        with the_book().reading() as conn:
            known = reading.all_refs(conn, "finding")
        values["links"] = "; ".join(chosen("finding", known))
    if "links" not in values:
        values.setdefault("unlinked", Unlinked.WHOLE_VEHICLE.value)
    values["vehicle"], values["words"] = sent("vehicle"), sent("words", label="What you do")
    return _unfolded(clocking.start(the_book(), values, **when))


def _unfolded(said: str) -> list[str]:
    """Put lines that were folded for a terminal together again."""
    lines: list[str] = []
    for line in said.split("\n"):
        if line.startswith("    ") and lines:
            lines[-1] += " " + line.strip()
        else:
            lines.append(line.strip())
    return lines


def _pause(when: dict[str, Any]) -> list[str]:
    return [clocking.turn(the_book(), Tick.PAUSE, **when)]


def _resume(when: dict[str, Any]) -> list[str]:
    return [clocking.turn(the_book(), Tick.RESUME, **when)]


def _stop(when: dict[str, Any]) -> list[str]:
    """Stop the clock; what the hours cost is for whoever may see it."""
    words, _ = clocking.stop(the_book(), override=sent("override", "") or None, **when)
    if not may(Right.MONEY):
        hours, mark, _ = words.partition(_COST_FOLLOWS)
        words = hours + mark
    return [words]


def _drop(when: dict[str, Any]) -> list[str]:
    why = sent("why", label="Why it is dropped without hours")
    return [clocking.drop(the_book(), why, author_ref=when["author_ref"], key=when["key"])]


def _next(stock: str) -> list[str]:
    """Say what can be done next on a car."""
    with the_book().reading() as conn:
        todos = today_of(conn, stock, the_book().now().astimezone()).todos
    ready = [f"{todo.ref} {todo.name}" for todo in todos if is_ready(todo)]
    if ready:
        return [f"to do next on {stock}: {'; '.join(ready[:2])}"]
    return [f"nothing on {stock} can be begun now: its list says why"] if todos else []
