"""Long work shows how far it is, on a terminal and nowhere else."""

from __future__ import annotations

import os
import pty
import subprocess
import sys
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from tests.intake.sheetmaker import base, write_workbook
from tests.places import place

if TYPE_CHECKING:
    from collections.abc import Iterator

MAIN = "import sys; sys.argv[0] = 'recondition'; from recondition.cli import main; main()"


def _import(folder: Path, stderr: int) -> None:
    book = place(folder / "shop.book")
    command = [sys.executable, "-c", MAIN, "--book", book, "--as", "HK", "import"]
    workbook = str(write_workbook(folder / "job.xlsx", base()))
    subprocess.run([*command, workbook], cwd=folder, stderr=stderr, stdout=subprocess.PIPE,
                   env={**os.environ, "TERM": "xterm", "COLUMNS": "100"}, check=True)  # fmt: skip


def _rest(reader: int) -> Iterator[str]:
    """Give what waits on a terminal; it hands out a few thousand signs at a time."""
    with suppress(BlockingIOError):
        while True:
            yield os.read(reader, 1 << 20).decode(errors="replace")


def test_an_import_draws_its_progress_on_a_terminal(tmp_path: Path) -> None:
    reader, writer = pty.openpty()
    try:
        _import(tmp_path, writer)
        os.set_blocking(reader, False)
        shown = "".join(_rest(reader))
    finally:
        os.close(writer)
        os.close(reader)
    assert "\u2501" in shown  # the line of the bar
    assert "reading" in shown or "writing" in shown


def test_an_import_into_a_pipe_draws_nothing(tmp_path: Path, capfd: pytest.CaptureFixture) -> None:
    _import(tmp_path, 2)
    assert capfd.readouterr().err == ""
