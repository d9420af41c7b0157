"""What a device keeps: its unsent entries, and the pages of the bench while nothing answers.

The device does the keeping (``templates/web/static/queue.js`` and the files beside it); from here
it gets its worker, and hears whose session it is, with which mark its entries are let in.
"""

from __future__ import annotations

import hashlib
import json
from functools import cache
from typing import TYPE_CHECKING

from flask import Blueprint, Response, jsonify, render_template, request

from recondition.resources import resource
from recondition.web.bench_sheets import KEPT
from recondition.web.origin import expected
from recondition.web.permits import sees_money
from recondition.web.rows import address_of
from recondition.web.visit import the_book, visit

if TYPE_CHECKING:
    from pathlib import Path

    from flask.typing import ResponseReturnValue

pages = Blueprint("device", __name__)

# Only these pages are kept on a device, and marked with the login that they were made for.
KEPT_PAGES = ("/bench", "/unsent")
# For whoever sees money these hold some, so that a device keeps them for the others alone.
KEPT_FORMS = frozenset({"/enter", *(f"/enter/{address_of(name)}" for name in KEPT)})
FOR = "X-For"
_OWN_FILES = (".css", ".js", ".svg")
_PAPER, _ACCENT = "#fbf9f4", "#0f4c5c"


def _static() -> Path:
    """Give the folder of the pages' own files."""
    return resource("templates") / "web" / "static"


@cache
def worker() -> str:
    """Write the worker, and above it the files it goes with; another file is another worker."""
    files = sorted(path for path in _static().iterdir() if path.suffix in _OWN_FILES)
    version = hashlib.sha256()
    for path in files:
        version.update(path.name.encode() + b"\0" + path.read_bytes() + b"\0")
    held = [f"/static/{path.name}" for path in files if path.name != "worker.js"]
    shell = json.dumps({"version": version.hexdigest()[:16], "files": held})
    return f"const SHELL = {shell};\n{(_static() / 'worker.js').read_text(encoding='utf-8')}"


@pages.get("/worker.js")
def worker_script() -> ResponseReturnValue:
    """Give the worker, which looks after all pages of this address."""
    answer = Response(worker(), mimetype="text/javascript")
    answer.headers["Service-Worker-Allowed"] = "/"
    answer.headers["Cache-Control"] = "no-cache"
    return answer


@pages.get("/manifest.webmanifest")
def manifest() -> ResponseReturnValue:
    """Say how a device puts the pages among its own programs."""
    made = {
        "name": "recondition", "short_name": "recondition", "start_url": "/bench", "scope": "/",
        "id": "/", "display": "standalone", "background_color": _PAPER, "theme_color": _ACCENT,
        "icons": [{"src": "/static/mark.svg", "sizes": "any", "type": "image/svg+xml"}],
    }  # fmt: skip
    return Response(json.dumps(made), mimetype="application/manifest+json")


@pages.get("/device/mark")
def mark() -> ResponseReturnValue:
    """Say whose session this is, the mark that its entries carry, and what time it is here."""
    now = the_book().now().isoformat(timespec="milliseconds")
    session = visit().session
    if session is None:
        return jsonify({"login": None, "now": now})
    login = session.login
    return jsonify({"login": login.id, "name": login.name, "csrf": expected(), "now": now})


@pages.get("/unsent")
def unsent() -> ResponseReturnValue:
    """Show the page on which the device lists what it keeps; it knows, the server does not."""
    return render_template("web/unsent.html.j2")


@pages.after_app_request
def mark_kept(answer: Response) -> Response:
    """Say on a page that a device may keep for whom it was made."""
    session = visit().session
    if session is not None and _is_kept(request.path):
        answer.headers[FOR] = session.login.id
    return answer


def _is_kept(path: str) -> bool:
    """Tell whether a device may keep a page for whoever is asking."""
    if f"{path}/".startswith(tuple(f"{page}/" for page in KEPT_PAGES)):
        return True
    return path in KEPT_FORMS and not sees_money(visit().rights)
