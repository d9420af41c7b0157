"""Books that were cut short, emptied, mixed up or kept locked; folders of files that are gone."""

from __future__ import annotations

import shutil
import sqlite3
from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from recondition.book import again, engine
from tests.faults import deeds
from tests.faults.test_disks import commands, refused
from tests.running import run

if TYPE_CHECKING:
    from collections.abc import Callable

    from tests.faults.deeds import Site

READING = ("recondition vehicle list", "recondition post list", "recondition check")


@pytest.fixture
def stood(site: Site, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Stand in the site as a user would; give where the book lies."""
    monkeypatch.setenv("RECONDITION_BOOK", site.location)
    monkeypatch.setenv("RECONDITION_FILES", str(site.files))
    monkeypatch.setenv("RECONDITION_PERSON", deeds.PERSON)
    return Path(site.location)


def words(command: tuple[str, ...]) -> str:
    """Write a command of the site as it would be typed."""
    return " ".join(["recondition", *(f"'{word}'" for word in command[1:])])


def cut(book: Path) -> None:
    with book.open("rb+") as stream:
        stream.truncate(book.stat().st_size // 2 // 4096 * 4096)


def empty(book: Path) -> None:
    book.write_bytes(b"")


def other_words(book: Path) -> None:
    book.write_text("call the owner about the chrome\n" * 200, encoding="utf-8")


@pytest.mark.parametrize(
    ("harm", "said", "status"),
    [(cut, "is damaged", 3), (empty, "is not a book", 2), (other_words, "is not a book", 2)],
)
def test_a_book_that_is_none_any_more_is_told_and_left(
    harm: Callable[[Path], None], said: str, status: int, stood: Path, site: Site
) -> None:
    harm(stood)
    before = stood.read_bytes()
    for line in (*READING[:2], *map(words, commands(site).values())):
        ran = run(line)
        assert ran.status == status, (line, ran)
        assert said in ran.err, (line, ran.err)
        assert "Traceback" not in ran.err
        assert "\n  do: " in ran.err
    assert run("recondition check").status == status
    assert stood.read_bytes() == before


@pytest.mark.long
def test_a_locked_book_is_read_and_not_written(
    stood: Path, site: Site, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(engine, "BUSY_SECONDS", 0.05)
    monkeypatch.setattr(again, "SECONDS", 0.1)
    before = run("recondition post list --json").out
    with closing(sqlite3.connect(stood, isolation_level=None)) as other:
        other.execute("BEGIN EXCLUSIVE")
        for kind, command in commands(site).items():
            ran = run(words(command))
            if kind == "backup":
                assert ran.status == 0, ran.err
            else:
                refused(ran, ("is being written by somebody else",), kind)
        assert run("recondition post list --json").out == before
    assert sorted(path.name for path in site.made.iterdir()) == ["shop.backup"]
    assert run(words(commands(site)["posting"])).status == 0
    assert run("recondition check").status == 0


@pytest.mark.long
def test_a_log_of_another_book_is_found_by_the_heads_that_were_noted(
    stood: Path, site: Site
) -> None:
    """SQLite cannot tell whose log it is, and plays it into the book."""
    other, noted = site.folder / "other.book", site.made / "noted.backup"
    shutil.copy(stood, other)
    post = words(commands(site)["posting"])
    with closing(sqlite3.connect(other, isolation_level=None)) as holds_the_log:
        holds_the_log.execute("SELECT count(*) FROM record").fetchone()
        assert run(f"{post} --book '{other}' --ref Q-001").status == 0
        assert run(f"{post} --ref R-001").status == 0
        assert run(f"recondition backup '{noted}'").status == 0
        shutil.copy(f"{other}-wal", f"{stood}-wal")
    ran = run(f"recondition check --against '{noted}'")
    assert ran.status == 3, ran
    assert "Traceback" not in ran.err


@pytest.mark.long
def test_a_lost_log_is_found_by_the_heads_that_were_noted(stood: Path, site: Site) -> None:
    with closing(sqlite3.connect(stood, isolation_level=None)) as holds_the_log:
        holds_the_log.execute("SELECT count(*) FROM record").fetchone()
        assert run(words(commands(site)["posting"])).status == 0
        shutil.copy(stood, site.folder / "without.book")
        noted = site.made / "noted.backup"
        assert run(f"recondition backup '{noted}'").status == 0
    line = f"recondition check --book '{site.folder / 'without.book'}'"
    assert run(line).status == 0
    found = run(f"{line} --against '{noted}'")
    assert found.status == 3
    assert "was noted and is gone" in found.out


@pytest.mark.long
def test_a_folder_of_files_that_is_gone_is_told(stood: Path, site: Site) -> None:
    """What brings no document goes on; no second folder is begun where the first one was."""
    shutil.rmtree(site.files)
    assert run("recondition check").status == 3
    for kind in ("posting", "export", "workbook"):
        assert run(words(commands(site)[kind])).status == 0
    for kind in ("import", "document"):
        refused(run(words(commands(site)[kind])), ("is not there, and the book has",), kind)
    assert not site.files.exists()
    ran = run(words(commands(site)["backup"]))
    assert ran.status == 3
    assert "D-002 is missing" in ran.err
    assert stood.exists()


def test_a_file_in_the_place_of_the_folder_of_files_is_told(stood: Path, site: Site) -> None:
    shutil.rmtree(site.files)
    site.files.write_text("keys of the shop", encoding="utf-8")
    before = run("recondition post list --json").out
    for kind in ("import", "document"):
        refused(run(words(commands(site)[kind])), ("a file lies in its place",), kind)
    assert run("recondition post list --json").out == before
    assert run(words(commands(site)["posting"])).status == 0
    assert site.files.read_text(encoding="utf-8") == "keys of the shop"
    assert stood.exists()
