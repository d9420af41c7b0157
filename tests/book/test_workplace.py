"""The folder of a run's own: it goes with the run, and the next run takes a killed one's away."""

from __future__ import annotations

import multiprocessing
import os
import signal
from typing import TYPE_CHECKING

import pytest

from recondition.book.errors import BookExists
from recondition.book.workplace import appear, workplace

if TYPE_CHECKING:
    from multiprocessing.connection import Connection
    from pathlib import Path


def _works_until_killed(folder: Path, pipe: Connection) -> None:
    with workplace(folder, "backup") as work:
        (work / "plain").write_text("not for others")
        pipe.send(str(work))
        signal.pause()


@pytest.fixture
def at_work(tmp_path: Path) -> multiprocessing.Process:
    """Start a run in another process, which stays at work until it is killed."""
    here, there = multiprocessing.Pipe()
    process = multiprocessing.get_context("fork").Process(
        target=_works_until_killed, args=(tmp_path, there), daemon=True
    )
    process.start()
    assert here.poll(20)
    here.recv()
    return process


def test_it_can_be_read_by_its_owner_alone_and_goes(tmp_path: Path) -> None:
    with workplace(tmp_path, "backup") as work:
        assert work.stat().st_mode & 0o777 == 0o700
        assert work.parent == tmp_path
    assert list(tmp_path.iterdir()) == []


def test_a_killed_runs_folder_goes_with_the_next_run_and_a_living_ones_stays(
    tmp_path: Path, at_work: multiprocessing.Process
) -> None:
    other = tmp_path / ".backup-of mine"
    other.mkdir()
    (left,) = [path for path in tmp_path.iterdir() if path != other]
    with workplace(tmp_path, "backup"):
        assert (left / "plain").exists()
    assert at_work.pid is not None
    os.kill(at_work.pid, signal.SIGKILL)
    at_work.join()
    with workplace(tmp_path, "restore"):
        assert (left / "plain").exists()
    with workplace(tmp_path, "backup"):
        assert not left.exists()
    assert list(tmp_path.iterdir()) == [other]


def test_what_appears_replaces_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    made, there = tmp_path / "made", tmp_path / "there"
    made.write_text("new")
    there.write_text("old")
    with pytest.raises(BookExists):
        appear(made, there)
    assert (made.read_text(), there.read_text()) == ("new", "old")

    def none(*_: object) -> None:
        raise PermissionError

    monkeypatch.setattr(os, "link", none)  # as on a memory stick, which knows no second names
    with pytest.raises(BookExists):
        appear(made, there)
    appear(made, tmp_path / "free")
    assert (tmp_path / "free").read_text() == "new"
    assert not made.exists()
