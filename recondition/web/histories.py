"""Work histories: every vehicle's editions, one vehicle's trial copy, consents and hits."""

from __future__ import annotations

import uuid
from dataclasses import dataclass
from typing import TYPE_CHECKING

from flask import Blueprint, Response, current_app, render_template, request, url_for

from recondition.book import editions, reading, share_links
from recondition.book.editions import editions_of, redactions_of, withdrawals_of
from recondition.book.files import known_type
from recondition.book.questions import vehicle_of, vehicles
from recondition.book.roles import Right
from recondition.errors import Refused
from recondition.history.evidence import is_listed
from recondition.intake.sheets import sheet_named
from recondition.web.entry import done, refused_page
from recondition.web.forms import fields_of, key_of, post_row, sent, sent_row
from recondition.web.jobs import begun, start, the_jobs
from recondition.web.previews import (
    TRIAL,
    PassphraseNeeded,
    Preview,
    is_locked,
    mark_now,
    preview_of,
)
from recondition.web.released import WORDS, Shelf, held_back, must_go
from recondition.web.rows import said_of
from recondition.web.visit import hold, may, needs, the_book, visit

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import date
    from pathlib import Path
    from typing import Any

    from flask.typing import ResponseReturnValue

    from recondition.book import Connection
    from recondition.condition.vehicle import Vehicle
    from recondition.history.records import Edition, EditionWithdrawn
    from recondition.ledger.drafts import Stored

pages = Blueprint("histories", __name__)

SHEET_POLICY = (
    "sandbox {}; default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'; "
    "img-src data:; base-uri 'none'; form-action 'none'; frame-ancestors 'self'"
)
_SHELF = "recondition-released"
_CONSENTS = "consents"
_START_BYTES = 16


class NotLookedAt(Refused):
    """A trial copy that is asked for and was not made, or is of an earlier state."""

    http_status = 404

    def __init__(self, stock: str) -> None:
        """Name the vehicle."""
        super().__init__(
            f"there is no trial copy of {stock} as it stands now",
            todo="Make one on the page of its work history.",
        )


def shelf() -> Shelf:
    """Give the editions that went out, as this server has them at hand."""
    found: Shelf = current_app.extensions.setdefault(_SHELF, Shelf())
    return found


def preview_now(stock: str) -> Preview | None:
    """Give the trial copy of a vehicle as it stands now, where one was made. Raises NotThere."""
    return preview_of(the_jobs().every(), stock, mark_now(the_book(), stock))


def sees_private() -> bool:
    """Tell whether whoever asks may read private notes and what a search found in full."""
    return may(Right.MONEY)


def today() -> date:
    """Give the day by the book's clock."""
    return the_book().now().astimezone().date()


@dataclass(frozen=True, slots=True)
class Row:
    """One edition as it is listed: what became of it in words, and why no buyer sees it."""

    edition: Edition
    became: str
    withdrawn: bool
    held: str = ""


def rows_of(
    conn: Connection, made: Iterable[Stored[Edition]], gone: dict[str, Stored[EditionWithdrawn]]
) -> list[Row]:
    """Give the editions of one vehicle, the newest first, with what became of each."""
    found = sorted(made, key=lambda each: -each.entry.number)
    after = {str(each.entry.supersedes): each.entry.number for each in found}
    rows = []
    for each in found:
        back, later = gone.get(each.id), after.get(each.id)
        held = "" if back else held_back(conn, each, today())
        if held and must_go(conn, each):
            shelf().drop(the_book(), each.entry.head)
        rows.append(Row(each.entry, _became(back, later), back is not None, held))
    return rows


def _became(back: Stored[EditionWithdrawn] | None, later: int | None) -> str:
    """Say what became of an edition."""
    told = [f"edition {later} took its place"] if later else []
    if back is not None:
        told.append(f"withdrawn on {back.entry.withdrawn_on.isoformat()}: {back.entry.reason}")
    return "; ".join(told) or "stands"


