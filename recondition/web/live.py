"""News of a car, a product or the shop, for pages that are open: who entered what since.

A page says what it shows by a subject and a count of records; a script asks whether there are
more by now, and takes the parts of the page that changed from a fresh one.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from flask import Blueprint, Response, jsonify, request

from recondition.book import news
from recondition.book.context import NotThere
from recondition.book.roles import Right
from recondition.web.permits import may_see
from recondition.web.record_view import documents_seen
from recondition.web.visit import needs, the_book, visit

if TYPE_CHECKING:
    from flask.typing import ResponseReturnValue

    from recondition.book import Connection

pages = Blueprint("live", __name__)

STOCK = news.STOCK
SAID_MAX = 5
_DIGITS_MAX = 15
_OPEN = (Right.BENCH, Right.MONEY, Right.BOOKS, Right.DECIDE)


def count_of(conn: Connection, name: str) -> int:
    """Count the records that a page about ``name`` shows, for its ``data-count``.

    ``name`` as in ``news.subject_of``. It has to be read on the same connection as what the page
    shows. Raises NotThere.
    """
    return news.length_of(conn, news.subject_of(conn, name))


@pages.get("/live")
@needs(*_OPEN)
def look() -> ResponseReturnValue:
    """Say whether there is anything new, and what; 204 where there is not.

    ``subject`` is a name as in ``news.subject_of``, ``since`` the count that is known.
    """
    name, since = request.args.get("subject", ""), request.args.get("since", "")
    known = int(since) if since.isdecimal() and len(since) <= _DIGITS_MAX else 0
    with the_book().reading() as conn:
        try:
            subject = news.subject_of(conn, name)
        except NotThere:
            return Response(status=204)
        count = news.length_of(conn, subject)
        if count == known:
            return Response(status=204)
        said = _said(conn, subject, known) if count > known else []
    return jsonify({"count": count, "said": said})


def _said(conn: Connection, subject: str, known: int) -> list[str]:
    """Say who entered what since a count was known, the newest few that may be seen."""
    rights = frozenset(visit().rights)
    newest = [each for each in news.since(conn, subject, known, SAID_MAX)
              if may_see(each.kind, rights)]  # fmt: skip
    papers = documents_seen(conn, {n.ref for n in newest if n.kind == "document"}, rights)
    lines = [
        f"{each.author} {'entered' if each.version == 1 else 'changed'} {each.kind} {each.ref}"
        for each in newest
        if each.kind != "document" or each.ref in papers
    ]
    return list(dict.fromkeys(lines))
