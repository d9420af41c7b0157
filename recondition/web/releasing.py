"""Releasing a work history, handing out its files, and withdrawing it."""

from __future__ import annotations

import io
from datetime import date
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

from flask import Blueprint, Response, render_template, send_file

from recondition.book import editions, reading, trail
from recondition.book.context import NotThere
from recondition.book.editions import consents_in_force, editions_of
from recondition.book.keys import KeyLocked
from recondition.book.questions import vehicle_of
from recondition.book.reversing import day_of
from recondition.book.roles import Right
from recondition.errors import Refused
from recondition.history.folder import WITHDRAWN
from recondition.history.net import LeakFound
from recondition.reports.history_release import refuse_private, write_withdrawal
from recondition.web.entry import done, refused_page
from recondition.web.forms import sent
from recondition.web.histories import again, back_to, preview_now, sees_private, shelf
from recondition.web.jobs import begun, start
from recondition.web.previews import (
    Discreet,
    NotAsLookedAt,
    PassphraseNeeded,
    is_locked,
    mark_now,
)
from recondition.web.released import KINDS, file_of, forgotten, must_go
from recondition.web.visit import needs, the_book, visit

if TYPE_CHECKING:
    from flask.typing import ResponseReturnValue

    from recondition.book import Connection
    from recondition.history.records import Edition
    from recondition.ledger.drafts import Stored

pages = Blueprint("releasing", __name__)


class EditionNotAtHand(Refused):
    """An edition whose files were not kept, and that can no longer be made again to the byte."""

    http_status = 404

    def __init__(self, stock: str, number: int) -> None:
        """Name the edition."""
        super().__init__(
            f"the files of edition {number} of {stock} are not at hand",
            todo="They were not kept here, and cannot be made again: something was recorded since, "
            "or the signing key is locked. Take the files that were written then, or release a "
            "new edition.",
        )


class EditionForgotten(Refused):
    """An edition that shows what was erased or restricted since: it is handed out no more."""

    http_status = 404

    def __init__(self, stock: str, number: int) -> None:
        """Name the edition."""
        super().__init__(
            f"edition {number} of {stock} shows what was erased or restricted since",
            todo="It is handed out no more. Make a trial copy and release a new edition.",
        )


@pages.get("/histories/<path:stock>/release")
@needs(Right.RELEASE)
def ask(stock: str) -> ResponseReturnValue:
    """Ask before anything is released: what goes out, and what it says."""
    return _asked(stock)


def _asked(stock: str, refused: Refused | None = None) -> str:
    """Draw the page that asks."""
    book = the_book()
    mark = mark_now(book, stock)
    with book.reading() as conn:
        car = vehicle_of(conn, stock)
        made = editions_of(conn, car.id)
        preview = preview_now(stock)
        shown = _shown(conn, car.id, preview.made_on) if preview and preview.made else []
    return render_template(
        "web/histories_release.html.j2", car=car, mark_seen=mark, refused=refused, consents=shown,
        preview=preview, locked=is_locked(book), private=sees_private(),
        last=made[-1].entry.number if made else 0,
    )  # fmt: skip


def _shown(conn: Connection, vehicle: str, made_on: str) -> list[str]:
    """Say what consents let a sheet of a day show, by name where it is of one person or firm."""
    given = consents_in_force(conn, vehicle, date.fromisoformat(made_on))
    named = [each.entry.person or each.entry.supplier or "" for each in given]
    names = {
        each.id: str(each.entry.name)
        for each in reading.stored(conn, "person", "supplier", ids=[one for one in named if one])
    }
    told = [
        f"{each.entry.shows.value}{f' {names.get(one, one)}' if one else ''}"
        for each, one in zip(given, named, strict=True)
        if names.get(one, one) or not one  # who was erased has no name to be shown
    ]
    return list(dict.fromkeys(told))


@pages.post("/histories/<path:stock>/release")
@needs(Right.RELEASE)
def release(stock: str) -> ResponseReturnValue:
    """Release what was looked at; it is made anew, in a process of its own."""
    try:
        job = release_of(stock, sent("seen", ""), sent("passphrase", ""))
    except Refused as refused:
        return refused_page(refused, _asked(stock, refused))
    return begun(job)


def release_of(stock: str, mark: str, passphrase: str) -> str:
    """Have what was looked at under a mark released; give the id of the work.

    See ``previews.released``. Raises NotThere, NotAsLookedAt, PassphraseNeeded.
    """
    seen = preview_now(stock)
    if seen is None or not seen.made or seen.mark != mark:
        raise NotAsLookedAt(stock)
    if is_locked(the_book()) and not passphrase:
        raise PassphraseNeeded(given=False)
    asker = visit()
    given = {
        "vehicle": stock, "person": asker.person, "seen": mark, "passphrase": passphrase,
        "login": asker.signed_in.login.id, "address": asker.address, "to": back_to(stock),
        "private": "yes" if sees_private() else "",
    }  # fmt: skip
    return start("work history", given, asker.signed_in.login)


