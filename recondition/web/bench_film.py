"""Film readings typed in series with a number pad, and what they leave to take off."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from flask import Blueprint, render_template, request, url_for

from recondition.book import reading
from recondition.book.questions import headroom_of
from recondition.book.roles import Right
from recondition.errors import Refused
from recondition.web.bench_shared import car_of, day_pressed, sent_key
from recondition.web.entry import done, refused_page
from recondition.web.forms import Missing, post_row, said_of, sent
from recondition.web.visit import needs, the_book

if TYPE_CHECKING:
    from flask.typing import ResponseReturnValue

pages = Blueprint("bench_film", __name__)

UNITS = ("um", "mil")
_KEPT = ("instrument", "unit", "place", "step", "when")


@pages.get("/bench/<path:stock>/film")
@needs(Right.BENCH)
def form(stock: str) -> ResponseReturnValue:
    """Show the map to tap, the gauge, and the pad."""
    return _page(stock, request.args, None)


def _page(stock: str, given: dict[str, str], refused: Refused | None) -> str:
    """Draw the form, with what was typed where it was refused."""
    with the_book().reading() as conn:
        car = car_of(conn, stock)
        gauges = reading.stored(conn, "instrument")
        places = {
            each.entry.place
            for each in reading.stored(conn, "film reading", vehicle=car.stored.id)
            if each.entry.place
        }
    return render_template(
        "web/bench_film.html.j2", car=car, gauges=gauges, places=sorted(places), units=UNITS,
        given=given, refused=refused,
    )  # fmt: skip


@pages.post("/bench/<path:stock>/film")
@needs(Right.BENCH)
def entered(stock: str) -> ResponseReturnValue:
    """Enter the readings of one place, and say what they come to."""
    try:
        panel = sent("panel_typed", "").strip() or sent("panel", "")
        if not panel:
            raise Missing(name="panel", label="Panel")
        row = {"vehicle": stock, "panel": panel, "readings": sent("readings", label="Readings")}
        row |= {field: sent(field, "").strip() for field in _KEPT}
        row["read_on"] = day_pressed()
        result = post_row("film readings", {f: t for f, t in row.items() if t}, key=sent_key())
    except Refused as refused:
        return refused_page(refused, _page(stock, request.form, refused))
    with the_book().reading() as conn:
        room = headroom_of(conn, stock, result.draft.entry.panel)
    lines = [*said_of(result), room if isinstance(room, str) else room.words()]
    kept = ("instrument", "unit", "place")
    again: dict[str, Any] = {field: row[field] for field in kept if row.get(field)}
    return done(lines, url_for(".form", stock=stock, **again))
