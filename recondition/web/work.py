"""The process that long work is done in, started by ``running``.

    python -P -m recondition.web.work  <- one line of JSON: what to do
    -> one line of JSON for each thing told; the last says how it ended

Its input stays open as long as the server lives. At its end the process stops at once, so that
nothing goes on working for a server that is gone, however that went.
"""

from __future__ import annotations

import json
import os
import sys
from contextlib import suppress
from dataclasses import replace
from importlib import import_module
from pathlib import Path
from threading import Thread
from time import monotonic
from traceback import print_exc
from typing import TYPE_CHECKING, Any, TextIO

from recondition.book.engine import open_book
from recondition.errors import Refused
from recondition.web.long_work import KINDS, Outcome, Task
from recondition.web.told import mistake_words

if TYPE_CHECKING:
    from collections.abc import Mapping

_EVERY_SECONDS = 0.2
_LATER = 5  # how much the pages go before this process (nice)


def main() -> None:
    """Do the one piece of work that is asked for, and say how it went."""
    asked = json.loads(sys.stdin.readline())
    out = _own_output()
    Thread(target=_end_with_server, daemon=True).start()
    with suppress(AttributeError, OSError):
        os.nice(_LATER)
    _say(out, _done(asked, out))


def _own_output() -> TextIO:
    """Keep the output for what is told; whatever else is printed goes to the complaints."""
    kept = os.dup(1)
    os.dup2(2, 1)
    return os.fdopen(kept, "w", encoding="utf-8")


def _end_with_server() -> None:
    """Stop at once when the server lets go of this process's input."""
    sys.stdin.read()
    os._exit(1)


def _say(out: TextIO, what: Mapping[str, Any]) -> None:
    """Write one line."""
    out.write(json.dumps(what) + "\n")
    out.flush()


class _Told:
    """Passes on what is told, a few times a second at most."""

    def __init__(self, out: TextIO) -> None:
        """Write to an output."""
        self._out, self._last, self._words = out, 0.0, ""

    def __call__(self, words: str, done: int, total: int | None) -> None:
        """Pass on what is being done where it is new, or time has passed."""
        now = monotonic()
        if words != self._words or now - self._last > _EVERY_SECONDS:
            self._words, self._last = words, now
            _say(self._out, {"told": [words, done, total]})


def _done(asked: Mapping[str, Any], out: TextIO) -> dict[str, Any]:
    """Do the work; give its outcome or its refusal."""
    try:
        work = getattr(import_module("recondition.web.works"), KINDS[asked["kind"]].work)
        book = replace(open_book(asked["location"]), files=Path(asked["files"]))
        try:
            task = Task(
                book=book, arguments=asked["arguments"], folder=Path(asked["folder"]),
                told=_Told(out),
            )  # fmt: skip
            outcome: Outcome = work(task)
        finally:
            book.close()
    except Refused as refused:
        return {"refused": _refusal(refused)}
    except Exception as error:  # noqa: BLE001 - what went wrong is said on the page
        print_exc()  # to the complaints of the server
        what, todo = mistake_words(error)
        return {"refused": {"what": what, "where": "", "todo": todo, "more": []}}
    return {"done": outcome.plain()}


def _refusal(refused: Refused) -> dict[str, Any]:
    """Write a refusal, of a file with every problem in it."""
    problems = getattr(refused, "problems", None)
    more = [] if problems is None else problems.words()
    where = "" if more else refused.where
    return {"what": refused.what, "where": where, "todo": refused.todo, "more": more}


if __name__ == "__main__":
    main()
