"""The application: blueprints, who is asking, headers, and refusals as pages or JSON."""

from __future__ import annotations

import secrets
from importlib import import_module
from typing import TYPE_CHECKING

from flask import Flask, Response, current_app, g, jsonify, render_template, request
from jinja2 import StrictUndefined
from werkzeug.exceptions import HTTPException, MethodNotAllowed

from recondition.book import sessions
from recondition.book.again import NotKnownWhetherKept
from recondition.book.context import NotThere
from recondition.book.errors import BookInUse, ServerSilent
from recondition.book.roles import Right
from recondition.book.sessions import WrongNameOrPassword
from recondition.book.throttling import TooManyTries
from recondition.errors import Refused
from recondition.intake.identity import UnknownRef
from recondition.reports.html import environment
from recondition.resources import resource
from recondition.web.entry import SAID, Said, said_now, scripted
from recondition.web.figures import strict
from recondition.web.options import Options
from recondition.web.origin import expected, hold_same_origin, hold_texts, remember
from recondition.web.permits import may_enter
from recondition.web.told import mistake_words, problems_of, tell_in_pages, told
from recondition.web.visit import (
    EXTENSION,
    OPTIONS,
    NotForThisRole,
    NotSignedIn,
    Visit,
    may,
    the_book,
    visit,
)
from recondition.web.wording import on_page

if TYPE_CHECKING:
    from flask.typing import ResponseReturnValue

    from recondition.book.engine import Book

BLUEPRINTS = (
    "signing_in", "home", "device", "jobs", "histories", "releasing", "hiding",
    "share", "logins_pages", "trail_page", "help",
    "bench", "bench_clock", "bench_use", "bench_shop", "bench_finding", "bench_film",
    "bench_labels",
    "enter", "records", "search", "api",
    "books", "journal", "periods", "downloads", "importing", "stock", "live",
    "vehicles", "ledger", "decision", "decided", "week",
)  # fmt: skip
BODY_BYTES_MAX = 64 * 1024 * 1024
COOKIE = "recondition"
SECURE_COOKIE = "__Host-recondition"

_HEADERS = {
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(self), microphone=(), geolocation=(), payment=()",
}
_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self' 'nonce-{}'; "
    "img-src 'self' data: blob:; connect-src 'self'; form-action 'self'; frame-src 'self'; "
    "manifest-src 'self'; worker-src 'self'; base-uri 'none'; frame-ancestors 'none'"
)


def make_app(book: Book, options: Options | None = None) -> Flask:
    """Make the application over an open book, which has to stay open as long."""
    app = Flask(
        "recondition.web",
        template_folder=str(resource("templates")),
        static_folder=str(resource("templates") / "web" / "static"),
        static_url_path="/static",
    )
    app.config["MAX_CONTENT_LENGTH"] = BODY_BYTES_MAX
    app.extensions[EXTENSION] = book
    app.extensions[OPTIONS] = options or Options()
    app.extensions[SAID] = Said()
    _prepare_templates(app)
    tell_in_pages(app)
    app.before_request(_look)
    app.before_request(hold_texts)
    app.before_request(hold_same_origin)
    app.after_request(_protect)
    app.after_request(remember)
    app.register_error_handler(Exception, _told)
    for name in BLUEPRINTS:
        app.register_blueprint(import_module(f"recondition.web.{name}").pages)
    return app


def _prepare_templates(app: Flask) -> None:
    """Give the templates what those of the reports have, and who is asking."""
    app.jinja_options = {
        "autoescape": True, "undefined": StrictUndefined, "keep_trailing_newline": True,
        "trim_blocks": True, "lstrip_blocks": True,
    }  # fmt: skip
    made = environment()
    app.jinja_env.filters.update(
        {name: made.filters[name] for name in ("visible", "headings", "shown_rows")}
    )
    app.jinja_env.filters["on_page"] = on_page
    app.jinja_env.filters["problems"] = problems_of
    app.jinja_env.filters["drawn"] = lambda figure: strict(figure, nonce())
    app.jinja_env.tests.update({name: made.tests[name] for name in ("photographs", "pictured")})
    app.jinja_env.globals.update(
        visit=visit,
        may=may,
        enters=enters,
        Right=Right,
        nonce=nonce,
        csrf=expected,
        said_now=said_now,
    )


def enters(sheet: str) -> bool:
    """Tell a page whether whoever asks may enter rows of a sheet."""
    return may_enter(sheet, visit().rights)