@pages.get("/histories")
@needs(Right.RELEASE)
def every() -> ResponseReturnValue:
    """List every vehicle with its editions and what became of each."""
    with the_book().reading() as conn:
        cars = vehicles(conn)
        made: dict[str, list[Stored[Edition]]] = {}
        for each in reading.stored(conn, "edition"):
            made.setdefault(each.entry.vehicle, []).append(each)
        gone = {each.entry.edition: each for each in reading.stored(conn, "edition withdrawn")}
        listed = [(car, rows_of(conn, made.get(car.id, ()), gone)) for car in cars]
        links = _links(conn)
    return render_template("web/histories.html.j2", listed=listed, links=links)


def _links(conn: Connection) -> dict[str, int]:
    """Count the links that hold, by stock number."""
    now = the_book().now()
    found: dict[str, int] = {}
    for link in share_links.listed(conn):
        if link.holds(now):
            found[link.vehicle] = found.get(link.vehicle, 0) + 1
    return found


@pages.get("/histories/<path:stock>")
@needs(Right.RELEASE)
def one(stock: str) -> ResponseReturnValue:
    """Show what there is of one vehicle's work history, and what can be done next."""
    return page_of(stock)


def page_of(stock: str, refused: Refused | None = None) -> str:
    """Draw the page of one vehicle's work history. Raises NotThere."""
    book = the_book()
    given = {"vehicle": stock, "given_on": today().isoformat()}
    given |= _typed({field: request.form.get(field, "") for field in _fields(_CONSENTS)})
    with book.reading() as conn:
        car = vehicle_of(conn, stock)
        made = rows_of(conn, editions_of(conn, car.id), withdrawals_of(conn, car.id))
        told = {
            "car": car,
            "key": uuid.uuid4().hex,
            "rows": made,
            "pictures": _pictures(conn, car),
            "consents": _consents(conn, car),
            "fields": fields_of(conn, sheet_named(_CONSENTS), given),
            "links": share_links.listed(conn, stock),
        }
    return render_template(
        "web/histories_one.html.j2", **told, refused=refused, now=book.now(), today=today(),
        preview=preview_now(stock), locked=is_locked(book),
        private=sees_private(), files=WORDS,
    )  # fmt: skip


def _fields(sheet: str) -> list[str]:
    """Name the fields of a sheet."""
    return [column.field for column in sheet_named(sheet).columns]


def _typed(given: dict[str, str]) -> dict[str, str]:
    """Leave out what was not filled."""
    return {field: text for field, text in given.items() if text}


def _pictures(conn: Connection, car: Stored[Vehicle]) -> list[tuple[Stored[Any], int]]:
    """Give the pictures that are for buyers, each with how many places on it are hidden."""
    hidden = redactions_of(conn, car.id)
    places = reading.kept_files(conn, car.id)
    return [
        (each, len(hidden.get(each.id, ())))
        for each in reading.stored(conn, "document", vehicle=car.id)
        if is_listed(each.entry) and each.id in places and is_picture(places[each.id])
    ]


def is_picture(place: Path) -> bool:
    """Tell by its first bytes whether a kept file is a picture."""
    try:
        with place.open("rb") as stream:
            return known_type(stream.read(_START_BYTES)).startswith("image/")
    except OSError:
        return False


def _consents(conn: Connection, car: Stored[Vehicle]) -> list[tuple[Stored[Any], str]]:
    """Give the consents of a vehicle and those for every one, each with whom it names."""
    names = reading.refs_by_id(conn, ("person", "supplier"))
    return [
        (each, names.get(each.entry.person or each.entry.supplier or "", ""))
        for each in reading.stored(conn, "consent")
        if each.entry.vehicle in (None, car.id)
    ]


def back_to(stock: str, part: str = "") -> str:
    """Give the address of a vehicle's page, or of a part of it."""
    return url_for("histories.one", stock=stock, _anchor=part or None)


