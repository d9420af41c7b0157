"""The ledger of one vehicle: its posted lines, those behind one total, and taking one back."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from flask import Blueprint, render_template, request, url_for

from recondition.book import Connection, reading
from recondition.book.accounting import closings, period_events
from recondition.book.kinds import LINE_KINDS
from recondition.book.reversing import reverse_line
from recondition.book.roles import Right
from recondition.errors import Refused
from recondition.ledger.drafts import Stored
from recondition.ledger.lines import Reversal
from recondition.ledger.rollup import period_of
from recondition.reports import lists
from recondition.reports.narrowed import NAMES, narrowed
from recondition.web.entry import done, refused_page
from recondition.web.forms import sent
from recondition.web.opened import Opened, record_at
from recondition.web.vehicles import Seen, seen
from recondition.web.visit import may, needs, the_book, visit

if TYPE_CHECKING:
    from flask.typing import ResponseReturnValue

pages = Blueprint("ledger", __name__)
_TAKES_BACK = (Right.DECIDE, Right.BOOKS)
_WORDS = {
    "work": "of the work", "finding": "for the finding", "area": "on the area",
    "kind": "of the kind", "panel": "on the panel", "purpose": "for", "period": "in",
    "bought": "for",
}  # fmt: skip


class LineElsewhere(Refused):
    """A line that is to be taken back on the page of another vehicle than its own."""

    def __init__(self, ref: str, where: str, stock: str) -> None:
        """Name the line, what it is on, and the vehicle that it was looked for on."""
        super().__init__(
            f"line {ref} is not on vehicle {stock}: it is on {where}",
            todo="Take it back from its own page, or from the ledger of its vehicle.",
        )


@pages.get("/vehicles/<path:stock>/ledger")
@needs(Right.MONEY)
def lines(stock: str) -> ResponseReturnValue:
    """Show the ledger, or the lines behind one total; and the form to take a line back."""
    return _page(stock, request.args.get("back", ""), {}, None)


def _page(stock: str, back: str, given: dict[str, str], refused: Refused | None) -> str:
    """Show the ledger; ``back`` is the line that is to be taken back."""
    wanted = {name: request.args[name] for name in NAMES if request.args.get(name)}
    with the_book().reading() as conn:
        car = seen(conn, stock)
        table = narrowed(conn, car.vehicle, wanted) if wanted else lists.lines(conn, stock)[0]
        line = _line(conn, car, back) if back else None
        warned = _warned(conn, line) if line is not None else []
        standing = _standing(conn, car)
    return render_template(
        "web/vehicle_ledger.html.j2", car=car, opened=Opened(table, car.links),
        narrowed=_said(wanted), line=line, line_at=record_at(line.kind, line.ref) if line else "",
        warned=warned, given=given, refused=refused, standing=standing,
    )  # fmt: skip


def _said(wanted: dict[str, str]) -> str:
    """Say in words which lines are shown."""
    said = [f"{_WORDS[name]} {text}" for name, text in wanted.items() if name in _WORDS]
    if "outside" in wanted:
        said.append("without candidate work" if wanted["outside"] == "yes" else "of all work")
    return " ".join(said)


def _standing(conn: Connection, car: Seen) -> list[str]:
    """Give the refs of lines that can be taken back, for whoever may."""
    return reading.standing_refs(conn, car.vehicle.id) if may(*_TAKES_BACK) else []


def _line(conn: Connection, car: Seen, ref: str) -> Stored[Any]:
    """Give a line of this vehicle. Raises NotThere, SeveralLines, LineElsewhere."""
    found = reading.line_id_of(conn, ref)
    (line,) = reading.stored(conn, *LINE_KINDS, ids=[found])
    if line.subject != car.vehicle.subject:
        kind, _, own = line.subject.partition(":")
        named = f"vehicle {reading.names_of(conn, [own])[own]}" if own else f"the {kind}"
        raise LineElsewhere(line.ref, named, car.ref)
    return line


def _warned(conn: Connection, line: Stored[Any]) -> list[str]:
    """Say honestly what taking a line back does not do, or why it cannot be done."""
    if line.reversed_by is not None:
        by = reading.names_of(conn, [line.reversed_by]).get(line.reversed_by, "")
        return [f"It was taken back already, by {by}. What is right is entered as a new line."]
    if isinstance(line.entry, Reversal):
        return ["It takes another line back, and stays. What is right is entered as a new line."]
    said = ["The line itself stays for good; its exact negative is posted beside it."]
    period = period_of(line)
    if period in closings(period_events(conn)):
        said.append(
            f"Its month {period} is closed and stays as it was reported: the negative goes to the "
            "month of its own day, or the first open one after it."
        )
    return said


@pages.post("/vehicles/<path:stock>/reverse")
@needs(*_TAKES_BACK)
def reverse(stock: str) -> ResponseReturnValue:
    """Take a line of this vehicle back, with a reason that stays on record."""
    ref = sent("line", "").strip()
    try:
        with the_book().reading() as conn:
            line = _line(conn, seen(conn, stock), ref)
        made = reverse_line(
            the_book(), f"{line.kind}:{line.ref}", sent("why", ""),
            author_ref=visit().person, day=None, period=None,
            words=sent("words", "").strip() or None,
        )  # fmt: skip
    except Refused as refused:
        return refused_page(refused, _page(stock, "", dict(request.form), refused))
    return done([f"reversal {made}: {line.ref} is taken back"], url_for(".lines", stock=stock))