def nonce() -> str:
    """Give the one-time mark of this answer, under which its own style sheets are let through."""
    if "nonce" not in g:
        g.nonce = secrets.token_urlsafe(16)
    return str(g.nonce)


def cookie_name() -> str:
    """Name the cookie of a session: over TLS one that no other host and no plain page can set."""
    return SECURE_COOKIE if request.is_secure else COOKIE


def _look() -> None:
    """Find out who is asking, by the cookie of a page or by the token of a script."""
    address = request.remote_addr or ""
    if request.path.startswith("/static/"):
        g.visit = Visit(None, address)
        return
    scheme, _, bearer = request.headers.get("Authorization", "").partition(" ")
    g.bearer = bearer.strip() if scheme.lower() == "bearer" else ""
    token = g.bearer or request.cookies.get(cookie_name(), "")
    g.visit = Visit(sessions.visiting(the_book(), token) if token else None, address)


def _protect(answer: Response) -> Response:
    """Put the headers on that keep a page to itself."""
    for name, value in _HEADERS.items():
        answer.headers.setdefault(name, value)
    answer.headers.setdefault("Content-Security-Policy", _POLICY.format(nonce()))
    if request.path.startswith("/static/"):
        answer.headers["Cache-Control"] = "no-cache"
    else:
        answer.headers.setdefault("Cache-Control", "no-store")
    if request.is_secure:
        answer.headers.setdefault("Strict-Transport-Security", "max-age=31536000")
        answer.headers.setdefault("Cross-Origin-Opener-Policy", "same-origin")
    return answer


_STATUS: tuple[tuple[type[Refused], int], ...] = (
    (NotSignedIn, 401),
    (NotForThisRole, 403),
    (WrongNameOrPassword, 403),
    (TooManyTries, 429),
    (BookInUse, 503),
    (ServerSilent, 503),
    (NotKnownWhetherKept, 503),
)
_WRONG_CALL = 2


def status_of(error: Exception) -> int:
    """Say by a status of HTTP what kind of refusal it is."""
    if isinstance(error, HTTPException):
        return error.code or 500
    if not isinstance(error, Refused):
        return 500
    if isinstance(error, NotThere | UnknownRef) and request.method in ("GET", "HEAD"):
        return 404
    known = next((status for kind, status in _STATUS if isinstance(error, kind)), None)
    known = known or getattr(error, "http_status", None)
    return known or (400 if error.exit_status == _WRONG_CALL else 422)


def _told(error: Exception) -> ResponseReturnValue:
    """Say what was refused, where and what to do: as a page, or as JSON to a script."""
    status = status_of(error)
    what, where, todo = words_of(error)
    more = problems_of(error) if isinstance(error, Refused) else []
    if status == 500:  # noqa: PLR2004 - a mistake of ours
        import logging  # noqa: PLC0415 - only when something went wrong

        where_at = request.url_rule.rule if request.url_rule else ""  # an address may be a secret
        logging.getLogger("recondition.web").error("%s %s", where_at, what, exc_info=error)
    if scripted():
        answer = jsonify({"what": what, "where": where, "todo": todo, "more": more})
    else:
        missing = status == 404  # noqa: PLR2004 - not found
        page = render_template(
            "web/refused.html.j2", what=what, where=where, todo=todo, more=more, missing=missing
        )  # fmt: skip
        answer = current_app.make_response(page)
    if isinstance(error, MethodNotAllowed) and error.valid_methods:
        answer.headers["Allow"] = ", ".join(error.valid_methods)
    if status == 401:  # noqa: PLR2004 - as RFC 9110, 15.5.2 asks
        answer.headers["WWW-Authenticate"] = "Bearer"
    return answer, status


_HTTP_WORDS = {
    404: ("There is no such page.", "Look at the address, or begin at the first page."),
    405: ("This address does not take that kind of request.", "Begin at the first page."),
    413: ("That is more than is taken at once (64 MB).", "Send less, or a smaller photograph."),
}


def words_of(error: Exception) -> tuple[str, str, str]:
    """Give what, where and what to do of anything that went wrong."""
    if isinstance(error, Refused):
        told(error)
        return on_page(error.what), on_page(error.where), on_page(error.todo)
    if isinstance(error, HTTPException):
        plain = (error.description or error.name, "Begin at the first page.")
        what, todo = _HTTP_WORDS.get(error.code or 500, plain)
        return what, "", todo
    what, todo = mistake_words(error)
    return what, "", todo
