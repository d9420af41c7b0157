"""Reads and plays a case: the lines that bring a refusal about, and what is then said.

A line ``recondition ...`` is a command. ``write FILE`` with indented lines under it makes a
file. ``>>> ...`` is Python, for what no command reaches or no text file can hold; it has
``Path``, ``opened`` to open a book, and ``patched`` to set an attribute for the length of the
case. ``page ROLE METHOD /path [field=value ...]`` asks a page as a login of that role, or as
``nobody``; what is refused to a script is told. ``field=@FILE`` sends a file, ``@FILE`` alone
its text as JSON, ``"Name: value"`` a header; ``{last}`` in a path is the end of the address that
the page before led to. ``#`` explains. All but the last step must succeed. Below ``---`` stand
exit status and stderr.
"""

from __future__ import annotations

import shlex
import sys
from dataclasses import dataclass
from pathlib import Path
from textwrap import dedent
from typing import TYPE_CHECKING, Any

from recondition.cli import tell
from tests.errors.pages import Pages, pages_here
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
    with pages_here() as pages:
        for step in steps:
            assert ran.status == 0, f"an earlier step failed: {ran.err}"
            ran = _do(step, names, pages)
    return ran


def _do(step: Step, names: dict[str, Any], pages: Pages) -> Ran:
    if step.what.startswith("write "):
        path = Path(step.what.removeprefix("write "))
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(dedent(step.body), encoding="utf-8")
        return Ran(0, "", "")
    if step.what.startswith("page "):
        return told(lambda: pages.ask(*shlex.split(step.what)[1:]))
    if step.what.startswith(">>> "):
        return told(lambda: _python(step.what.removeprefix(">>> "), names))
    return run(step.what)


def _python(line: str, names: dict[str, Any]) -> None:
    """Run a line of Python; a refusal is told as the command line tells it."""
    try:
        exec(line, names)  # noqa: S102 - the line stands in a case of this folder
    except Exception as error:  # noqa: BLE001 - as the command line does
        sys.exit(tell(error))
