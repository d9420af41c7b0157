"""The trail: who did what on the pages, on what and when; the newest first."""

from __future__ import annotations

from typing import TYPE_CHECKING

from flask import Blueprint, render_template, request

from recondition.book import trail
from recondition.book.roles import Right
from recondition.web.visit import needs, the_book

if TYPE_CHECKING:
    from flask.typing import ResponseReturnValue

pages = Blueprint("trail", __name__)

PAGE_ROWS = 100


@pages.get("/trail")
@needs(Right.MANAGE)
def every() -> ResponseReturnValue:
    """Show a page of the trail, and the way to what was before it."""
    before = request.args.get("before") or None
    with the_book().reading() as conn:
        found = trail.listed(conn, limit=PAGE_ROWS + 1, before=before)
    rows, more = found[:PAGE_ROWS], len(found) > PAGE_ROWS
    return render_template(
        "web/trail.html.j2", rows=rows, before=before, more=rows[-1].id if more else None,
        days=trail.ADDRESS_DAYS,
    )  # fmt: skip
