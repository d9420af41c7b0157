"""Hiding a place on a picture before a buyer sees it: a row of the sheet redactions.

The picture is shown upright and without what the camera wrote into it. A place is drawn on it
with a finger or a mouse, moved with the arrow keys, or typed as four figures.
"""

from __future__ import annotations

import uuid
from decimal import Decimal
from io import BytesIO
from typing import TYPE_CHECKING

from flask import Blueprint, render_template, send_file, url_for

from recondition.book import reading
from recondition.book.context import NotThere
from recondition.book.questions import vehicle_of
from recondition.book.roles import Right
from recondition.errors import Refused
from recondition.history.evidence import is_listed
from recondition.intake.sheets import sheet_named
from recondition.reports.public_pictures import publish
from recondition.web.entry import done, refused_page
from recondition.web.forms import key_of, post_row, sent_row
from recondition.web.histories import is_picture, sees_private
from recondition.web.rows import said_of
from recondition.web.visit import needs, the_book

if TYPE_CHECKING:
    from pathlib import Path
    from typing import Any

    from flask.typing import ResponseReturnValue

    from recondition.book import Connection
    from recondition.history.records import Redaction
    from recondition.ledger.drafts import Stored

pages = Blueprint("hiding", __name__)

BOX = ("from_left", "from_top", "width", "height")
_FIRST = {"from_left": "40", "from_top": "40", "width": "20", "height": "20"}
_HUNDRED = Decimal(100)


def _picture(conn: Connection, stock: str, ref: str) -> tuple[Stored[Any], Path]:
    """Give a picture of a vehicle that is for buyers, and where it lies. Raises NotThere."""
    car = vehicle_of(conn, stock)
    document = reading.one(conn, "document", ref)
    place = reading.kept_files(conn, car.id).get(document.id)
    own = document.entry.vehicle == car.id and is_listed(document.entry)
    if not own or place is None or not is_picture(place):
        raise NotThere(what="picture for buyers", name=ref)
    return document, place


def _hidden(conn: Connection, document: Stored[Any]) -> list[Stored[Redaction]]:
    """Give the places that are hidden on a picture."""
    every = reading.stored(conn, "redaction", vehicle=document.entry.vehicle)
    return [each for each in every if each.entry.document == document.id and not each.entry.off]


@pages.get("/histories/<path:stock>/pictures/<path:ref>")
@needs(Right.RELEASE)
def one(stock: str, ref: str) -> ResponseReturnValue:
    """Show a picture with the places that are hidden on it, and a form for one more."""
    return _page(stock, ref, dict(_FIRST))


def _page(stock: str, ref: str, box: dict[str, str], refused: Refused | None = None) -> str:
    """Draw the page of a picture."""
    with the_book().reading() as conn:
        car = vehicle_of(conn, stock)
        document, _ = _picture(conn, stock, ref)
        hidden = _hidden(conn, document)
    columns = {column.field: column for column in sheet_named("redactions").columns}
    return render_template(
        "web/histories_picture.html.j2", car=car, document=document, hidden=hidden, box=box,
        columns=columns, fields=BOX, refused=refused, private=sees_private(), key=uuid.uuid4().hex,
        drawn=dict(_FIRST) | {name: text for name, text in box.items() if _is_percent(text)},
    )  # fmt: skip


def _is_percent(text: str) -> bool:
    """Tell whether a text can stand in a drawing as a figure in percent."""
    return text.replace(".", "", 1).isdecimal() and Decimal(text) <= _HUNDRED


@pages.get("/histories/<path:stock>/pictures/<path:ref>/shown.jpg")
@needs(Right.RELEASE)
def shown(stock: str, ref: str) -> ResponseReturnValue:
    """Give a picture as it is seen upright, with nothing that the camera wrote into it."""
    with the_book().reading() as conn:
        document, place = _picture(conn, stock, ref)
    made = publish(place.read_bytes(), title=document.entry.title)
    return send_file(BytesIO(made.small), mimetype="image/jpeg", max_age=0)


@pages.post("/histories/<path:stock>/pictures/<path:ref>")
@needs(Right.RELEASE)
def hide(stock: str, ref: str) -> ResponseReturnValue:
    """Hide a place on a picture."""
    row = sent_row(sheet_named("redactions")) | {"vehicle": stock, "document": ref}
    row.pop("off", None)
    try:
        result = post_row("redactions", row, key=key_of(row))
    except Refused as refused:
        typed = {name: row.get(name, "") for name in (*BOX, "why")}
        return refused_page(refused, _page(stock, ref, typed, refused))
    return done(said_of(result), url_for("hiding.one", stock=stock, ref=ref))


@pages.post("/histories/<path:stock>/pictures/<path:ref>/<place>/show")
@needs(Right.RELEASE)
def show_again(stock: str, ref: str, place: str) -> ResponseReturnValue:
    """Take a hidden place back: a new version of its row."""
    with the_book().reading() as conn:
        document, _ = _picture(conn, stock, ref)
        found = [each for each in _hidden(conn, document) if each.ref == place]
    if not found:
        raise NotThere(what="hidden place", name=place)
    entry = found[0].entry
    row = {name: f"{getattr(entry, name):f}" for name in BOX}
    row |= {"ref": place, "vehicle": stock, "document": ref, "why": entry.why, "off": "yes"}
    try:
        result = post_row("redactions", row)
    except Refused as refused:
        return refused_page(refused, _page(stock, ref, dict(_FIRST), refused))
    return done(said_of(result), url_for("hiding.one", stock=stock, ref=ref))
