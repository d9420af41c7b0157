"""Runs the command line as a person does, without starting a process each time."""

from __future__ import annotations

import io
import os
import shlex
import sys
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import dataclass
from typing import TYPE_CHECKING
from unittest.mock import patch

from recondition.cli import main
from tests.places import beside, files_of, key_of, named, on_server, place

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    import pytest


@dataclass(frozen=True, slots=True)
class Ran:
    """What a run gave: exit status, what it printed, what it complained of."""

    status: int
    out: str
    err: str


class Keyboard(io.StringIO):
    """Somebody at a terminal, who types what it was made with."""

    def isatty(self) -> bool:
        """Say that somebody can answer."""
        return True


def told(do: Callable[[], None], stdin: io.StringIO | None = None) -> Ran:
    """Run something that may end in ``sys.exit``, and catch what it prints."""
    out, err, status = io.StringIO(), io.StringIO(), 0
    with redirect_stdout(out), redirect_stderr(err), patch("sys.stdin", stdin or io.StringIO()):
        try:
            do()
        except SystemExit as exit_:
            status = exit_.code if isinstance(exit_.code, int) else int(exit_.code is not None)
    return Ran(status, named(out.getvalue()), named(err.getvalue()))


def run(line: str, answer: str | None = None) -> Ran:
    """Run a line such as ``recondition vehicle list`` through the one door, ``main``.

    With an ``answer`` somebody sits at the terminal and types it.
    """
    words = shlex.split(line)
    assert words[0] == "recondition", line
    book = os.environ.get("RECONDITION_BOOK", "recondition.book")
    if "--book" in words:
        at = words.index("--book") + 1
        book = words[at]
        words[at] = place(book)
    with patch.object(sys, "argv", words), patch.dict(os.environ, beside(book)):
        return told(main, None if answer is None else Keyboard(answer))


def done(line: str) -> str:
    """Run a line that must succeed, and give what it printed."""
    ran = run(line)
    assert ran.status == 0, f"{line}\n{ran.out}{ran.err}"
    return ran.out


def demo_line(book: str, more: str = "") -> str:
    """Write the line that runs the demo into the folder ``made``, with its book on the server."""
    named_too = f" --book {book}" if on_server() else ""
    return f"recondition demo --into made{more}{named_too}"


def stand_in(folder: Path, patched: pytest.MonkeyPatch, book: str = "shop.book") -> None:
    """Work in a folder, with a book in it, as MR."""
    patched.chdir(folder)
    patched.setenv("RECONDITION_BOOK", place(book))
    patched.setenv("RECONDITION_PERSON", "MR")
    if on_server() and "://" not in book:
        patched.setenv("RECONDITION_FILES", files_of(book))
        patched.setenv("RECONDITION_KEY", key_of(book))
    assert not os.environ.get("RECONDITION_TRACEBACK")
