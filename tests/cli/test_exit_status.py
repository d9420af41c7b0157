"""What the process ends with, and that nobody ever sees a traceback."""

from __future__ import annotations

import os
import shlex
import subprocess
import sys
from typing import TYPE_CHECKING

import pytest
from sqlalchemy import text

from recondition.cli import tell
from tests.house.tree import ROOT
from tests.places import opened
from tests.running import run, told

if TYPE_CHECKING:
    from pathlib import Path

MAIN = "from recondition.cli import main; main()"


def _process(*words: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-c", MAIN, *words],
        capture_output=True, text=True, check=False, stdin=subprocess.DEVNULL,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    )  # fmt: skip


@pytest.mark.usefixtures("shop")
@pytest.mark.parametrize(
    ("words", "status"),
    [
        (("--help",), 0),
        (("--version",), 0),
        (("vehicle", "list"), 0),
        (("vehicle", "show", "0099"), 1),
        (("post", "labour", "0007", "soon", "polish"), 1),
        (("--book", "no.book", "vehicle", "list"), 2),
        (("vehicle", "paint"), 2),
        (("plan",), 2),
        (("vehicle", "list", "--colour"), 2),
        (("import", "job.xlsx", "--blank", "empty.xlsx"), 2),
        (("import", "--check", "--blank", "empty.xlsx"), 2),
        (("import", "--blank", "empty.csv"), 2),
        (("import", "--blank", "nowhere/empty.xlsx"), 1),
    ],
)
def test_the_exit_status_says_how_it_went(words: tuple[str, ...], status: int) -> None:
    ran = run(shlex.join(("recondition", *words)))
    assert ran.status == status, ran.err
    assert "Traceback" not in ran.err
    assert bool(ran.err) == (status != 0)


@pytest.mark.usefixtures("shop")
@pytest.mark.parametrize(
    ("words", "status"),
    [(("vehicle", "list"), 0), (("vehicle", "show", "0099"), 1), (("vehicle", "paint"), 2)],
)
def test_the_process_ends_with_it(words: tuple[str, ...], status: int) -> None:
    ran = _process(*words)
    assert ran.returncode == status, ran.stderr
    assert "Traceback" not in ran.stderr
    assert bool(ran.stderr) == (status != 0)


@pytest.mark.usefixtures("shop")
def test_damage_ends_with_three() -> None:
    with opened("shop.book").writing() as conn:
        on = "" if conn.dialect.name == "sqlite" else "on record"
        conn.execute(text(f"drop trigger posted_record_update {on}"))
    ran = _process("check")
    assert ran.returncode == 3
    assert "Damage: " in ran.stdout
    assert "Traceback" not in ran.stderr


@pytest.mark.usefixtures("shop")
def test_a_closed_pipe_is_no_traceback() -> None:
    ran = subprocess.run(
        ["bash", "-c", f"'{sys.executable}' -c '{MAIN}' post list | head -n 1 >/dev/null"],
        capture_output=True, text=True, check=False, env={**os.environ, "PYTHONPATH": str(ROOT)},
    )  # fmt: skip
    assert "Traceback" not in ran.stderr


def test_what_goes_wrong_inside_is_told_in_words(monkeypatch: pytest.MonkeyPatch) -> None:
    ran = told(lambda: sys.exit(tell(ValueError("odd"))))
    assert ran.status == 1
    assert ran.err.startswith("This went wrong inside recondition: ValueError: odd\n")
    monkeypatch.setenv("RECONDITION_TRACEBACK", "1")
    with pytest.raises(ValueError, match="odd"):
        tell(ValueError("odd"))


def test_a_book_stays_unmade_when_the_call_is_wrong(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    assert run("recondition --book new.book --as MR import none.xlsx").status == 2
    assert list(tmp_path.iterdir()) == []
