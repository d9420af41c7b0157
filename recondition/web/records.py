"""One record on a page: what it says, who entered it, its chain, what it hangs together with."""

from __future__ import annotations

from typing import TYPE_CHECKING

from flask import Blueprint, Response, current_app, render_template, send_file, url_for

from recondition.book import one_record
from recondition.book.one_record import LINE
from recondition.errors import Refused
from recondition.reports.thumbnails import thumbnail
from recondition.web import taking_back
from recondition.web.entry import done, refused_page
from recondition.web.forms import sent
from recondition.web.linked import vehicle_at
from recondition.web.permits import TAKEN_BACK, may_see, may_see_document
from recondition.web.record_view import NothingThere, Seen, heading_of, moment_text, view_of
from recondition.web.rows import address_of
from recondition.web.visit import NotForThisRole, needs, the_book, visit

if TYPE_CHECKING:
    from flask.typing import ResponseReturnValue

    from recondition.book.one_record import KeptFile

pages = Blueprint("records", __name__)

# Nothing in a kept file runs, and it reaches nothing (Content Security Policy Level 3, sandbox).
FILE_POLICY = "default-src 'none'; style-src 'unsafe-inline'; img-src 'self' data:; sandbox"
_ENDINGS = {"image/jpeg": "jpg", "image/png": "png", "application/pdf": "pdf", "text/plain": "txt"}


def _seen(kind: str, ref: str) -> Seen:
    """Read a record for whoever is asking. Raises NothingThere."""
    with the_book().reading() as conn:
        return view_of(conn, kind, ref, visit().rights)


def _page(seen: Seen, refused: Refused | None = None) -> str:
    """Write the page of a record."""
    papers = {each.ref for each in seen.names if each.kind == "document"}

    def opens(kind: str, ref: str) -> bool:
        """Tell whether what a field names may be seen by whoever is asking."""
        return ref in papers if kind == "document" else kind == LINE or may_see(kind, rights)

    rights = visit().rights
    return render_template(
        "web/record.html.j2", seen=seen, stored=seen.stored, refused=refused, opens=opens,
        address_of=address_of, heading_of=heading_of, vehicle_at=vehicle_at,
        moment_text=moment_text,
        given={f: sent(f, "") for f in ("why", "day", "period", "words")},
    )  # fmt: skip


@pages.get("/records/<kind>/<path:ref>")
@needs()
def one(kind: str, ref: str) -> ResponseReturnValue:
    """Show a record by its kind (``line`` for any line item) and ref."""
    return _page(_seen(kind, ref))


@pages.post("/records/<kind>/<path:ref>/take-back")
@needs()
def take_back(kind: str, ref: str) -> ResponseReturnValue:
    """Post the negative of a record with its reason."""
    seen = _seen(kind, ref)
    stored = seen.stored
    try:
        if seen.undo.way is not taking_back.Way.REVERSAL:
            raise taking_back.NotTakenBack(stored.kind, stored.ref, seen.undo.words)
        if not seen.undo.allowed:
            raise NotForThisRole(*TAKEN_BACK[stored.kind][:1])
        made = taking_back.take_back(
            the_book(), stored.kind, stored.ref, sent("why", ""), author_ref=visit().person,
            day=sent("day", "") or None, period=sent("period", "") or None,
            words=sent("words", "") or None,
        )  # fmt: skip
    except Refused as refused:
        return refused_page(refused, _page(seen, refused))
    kind_made = taking_back.reversal_kind(stored.kind)
    said = [f"{stored.kind} {stored.ref}: taken back by {kind_made} {made}"]
    return done(said, url_for("records.one", kind=address_of(kind_made), ref=made))


def _file(sha256: str) -> KeptFile:
    """Give a kept file that whoever is asking may see. Raises NothingThere."""
    with the_book().reading() as conn:
        kept, documents = one_record.documents_of(conn, sha256)
    rights = visit().rights
    allowed = any(may_see_document(each.entry, rights) for each in documents)
    if kept is None or not allowed or not kept.path.exists():
        raise NothingThere(kind="file", ref=sha256[:12])
    return kept


@pages.get("/files/<sha256>")
@needs()
def file(sha256: str) -> ResponseReturnValue:
    """Hand a kept file out as what its content is; a PDF is saved, nothing in it runs."""
    kept = _file(sha256)
    inline = kept.media_type.startswith(("image/", "text/"))
    name = f"{sha256[:12]}.{_ENDINGS.get(kept.media_type, 'bin')}"
    answer = send_file(
        kept.path.absolute(), mimetype=kept.media_type, as_attachment=not inline,
        download_name=name, etag=sha256, max_age=None,
    )  # fmt: skip
    if kept.media_type == "text/plain":
        answer.headers["Content-Type"] = "text/plain; charset=utf-8"
    return _shut(answer)


@pages.get("/files/<sha256>/small")
@needs()
def small(sha256: str) -> ResponseReturnValue:
    """Hand out a small upright copy of a picture, without what its camera wrote into it."""
    kept = _file(sha256)
    made = thumbnail(kept.path) if kept.media_type.startswith("image/") else None
    if made is None:
        raise NothingThere(kind="picture", ref=sha256[:12])
    answer = current_app.response_class(made, mimetype="image/jpeg")
    answer.set_etag(f"{sha256}-small")
    return _shut(answer)


def _shut(answer: Response) -> Response:
    """Keep what is in a file from doing anything; the browser asks each time whether it may."""
    answer.headers["Content-Security-Policy"] = FILE_POLICY
    answer.headers["Cache-Control"] = "private, no-cache"
    return answer
