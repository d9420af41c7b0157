"""What an entry answers: to a form the next page with what was said, to a script JSON."""

from __future__ import annotations

import re
from collections import OrderedDict
from threading import Lock
from typing import TYPE_CHECKING

from flask import current_app, jsonify, redirect, request

from recondition.book.kinds import KINDS
from recondition.reports.cells import visible
from recondition.web.opened import Links
from recondition.web.permits import may_see
from recondition.web.told import lines_told
from recondition.web.visit import SCRIPTED, visit

if TYPE_CHECKING:
    from collections.abc import Iterable

    from flask.typing import ResponseReturnValue
    from markupsafe import Markup

    from recondition.errors import Refused

SAID = "recondition-said"
# A device gets pages ahead of being opened with this header.
AHEAD = "X-Ahead"
_RECORD = re.compile(rf"(?P<kind>{'|'.join(KINDS)}) (?P<ref>[A-Z]{{1,4}}-\d{{1,9}}): ")
_SESSIONS_MAX, _LINES_MAX = 1000, 50


class Said:
    """What was said to each session and is not shown yet; the oldest of both are forgotten."""

    def __init__(self) -> None:
        """Begin with nothing said."""
        self._lines: OrderedDict[str, list[str]] = OrderedDict()
        self._lock = Lock()

    def say(self, session: str, lines: Iterable[str]) -> None:
        """Keep lines for the next page of a session."""
        with self._lock:
            held = self._lines.setdefault(session, [])
            held.extend(lines)
            del held[:-_LINES_MAX]
            if len(self._lines) > _SESSIONS_MAX:
                self._lines.popitem(last=False)

    def take(self, session: str) -> list[str]:
        """Give what was said to a session, once."""
        with self._lock:
            return self._lines.pop(session, [])


def scripted() -> bool:
    """Tell whether a script asks, which wants JSON."""
    if request.path.startswith(SCRIPTED):
        return True
    accepts = request.accept_mimetypes
    return accepts["application/json"] > accepts["text/html"]


def done(lines: Iterable[str], to: str) -> ResponseReturnValue:
    """Answer an entry that was kept: say ``lines``, and go on to the page ``to``."""
    said = lines_told(lines)
    if scripted():
        return jsonify({"said": said, "to": to})
    keeper: Said = current_app.extensions[SAID]
    keeper.say(visit().signed_in.token_hash, said)
    return redirect(to, 303)


def said_now() -> list[Markup]:
    """Give what was said to this session since its last page, for nobody sees one got ahead.

    A line that begins with a record leads to its page.
    """
    session = None if AHEAD in request.headers else visit().session
    keeper: Said = current_app.extensions[SAID]
    return [_leading(line) for line in keeper.take(session.token_hash)] if session else []


def _leading(line: str) -> Markup:
    """Let the record that a line begins with lead to its page, for whoever may see it."""
    record = _RECORD.match(line)
    seen = record is not None and may_see(record["kind"], visit().rights)
    links = Links({record["ref"]: record["kind"]} if record and seen else {})
    return links.text(visible(line))


def refused_page(refused: Refused, page: str) -> ResponseReturnValue:
    """Answer a form whose entry was refused: the same form again; to a script the refusal."""
    if scripted():
        raise refused
    from recondition.web.app import status_of  # noqa: PLC0415 - the application imports this

    return page, status_of(refused)
