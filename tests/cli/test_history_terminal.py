"""A passphrase is asked for where somebody sits, and the bar is drawn there alone."""

from __future__ import annotations

import fcntl
import os
import pty
import subprocess
import sys
import termios
from select import select
from typing import TYPE_CHECKING

import pytest

from tests.cli.released import released
from tests.places import copied
from tests.running import run, stand_in

if TYPE_CHECKING:
    from pathlib import Path

MAIN = "import sys; sys.argv[0] = 'recondition'; from recondition.cli import main; main()"
SILENT_AT_MOST_S = 20
FRAME = "\u2501"  # the line of the bar
# The blank behind a question comes once nothing is shown of what is typed.
NEW, AGAIN = "New passphrase (empty for none): ", "Repeat for confirmation: "
ASKED = "Passphrase of the signing key: "


@pytest.fixture
def folder(
    tmp_path_factory: pytest.TempPathFactory, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> Path:
    """Stand in a copy of the folder with the book and, in ``out``, its first edition."""
    for name in ("RECONDITION_FILES", "RECONDITION_KEY", "RECONDITION_KEY_PASSPHRASE"):
        monkeypatch.delenv(name, raising=False)
    work = copied(released(tmp_path_factory), tmp_path / "work")
    stand_in(work, monkeypatch)
    return work


def at_a_terminal(line: str, *answers: tuple[str, str]) -> tuple[int, str]:
    """Run a line at a terminal and answer each question as it comes; give status and screen."""
    ours, theirs = pty.openpty()

    def own_terminal() -> None:
        fcntl.ioctl(theirs, termios.TIOCSCTTY, 0)

    command = [sys.executable, "-c", MAIN, *line.split()[1:]]
    running = subprocess.Popen(
        command, stdin=theirs, stdout=theirs, stderr=theirs, start_new_session=True,
        preexec_fn=own_terminal,  # noqa: PLW1509 - no thread of ours runs beside it
        env={**os.environ, "TERM": "xterm", "COLUMNS": "100"},
    )  # fmt: skip
    os.close(theirs)
    shown, left = "", list(answers)
    while select([ours], [], [], SILENT_AT_MOST_S)[0]:
        try:
            found = os.read(ours, 1 << 16)
        except OSError:
            break
        shown += found.decode(errors="replace")
        while left and left[0][0] in shown:
            os.write(ours, f"{left.pop(0)[1]}\n".encode())
    os.close(ours)
    return running.wait(SILENT_AT_MOST_S), shown


@pytest.mark.long
def test_a_passphrase_is_set_asked_for_and_taken_off(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    status, shown = at_a_terminal(
        "recondition history key --passphrase", (NEW, "stripe"), (AGAIN, "stripe")
    )
    assert status == 0, shown
    assert "The passphrase was set." in shown
    assert "stripe" not in shown
    assert b"ENCRYPTED" in (folder / "shop.book.key").read_bytes()
    ran = run("recondition history make 0007 --into out")
    assert (ran.status, ran.out) == (2, "")
    assert "needs its passphrase" in ran.err
    status, shown = at_a_terminal("recondition history make 0007 --into new", (ASKED, "stripe"))
    assert status == 0, shown
    assert "Edition 1. Short code" in shown
    assert shown.count(ASKED) == 1
    assert FRAME in shown
    assert FRAME not in shown[: shown.index(ASKED)], "the question comes before the bar"
    assert "searching what was made" in shown
    old, new = ((folder / name / "work-history.html").read_bytes() for name in ("out", "new"))
    assert old == new
    status, shown = at_a_terminal("recondition history key", (ASKED, "strip"))
    assert status == 2
    assert "the passphrase does not fit" in shown
    monkeypatch.setenv("RECONDITION_KEY_PASSPHRASE", "stripe")
    status, shown = at_a_terminal("recondition history key --passphrase", (NEW, ""), (AGAIN, ""))
    assert status == 0, shown
    assert "The passphrase was taken off." in shown
    assert b"ENCRYPTED" not in (folder / "shop.book.key").read_bytes()
