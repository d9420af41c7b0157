"""What is acknowledged is on the disk: the settings of SQLite, and the order of what is kept."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from sqlalchemy import Connection, event
from sqlalchemy.engine import Engine

from tests.faults import deeds
from tests.faults.test_disks import commands
from tests.faults.test_strange import words
from tests.running import done

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from tests.faults.deeds import Site

SLOW = ("workbook", "backup")
FULL = 2  # PRAGMA synchronous: https://www.sqlite.org/pragma.html#pragma_synchronous


@pytest.fixture
def stood(site: Site, monkeypatch: pytest.MonkeyPatch) -> Site:
    """Stand in the site as a user would."""
    monkeypatch.setenv("RECONDITION_BOOK", site.location)
    monkeypatch.setenv("RECONDITION_FILES", str(site.files))
    monkeypatch.setenv("RECONDITION_PERSON", deeds.PERSON)
    return site


@pytest.fixture
def commits() -> Iterator[list[tuple[int, str]]]:
    """Note with which settings each writing transaction on SQLite is committed."""
    found: list[tuple[int, str]] = []

    def note(conn: Connection) -> None:
        if conn.get_execution_options().get("recondition_write"):
            ask: Any = conn.connection.driver_connection
            ((sync,),) = ask.execute("PRAGMA synchronous").fetchall()
            ((mode,),) = ask.execute("PRAGMA journal_mode").fetchall()
            found.append((sync, mode))

    event.listen(Engine, "commit", note)
    yield found
    event.remove(Engine, "commit", note)


@pytest.mark.long
def test_each_commit_waits_for_the_disk(commits: list[tuple[int, str]], stood: Site) -> None:
    new, again = stood.made / "new.book", stood.made / "again.book"
    asked = {kind: words(command) for kind, command in commands(stood).items()}
    for line in (
        f"recondition book create --book '{new}' --currency USD --person MR --name 'Mara Ridd'",
        "recondition book set 'shop name' Ridd",
        "recondition person add LM 'Lene Morl' preparer",
        *(asked[kind] for kind in ("posting", "import", "document", "export", "workbook")),
        "recondition post reversal L-002 'entered twice'",
    ):
        before = len(commits)
        done(line)
        assert len(commits) > before, line
    done(asked["backup"])
    done(f"recondition restore --book '{again}' '{stood.made / 'shop.backup'}'")
    done(f"{asked['posting']} --book '{again}' --ref R-900")
    assert set(commits) == {(FULL, "wal")}


@pytest.fixture
def order(monkeypatch: pytest.MonkeyPatch) -> Iterator[list[tuple[str, str]]]:
    """Note in which order files and folders reach the disk, get their names, and a book commits."""
    found: list[tuple[str, str]] = []
    fsync = os.fsync

    def synced(handle: int) -> None:
        fsync(handle)
        found.append(("on disk", str(Path(f"/proc/self/fd/{handle}").readlink())))

    def noting(give: Callable[..., None]) -> Callable[..., None]:
        def named(old: Any, new: Any, **more: Any) -> None:
            give(old, new, **more)
            found.append(("named", str(new)))

        return named

    def committed(conn: Connection) -> None:
        if conn.get_execution_options().get("recondition_write"):
            found.append(("committed", ""))

    monkeypatch.setattr(os, "fsync", synced)
    for way in ("replace", "rename", "link"):
        monkeypatch.setattr(os, way, noting(getattr(os, way)))
    event.listen(Engine, "commit", committed)
    yield found
    event.remove(Engine, "commit", committed)


def test_a_kept_file_is_on_the_disk_before_its_record(
    stood: Site, order: list[tuple[str, str]]
) -> None:
    folders = set(stood.files.iterdir())
    done(words(commands(stood)["document"]))
    (at,) = (n for n, (what, name) in enumerate(order) if what == "named" and "files" in name)
    place = Path(order[at][1])
    what, where = order[at - 1]
    assert (what, Path(where).parent) == ("on disk", place.parent)
    assert order[at + 1] == ("on disk", str(place.parent))
    assert order.index(("committed", "")) > at + 1
    assert place.parent in folders or ("on disk", str(stood.files)) in order[:at]


@pytest.mark.parametrize(
    "kind", ["export", *(pytest.param(kind, marks=pytest.mark.long) for kind in SLOW)]
)
def test_what_is_handed_out_is_on_the_disk_before_and_after_it_has_its_name(
    kind: str, stood: Site, order: list[tuple[str, str]]
) -> None:
    command = commands(stood)[kind]
    done(words(command))
    target = Path(command[-1])
    at = order.index(("named", str(target)))
    before = [name for what, name in order[:at] if what == "on disk"]
    assert any(Path(name).is_relative_to(target.parent) for name in before)
    assert ("on disk", str(target.parent)) in order[at:]


@pytest.mark.long
def test_a_restored_book_is_on_the_disk(stood: Site, order: list[tuple[str, str]]) -> None:
    made = commands(stood)["backup"]
    done(words(made))
    order.clear()
    again = stood.made / "again.book"
    done(f"recondition restore --book '{again}' '{made[-1]}'")
    at = order.index(("named", str(again)))
    assert any(what == "on disk" for what, _ in order[:at])
    assert ("on disk", str(again.parent)) in order[at:]