def again(stock: str, refused: Refused) -> ResponseReturnValue:
    """Show the page of a vehicle with what was refused."""
    return refused_page(refused, page_of(stock, refused))


@pages.post("/histories/<path:stock>/look")
@needs(Right.RELEASE)
def look(stock: str) -> ResponseReturnValue:
    """Have a trial copy made, exactly as a buyer would see it, and searched."""
    try:
        job = trial_of(stock, sent("passphrase", ""))
    except Refused as refused:
        return again(stock, refused)
    return begun(job)


def trial_of(stock: str, passphrase: str) -> str:
    """Have a trial copy made; give the id of the work, see ``previews.tried``.

    Raises NotThere, PassphraseNeeded.
    """
    with the_book().reading() as conn:
        car = vehicle_of(conn, stock)
    if is_locked(the_book()) and not passphrase:
        raise PassphraseNeeded(given=False)
    given = {"vehicle": car.ref, "passphrase": passphrase, "to": back_to(car.ref)}
    return start(TRIAL, given, visit().signed_in.login)


@pages.get("/histories/<path:stock>/look/sheet")
@needs(Right.RELEASE)
def sheet(stock: str) -> ResponseReturnValue:
    """Give the page of the trial copy that was made last. Raises NotLookedAt."""
    preview = preview_now(stock)
    if preview is None or not preview.made:
        raise NotLookedAt(stock)
    return framed(preview.page, "allow-scripts")


def framed(page: bytes, allowed: str) -> Response:
    """Answer with a work history's page, shut off from everything else by its own policy."""
    answer = Response(page, mimetype="text/html")
    answer.headers["Content-Security-Policy"] = SHEET_POLICY.format(allowed)
    answer.headers["Referrer-Policy"] = "no-referrer"
    return answer


@pages.post("/histories/<path:stock>/let-pass")
@needs(Right.RELEASE)
def let_pass(stock: str) -> ResponseReturnValue:
    """Let hits stand, each with the reason that was written beside it, by who may see them."""
    hold(Right.MONEY)
    because = {
        name.removeprefix("because-"): reason.strip()
        for name, reason in request.form.items()
        if name.startswith("because-") and reason.strip()
    }
    said = []
    try:
        for code, reason in because.items():
            ref = editions.let_pass(
                the_book(), visit().person, stock, code, reason=reason, on=today()
            )
            said.append(f"{code} may stand: noted as {ref}.")
    except Refused as refused:
        return again(stock, refused)
    said = said or ["Nothing was let pass: write a reason beside what may stand."]
    return done([*said, "Make the trial copy again."], back_to(stock, "look"))


@pages.post("/histories/<path:stock>/consents")
@needs(Right.RELEASE)
def consent(stock: str) -> ResponseReturnValue:
    """Note a consent: a row of the sheet."""
    try:
        row = sent_row(sheet_named(_CONSENTS))
        result = post_row(_CONSENTS, row, key=key_of(row))
    except Refused as refused:
        return again(stock, refused)
    return done(said_of(result), back_to(stock, "consents"))


@pages.post("/histories/<path:stock>/consents/<ref>/end")
@needs(Right.RELEASE)
def end_consent(stock: str, ref: str) -> ResponseReturnValue:
    """End a consent from a day on: a new version of its row."""
    with the_book().reading() as conn:
        names = reading.refs_by_id(conn, ("vehicle", "person", "supplier"))
        entry = reading.one(conn, "consent", ref).entry
    row = {
        "ref": ref, "shows": entry.shows.value, "given_on": entry.given_on.isoformat(),
        "given_by": entry.given_by, "vehicle": names.get(entry.vehicle or "", ""),
        "person": names.get(entry.person or "", ""),
        "supplier": names.get(entry.supplier or "", ""),
        "withdrawn_on": sent("withdrawn_on", today().isoformat()),
    }  # fmt: skip
    try:
        result = post_row(_CONSENTS, _typed(row))
    except Refused as refused:
        return again(stock, refused)
    return done(said_of(result), back_to(stock, "consents"))
