"""The pages of the book of a case, as logins of any role ask them."""

from __future__ import annotations

import os
import re
import sys
from contextlib import ExitStack, contextmanager
from http.client import BAD_REQUEST
from pathlib import Path
from typing import TYPE_CHECKING, Any

from recondition.cli import tell
from recondition.errors import Refused
from tests.places import opened

if TYPE_CHECKING:
    from collections.abc import Iterator

    from flask.testing import FlaskClient

    from recondition.book.engine import Book

_HEADER = re.compile(r"([A-Z][A-Za-z-]+): (.*)")
_LAST = "{last}"


class Pages:
    """The pages of one case: made when the first is asked, each role signed in once.

    ``last`` is the end of the address that the last answer led to.
    """

    def __init__(self) -> None:
        """Open nothing yet."""
        self.last = ""
        self._book: Book | None = None
        self._clients: dict[str, FlaskClient] = {}

    def ask(self, role: str, method: str, path: str, *given: str) -> None:
        """Ask a page; what it refuses is told as the command line tells it."""
        headers, fields, body = {"Accept": "application/json"}, [], b""
        client = self._client(role)
        for each in given:
            if header := _HEADER.fullmatch(each):
                headers[header[1]] = header[2]
            elif each.startswith("@"):
                body = Path(each[1:]).read_bytes()
            else:
                fields.append(each.split("=", 1))
        with ExitStack() as files:
            asked = _asked(method, fields, body, files)
            if method != "GET":
                _mark(client, asked, headers)
            path = path.replace(_LAST, self.last)
            answer = client.open(path, method=method, headers=headers, **asked)
        said = answer.get_json(silent=True) or {}
        if answer.status_code >= BAD_REQUEST:
            sys.exit(tell(Refused(said["what"], where=said["where"], todo=said["todo"])))
        self.last = said.get("to", "").rpartition("/")[2]

    def _client(self, role: str) -> FlaskClient:
        """Give the visitor of a role, or of ``nobody``."""
        from tests.web.visitors import app_of, signed_in  # noqa: PLC0415 - an extra, some cases

        if self._book is None:
            self._book = opened(os.environ["RECONDITION_BOOK"], keep=True)
        if role not in self._clients:
            nobody = role == "nobody"
            made = app_of(self._book).test_client() if nobody else signed_in(self._book, role)
            self._clients[role] = made
        return self._clients[role]

    def close(self) -> None:
        """End what was begun, and let go of the book."""
        if self._book is None:
            return
        from recondition.web.answers import ANSWERS  # noqa: PLC0415 - an extra, some cases
        from recondition.web.jobs import JOBS  # noqa: PLC0415 - as above
        from tests.web.visitors import app_of  # noqa: PLC0415 - as above

        app = app_of(self._book)
        app.extensions[JOBS].close()
        app.extensions[ANSWERS].close()
        self._book.close()


def _asked(method: str, fields: list[list[str]], body: bytes, files: ExitStack) -> dict[str, Any]:
    """Give what goes with a request: its query, its JSON, or its form with files."""
    from werkzeug.datastructures import MultiDict  # noqa: PLC0415 - an extra, some cases

    if body:
        return {"data": body, "content_type": "application/json"}
    if method == "GET":
        return {"query_string": MultiDict(fields)}
    data: MultiDict[str, Any] = MultiDict()
    for name, value in fields:
        if value.startswith("@"):
            file = Path(value[1:]).open("rb")  # noqa: SIM115 - the stack closes it
            data.add(name, files.enter_context(file))
        else:
            data.add(name, value)
    return {"data": data}


def _mark(client: FlaskClient, asked: dict[str, Any], headers: dict[str, str]) -> None:
    """Put the mark of the session on what is sent, where the case gives none."""
    from tests.web.visitors import mark_of  # noqa: PLC0415 - an extra, some cases

    if isinstance(asked["data"], bytes):
        headers.setdefault("X-CSRF", mark_of(client))
    else:
        asked["data"].setdefault("csrf", mark_of(client))


@contextmanager
def pages_here() -> Iterator[Pages]:
    """Give the pages of the book here for the length of a case."""
    pages = Pages()
    try:
        yield pages
    finally:
        pages.close()
