"""Reads and plays a case: the lines that bring a refusal about, and what is then said.

A line ``recondition ...`` is a command. ``write FILE`` with indented lines under it makes a
file. ``>>> ...`` is Python, for what no command reaches or no text file can hold; it has
``Path``, ``opened`` to open a book, and ``patched`` to set an attribute for the length of the
case. ``page ROLE METHOD /path [field=value ...]`` asks a page as a login of that role, or as
``nobody``; what is refused to a script is told. ``#`` explains. All but the last step must
succeed. Below ``---`` stand exit status and stderr.
"""

from __future__ import annotations

import os
import shlex
import sys
from contextlib import closing
from dataclasses import dataclass
from http.client import BAD_REQUEST
from pathlib import Path
from textwrap import dedent
from typing import TYPE_CHECKING, Any

from recondition.cli import tell
from recondition.errors import Refused
from tests.places import opened
from tests.running import Ran, run, told

if TYPE_CHECKING:
    import pytest

CASES = Path(__file__).parent / "cases"
RULE = "---\n"


@dataclass(frozen=True, slots=True)
class Step:
    """One thing to do: a command, a file to write, or Python."""

    what: str
    body: str = ""


def read(text: str) -> tuple[str, list[Step], str]:
    """Split a case into its script as text, the steps in it, and the kept answer."""
    script, _, kept = text.partition(RULE)
    steps: list[Step] = []
    for line in script.splitlines():
        if line.startswith("    "):
            steps[-1] = Step(steps[-1].what, f"{steps[-1].body}{line}\n")
        elif line.strip() and not line.startswith("#"):
            steps.append(Step(line))
    return script, steps, kept


def play(steps: list[Step], patched: pytest.MonkeyPatch) -> Ran:
    """Do the steps in this folder; give how the last one ended."""
    names: dict[str, Any] = {"Path": Path, "opened": opened, "patched": patched}
    ran = Ran(0, "", "")
    for step in steps:
        assert ran.status == 0, f"an earlier step failed: {ran.err}"
        ran = _do(step, names)
    return ran


def _do(step: Step, names: dict[str, Any]) -> Ran:
    if step.what.startswith("write "):
        path = Path(step.what.removeprefix("write "))
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(dedent(step.body), encoding="utf-8")
        return Ran(0, "", "")
    if step.what.startswith("page "):
        return told(lambda: _page(*shlex.split(step.what)[1:]))
    if step.what.startswith(">>> "):
        return told(lambda: _python(step.what.removeprefix(">>> "), names))
    return run(step.what)


def _python(line: str, names: dict[str, Any]) -> None:
    """Run a line of Python; a refusal is told as the command line tells it."""
    try:
        exec(line, names)  # noqa: S102 - the line stands in a case of this folder
    except Exception as error:  # noqa: BLE001 - as the command line does
        sys.exit(tell(error))


def _page(role: str, method: str, path: str, *fields: str) -> None:
    """Ask a page of the book here; what it refuses is told as the command line tells it."""
    from tests.web.visitors import app_of, mark_of, signed_in  # noqa: PLC0415 - an extra, few cases

    with closing(opened(os.environ["RECONDITION_BOOK"])) as book:
        client = app_of(book).test_client() if role == "nobody" else signed_in(book, role)
        data = dict(field.split("=", 1) for field in fields)
        if method != "GET":
            data = {"csrf": mark_of(client)} | data
        asked = {"data": data} if method != "GET" else {"query_string": data}
        headers = {"Accept": "application/json"}
        answer = client.open(path, method=method, headers=headers, **asked)
    if answer.status_code >= BAD_REQUEST:
        said = answer.get_json()
        sys.exit(tell(Refused(said["what"], where=said["where"], todo=said["todo"])))
