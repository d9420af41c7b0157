"""Where the tests put their books, and the books that are made once and copied.

A book on disk waits for the disk at each commit, as it must; thousands of small ones made the
run half a minute longer. They lie in memory where the machine has a place for that, and stay
real files in a real file system.
"""

from __future__ import annotations

import gc
import os
import shutil
import tempfile
from contextlib import ExitStack
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from hypothesis import settings

from tests import sqlite_only
from tests.once import once
from tests.places import copied_book, created, dropped, hung_up, key_of, on_server, opened, served
from tests.postgres import serving
from tests.running import demo_line, done, stand_in

if TYPE_CHECKING:
    from collections.abc import Iterator

    from recondition.book.engine import Book
    from tests.postgres import Databases

_IN_MEMORY = Path("/dev/shm")  # noqa: S108 - a file system in memory, where there is one
_ROOM_BYTES = 4 * 1024**3

_USABLE = _IN_MEMORY.is_dir() and os.access(_IN_MEMORY, os.W_OK)
if _USABLE and shutil.disk_usage(_IN_MEMORY).free > _ROOM_BYTES:
    os.environ.setdefault("PYTEST_DEBUG_TEMPROOT", str(_IN_MEMORY))
    tempfile.tempdir = str(_IN_MEMORY)

# What a property is tried with where its test says nothing; many small ones make up the time.
# How long one takes is for the benches: on a busy machine a deadline would fail by chance.
settings.register_profile("default run", max_examples=30, deadline=None)
settings.load_profile("default run")

# Thousands of collected tests live as long as the run, and walking over them again and again
# took a tenth of it. What is young is swept as often as ever.
gc.set_threshold(*gc.get_threshold()[:2], 200)


def pytest_addoption(parser: pytest.Parser) -> None:
    """Let the run choose where its books lie."""
    words = "where the books of the tests lie; sqlite where it is not given"
    parser.addoption("--engine", choices=("sqlite", "postgresql"), default="sqlite", help=words)


def pytest_configure(config: pytest.Config) -> None:
    """Start the one server of a run on PostgreSQL, before its workers."""
    if config.getoption("--engine") == "postgresql" and not on_server():
        server = ExitStack()
        server.enter_context(served())
        config.add_cleanup(server.close)


def pytest_unconfigure() -> None:
    """Let go of the server."""
    hung_up()


# Whole rooms and files that take their time; the long run has them.
LONG_ROOMS = {"faults", "hands", "hostile"}
LONG_FILES = {"test_copying", "test_replacing", "test_people", "test_upgrades", "test_damages_told",
              "test_damages_files", "test_damages_chain", "test_rehearsing", "test_histories",
              "test_share", "test_api_work", "test_openapi", "test_attacks", "test_plan_page",
              "test_jobs", "test_vehicles", "test_bench_entries", "test_plan_decided",
              "test_history_made", "test_serving", "test_trail", "test_sessions",
              "test_safekeeping", "test_damages", "test_device", "test_verifying", "test_outputs",
              "test_books_corners", "test_bought"}  # fmt: skip


def pytest_make_parametrize_id(val: object, argname: str) -> str | None:
    """Name a test after no bytes: an archive holds the moment, and workers would differ."""
    return argname if isinstance(val, bytes) else None


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Mark what is long; leave out on a server what is about the file of an SQLite book."""
    for item in items:
        here = item.path.parent.name in LONG_ROOMS or item.path.stem in LONG_FILES
        if here and item.get_closest_marker("full") is None:
            item.add_marker(pytest.mark.long)
        if any(item.get_closest_marker(name) for name in ("full", "bench")):
            item.add_marker(pytest.mark.timeout(0))
    if on_server():
        left_out = [item for item in items if sqlite_only.reason(item)]
        config.hook.pytest_deselected(items=left_out)
        items[:] = [item for item in items if not sqlite_only.reason(item)]


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Say what was left out on a server, and where its reasons stand."""
    if on_server():
        terminalreporter.write_line(sqlite_only.words())


@pytest.hookimpl(wrapper=True)
def pytest_runtest_teardown(item: pytest.Item) -> Iterator[None]:
    """Drop the databases of a test when it is over."""
    folder = getattr(item, "funcargs", {}).get("tmp_path")
    yield
    if folder is not None and on_server():
        dropped(folder)


def _make_empty(folder: Path) -> str:
    created(folder / "empty.sqlite").close()
    return ""


def _run_demo(folder: Path) -> str:
    with pytest.MonkeyPatch.context() as patched:
        patched.delenv("RECONDITION_FILES", raising=False)
        stand_in(folder, patched)
        if on_server():
            patched.setenv("RECONDITION_KEY", key_of("made/demo.book"))
        return done(demo_line("made/demo.book"))


@pytest.fixture(scope="session")
def empty_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Make one empty book for the whole run, to be copied."""
    folder, _ = once(tmp_path_factory, "empty", _make_empty)
    return folder / "empty.sqlite"


@pytest.fixture(scope="session")
def new_database() -> Iterator[Databases]:
    """Give a function that makes a fresh PostgreSQL database and names its URL."""
    with serving() as make:
        yield make


@pytest.fixture(scope="session")
def empty_database(new_database: Databases) -> str:
    """Name a database with an empty book in it, to be copied as a template."""
    from recondition.book.engine import create_book  # noqa: PLC0415 - heavy, and not for all

    create_book(new_database("empty")).close()
    return "empty"


@pytest.fixture(scope="session")
def demo(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, str]:
    """Run the demo once for the whole run; give its folder, to be copied, and what was said."""
    return once(tmp_path_factory, "demo", _run_demo)


@pytest.fixture(scope="module")
def demo_book(
    demo: tuple[Path, str], tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Book]:  # fmt: skip
    """Give a copy of the demo's book to the tests of one file."""
    to = tmp_path_factory.mktemp("demo") / "demo.book"
    book = opened(copied_book(demo[0] / "made" / "demo.book", to))
    yield book
    book.close()
