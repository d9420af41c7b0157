"""Nothing is entered from another site's page, nor by a form that this session did not get.

Common practice (OWASP, Cross-Site Request Forgery Prevention): the browser's own word on where a
request comes from, and a mark in each form that only this session's pages have.
"""

from __future__ import annotations

import hmac
import secrets
from urllib.parse import urlsplit

from flask import Response, g, request

from recondition.errors import Refused
from recondition.web.visit import SCRIPTED, visit

_SAFE = ("GET", "HEAD", "OPTIONS")
HEADER = "X-CSRF"
FIELD = "csrf"
BEFORE_COOKIE = "recondition-form"


class FromElsewhere(Refused):
    """A request that another site's page sent."""

    exit_status = 2

    def __init__(self) -> None:
        """Say that nothing was done."""
        super().__init__(
            "this was not sent from a page of this book, so nothing was done",
            todo="Open the page here and send it again.",
        )


class FormTooOld(Refused):
    """A form whose mark is not that of the session: it is old, or a copy."""

    exit_status = 2

    def __init__(self) -> None:
        """Say what to do."""
        super().__init__(
            "this form is older than your session, so nothing was done",
            todo="Load the page anew; what you typed has to be typed again.",
        )


class NoTextAtAll(Refused):
    """A request that holds the sign U+0000, which no book can keep and no name has."""

    exit_status = 2

    def __init__(self) -> None:
        """Say what is wrong."""
        super().__init__(
            "the address or the form holds a sign that is no text (U+0000)",
            todo="Type it anew, without that sign.",
        )


def hold_texts() -> None:
    """Hold that nothing of a request holds U+0000: a database would break off. Raises NoTextAtAll.

    JSON and files are looked through where they are read.
    """
    pairs = list(request.args.items(multi=True))
    if request.method not in _SAFE and request.mimetype != "application/json":
        pairs += request.form.items(multi=True)
    if "\0" in request.path or any("\0" in text for pair in pairs for text in pair):
        raise NoTextAtAll


def hold_same_origin() -> None:
    """Hold that a request which changes something comes from here. Raises as above.

    A script that signs each request with its token carries nothing by itself, and needs no mark.
    """
    if request.method in _SAFE or g.get("bearer") or _nobody_calls():
        return
    site = request.headers.get("Sec-Fetch-Site")
    if site not in (None, "same-origin", "none"):
        raise FromElsewhere
    origin = request.headers.get("Origin")
    if origin not in (None, "null") and _host_of(origin) != request.host:
        raise FromElsewhere
    sent = request.headers.get(HEADER) or request.form.get(FIELD, "")
    if not hmac.compare_digest(sent.encode(), expected().encode()):
        raise FormTooOld


def _host_of(origin: str) -> str | None:
    """Give the host and port that an origin names, None where it is none."""
    try:
        return urlsplit(origin).netloc
    except ValueError:
        return None


def _nobody_calls() -> bool:
    """Tell whether a script calls without any session: nothing is done but to begin one.

    For that it sends JSON and gets no cookie. Another site's page cannot: the browser would have
    to ask first (Fetch, CORS).
    """
    return visit().session is None and request.path.startswith(SCRIPTED)


def expected() -> str:
    """Give the mark that a form of this visit has to carry."""
    session = visit().session
    return session.csrf if session else request.cookies.get(BEFORE_COOKIE, "") or _new_mark()


def _new_mark() -> str:
    """Make the mark of a visitor who is not signed in; see ``remember``."""
    if "mark" not in g:
        g.mark = secrets.token_urlsafe(32)
    return str(g.mark)


def remember(answer: Response) -> Response:
    """Let the browser keep the mark of a visitor who is not signed in."""
    if "mark" in g and request.method in _SAFE:
        answer.set_cookie(
            BEFORE_COOKIE, g.mark, httponly=True, secure=request.is_secure, samesite="Strict"
        )
    return answer