def _edition(stock: str, number: int) -> Stored[Edition]:
    """Give one edition of a vehicle. Raises NotThere."""
    with the_book().reading() as conn:
        for each in editions_of(conn, vehicle_of(conn, stock).id):
            if each.entry.number == number:
                return each
    raise NotThere(what="edition", name=f"{number} of vehicle {stock}")


def handed_out(content: bytes, name: str, called: str) -> Response:
    """Answer with a file that is kept by whoever gets it."""
    return send_file(
        io.BytesIO(content), mimetype=KINDS.get(name, "application/json"), as_attachment=True,
        download_name=called, max_age=0,
    )  # fmt: skip


def _noted(stock: str, action: str, detail: str) -> None:
    """Note in the trail what was done with a work history."""
    asker = visit()
    trail.noted(
        the_book(), action=action, subject=stock, detail=detail, address=asker.address,
        login_id=asker.signed_in.login.id,
    )  # fmt: skip


@pages.get("/histories/<path:stock>/editions/<int:number>/<name>")
@needs(Right.RELEASE)
def download(stock: str, number: int, name: str) -> ResponseReturnValue:
    """Hand out one file of a released edition. Raises NotThere, EditionNotAtHand."""
    edition = _edition(stock, number)
    if name not in KINDS:
        raise NotThere(what="file of a work history", name=name)
    with the_book().reading() as conn:
        if must_go(conn, edition):
            shelf().drop(the_book(), edition.entry.head)
        if forgotten(conn, edition):
            raise EditionForgotten(stock, number)
    out = shelf().out(the_book(), stock, edition)
    content = file_of(out, name) if out is not None else None
    if content is None:
        raise EditionNotAtHand(stock, number)
    _noted(stock, "work history downloaded", f"edition {number}: {name}")
    stem, _, ending = name.partition(".")
    return handed_out(content, name, f"{stem}-{stock}-edition-{number}.{ending}")


@pages.post("/histories/<path:stock>/editions/<int:number>/withdraw")
@needs(Right.RELEASE)
def withdraw(stock: str, number: int) -> ResponseReturnValue:
    """Withdraw an edition, with a reason that a buyer may read; its links show nothing then."""
    book, reason, day = the_book(), sent("reason", ""), sent("on", "")
    try:
        if _stands(stock, number):  # else the book refuses, and no word was tried idly
            _hold_public(stock, reason)
        noted = editions.withdraw(
            book, visit().person, stock, number, reason=reason, on=day_of(day) if day else None
        )
    except Refused as refused:
        return again(stock, refused)
    _noted(stock, "work history withdrawn", f"edition {number}")
    said = f"Edition {number} is withdrawn as of {noted.entry.withdrawn_on.isoformat()}."
    return done([said, "Links to it show nothing any more."], back_to(stock, "editions"))


def _stands(stock: str, number: int) -> bool:
    """Tell whether an edition is there and was not withdrawn. Raises NotThere."""
    edition = _edition(stock, number)
    with the_book().reading() as conn:
        return edition.id not in editions.withdrawals_of(conn, edition.entry.vehicle)


def _hold_public(stock: str, reason: str) -> None:
    """Refuse a reason that holds something private, on the trail. Raises LeakFound, Discreet."""
    try:
        refuse_private(the_book(), stock, "the reason", reason)
    except LeakFound as leak:
        _noted(stock, "withdrawal refused", "something private stood in the reason")
        if sees_private():
            raise
        raise Discreet(stock, leak, "the reason") from None


@pages.post("/histories/<path:stock>/editions/<int:number>/notice")
@needs(Right.RELEASE)
def notice(stock: str, number: int) -> ResponseReturnValue:
    """Hand out the signed notice of a withdrawal, to be put beside what was handed out."""
    given = sent("passphrase", "")
    try:
        with TemporaryDirectory() as folder:
            content = _signed(stock, number, Path(folder), given)
    except Refused as refused:
        return again(stock, refused)
    _noted(stock, "notice of withdrawal downloaded", f"edition {number}")
    return handed_out(content, WITHDRAWN, WITHDRAWN)


def _signed(stock: str, number: int, folder: Path, passphrase: str) -> bytes:
    """Sign the notice of a withdrawal. Raises NotThere, PassphraseNeeded."""
    try:
        return write_withdrawal(
            the_book(), stock, number, folder, lambda: passphrase or None
        ).read_bytes()
    except KeyLocked as error:
        raise PassphraseNeeded(given=bool(passphrase)) from error
