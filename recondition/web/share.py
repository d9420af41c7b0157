"""A seller's link: the released work history of one vehicle, and nothing else, to whoever has it.

No login and no navigation; never a trial copy. A link that is unknown, has ended or was withdrawn,
and one whose edition may no longer be shown, all give the same answer.
"""

from __future__ import annotations

from collections import OrderedDict, deque
from datetime import timedelta
from threading import Lock
from typing import TYPE_CHECKING

from flask import Blueprint, Response, current_app, jsonify, render_template, request, url_for

from recondition.book import share_links
from recondition.book.roles import Right
from recondition.errors import Refused
from recondition.history.folder import HTML
from recondition.web.entry import done, scripted
from recondition.web.forms import sent
from recondition.web.histories import again, back_to, framed, shelf, today
from recondition.web.released import KINDS, WORDS, file_of, shown_to_buyer
from recondition.web.releasing import handed_out
from recondition.web.visit import needs, the_book, visit

if TYPE_CHECKING:
    from datetime import datetime

    from flask.typing import ResponseReturnValue

    from recondition.web.released import Out

pages = Blueprint("share", __name__)

MISSES_MAX = 20
WINDOW = timedelta(minutes=15)
ADDRESSES_MAX = 10_000
SHOWN_MAX, _DIGITS_MAX = 20, 9
_MISSES = "recondition-misses"


class NoSuchDays(Refused):
    """How long a link holds, written as something else than days."""

    exit_status = 2

    def __init__(self, typed: str) -> None:
        """Show it."""
        super().__init__(
            f"{typed!r} is no number of days",
            todo="Give a whole number of days, or leave it empty for a link that holds until "
            "withdrawn.",
        )


class NothingToShow(Refused):
    """A link to an edition that no buyer may see, or to a vehicle without any."""

    def __init__(self, stock: str, number: str) -> None:
        """Name the vehicle, and the edition where one was named."""
        super().__init__(
            f"there is no edition {number} of vehicle {stock} that a buyer may see" if number
            else f"vehicle {stock} has no edition yet that a buyer may see",
            todo="Make a trial copy on the page of its work history, look at it, and release it "
            "there. Then make the link.",
        )  # fmt: skip


class Misses:
    """How often each address opened a link that is none, lately."""

    def __init__(self) -> None:
        """Begin with none."""
        self._lock = Lock()
        self._of: OrderedDict[str, deque[datetime]] = OrderedDict()

    def note(self, address: str, now: datetime) -> None:
        """Note one; the addresses that were noted longest ago are forgotten."""
        with self._lock:
            self._of.setdefault(address, deque(maxlen=MISSES_MAX)).append(now)
            self._of.move_to_end(address)
            if len(self._of) > ADDRESSES_MAX:
                self._of.popitem(last=False)

    def wait(self, address: str, now: datetime) -> int:
        """Say for how many seconds nothing is looked up for an address; 0 for not at all."""
        with self._lock:
            found = self._of.get(address, deque())
            if len(found) < MISSES_MAX:
                return 0
            left = (found[0] + WINDOW - now).total_seconds()
        return max(0, round(left))


def _is_number(typed: str) -> bool:
    """Tell whether what was typed is a whole number that is no longer than any that can be."""
    return typed.isdecimal() and len(typed) <= _DIGITS_MAX


def _misses() -> Misses:
    """Give what this server noted of links that are none."""
    found: Misses = current_app.extensions.setdefault(_MISSES, Misses())
    return found


@pages.after_request
def _to_itself(answer: Response) -> Response:
    """Keep what a link shows out of search engines, caches and the addresses of other pages."""
    if not request.path.startswith("/s/"):
        return answer
    answer.headers["X-Robots-Tag"] = "noindex, nofollow, noarchive"
    answer.headers["Referrer-Policy"] = "no-referrer"
    answer.headers["Cache-Control"] = "private, no-cache"
    return answer


def _shown(token: str) -> tuple[Out | None, int]:
    """Give what a link shows and, where it shows nothing, how many seconds are to be waited."""
    book, address = the_book(), visit().address
    wait = _misses().wait(address, book.now())
    if wait:
        return None, wait
    found = share_links.found(book, token)
    if found is None:
        _misses().note(address, book.now())
        return None, 0
    stock, number = found
    with book.reading() as conn:
        edition = shown_to_buyer(conn, stock, number, today())
    return (shelf().out(book, stock, edition) if edition else None), 0


def _nothing(wait: int) -> ResponseReturnValue:
    """Say the same of every link that shows nothing."""
    page = render_template("web/share_nothing.html.j2")
    return (page, 429, {"Retry-After": str(wait)}) if wait else (page, 404)


@pages.get("/s/<token>")
def opened(token: str) -> ResponseReturnValue:
    """Show the released work history of a link, with what can be downloaded of it."""
    out, wait = _shown(token)
    if out is None:
        return _nothing(wait)
    return render_template("web/share.html.j2", out=out, token=token, words=WORDS)


@pages.get("/s/<token>/sheet")
def sheet(token: str) -> ResponseReturnValue:
    """Give the page of the work history itself."""
    out, wait = _shown(token)
    if out is None:
        return _nothing(wait)
    return framed(out.files[HTML], "allow-scripts allow-popups allow-downloads")


@pages.get("/s/<token>/<name>")
def download(token: str, name: str) -> ResponseReturnValue:
    """Hand out one file of the work history."""
    out, wait = _shown(token)
    content = file_of(out, name) if out is not None and name in KINDS else None
    return _nothing(wait) if content is None else handed_out(content, name, name)


@pages.post("/histories/<path:stock>/links")
@needs(Right.RELEASE)
def make(stock: str) -> ResponseReturnValue:
    """Make a link, and show its address this once."""
    days, number = sent("days", "").strip(), sent("number", "").strip()
    try:
        if days and not _is_number(days):
            raise NoSuchDays(days[:SHOWN_MAX])
        wanted = int(number) if _is_number(number) else None
        with the_book().reading() as conn:
            named = wanted is not None or not number
            if not named or shown_to_buyer(conn, stock, wanted, today()) is None:
                raise NothingToShow(stock, number[:SHOWN_MAX])
        token = share_links.make(
            the_book(), stock, number=wanted, by=visit().by,
            days=int(days) if days else None,
        )  # fmt: skip
    except Refused as refused:
        return again(stock, refused)
    address = url_for("share.opened", token=token, _external=True)
    if scripted():
        return jsonify({"said": [], "to": back_to(stock, "links"), "link": address})
    return render_template(
        "web/share_made.html.j2", stock=stock, address=address, days=days, number=number
    )


@pages.post("/histories/<path:stock>/links/<link>/withdraw")
@needs(Right.RELEASE)
def withdraw(stock: str, link: str) -> ResponseReturnValue:
    """Let a link show nothing any more."""
    share_links.withdraw(the_book(), link, visit().by)
    return done(["The link is withdrawn. It shows nothing any more."], back_to(stock, "links"))
