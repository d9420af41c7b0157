"""Books for each test: on either engine, or on the engine that the run has chosen."""

from __future__ import annotations

import json
import shutil
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from recondition.book.engine import Book, open_book
from tests.book.make import FilledBook, filled_book
from tests.once import once
from tests.places import copied_book, on_server, opened, place

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from recondition.fields import Id
    from tests.postgres import Databases

ENGINES = ("sqlite", "postgresql")
# Tried on both engines in every run; all else on PostgreSQL belongs to ``--engine postgresql``.
ON_BOTH = {"test_engine", "test_reversing", "test_keys"}


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Leave PostgreSQL out of the run on SQLite where a run of its own has it."""
    if on_server():
        return
    apart = [item for item in items if _is_apart(item)]
    config.hook.pytest_deselected(items=apart)
    items[:] = [item for item in items if not _is_apart(item)]


def _is_apart(item: pytest.Item) -> bool:
    params = getattr(getattr(item, "callspec", None), "params", {})
    if "postgresql" not in params.values() or item.path.parent != Path(__file__).parent:
        return False
    marked = any(mark.name in ("long", "full") for mark in item.iter_markers())
    return not marked and item.path.stem not in ON_BOTH


@pytest.fixture(autouse=True)
def no_shared_folder(monkeypatch: pytest.MonkeyPatch) -> None:
    """Keep the caller's own folder of files out of the tests."""
    monkeypatch.delenv("RECONDITION_FILES", raising=False)


@pytest.fixture
def fresh(request: pytest.FixtureRequest, tmp_path: Path) -> Callable[[str], str]:
    """Give a function that copies the empty book of an engine and names the copy."""

    def copy(engine: str) -> str:
        if on_server():
            return place(copied_book(request.getfixturevalue("empty_file"), tmp_path / "book"))
        if engine == "sqlite":
            path = tmp_path / "book.sqlite"
            shutil.copy(request.getfixturevalue("empty_file"), path)
            return str(path)
        template = request.getfixturevalue("empty_database")
        make: Databases = request.getfixturevalue("new_database")
        return make(f"book{abs(hash(request.node.nodeid))}", template)

    return copy


@pytest.fixture(params=ENGINES)
def book(
    request: pytest.FixtureRequest, fresh: Callable[[str], str], tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> Iterator[Book]:  # fmt: skip
    """Give an empty book, once on each engine."""
    if request.param == "postgresql":
        monkeypatch.setenv("RECONDITION_FILES", str(tmp_path / "files"))
    made = open_book(fresh(request.param))
    yield made
    made.close()


@pytest.fixture
def small(empty_file: Path, tmp_path: Path) -> Iterator[Book]:
    """Give an empty book on the engine of the run."""
    book = opened(copied_book(empty_file, tmp_path / "small.sqlite"))
    yield book
    book.close()


def _make_filled(folder: Path, empty: Path) -> str:
    made = opened(copied_book(empty, folder / "book.sqlite"))
    ids = filled_book(made, folder).ids
    made.close()
    return json.dumps(ids)


@pytest.fixture(scope="session")
def filled_folder(
    empty_file: Path, tmp_path_factory: pytest.TempPathFactory
) -> tuple[Path, dict[str, Id]]:
    """Make one filled book for the whole run, to be copied."""
    folder, ids = once(tmp_path_factory, "filled", partial(_make_filled, empty=empty_file))
    return folder, json.loads(ids)


@pytest.fixture(scope="session")
def filled_database(
    new_database: Databases, empty_database: str, tmp_path_factory: pytest.TempPathFactory
) -> tuple[Path, dict[str, Id]]:
    """Make one filled PostgreSQL book, to be copied, and give its files."""
    folder = tmp_path_factory.mktemp("filled")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("RECONDITION_FILES", str(folder / "files"))
        made = open_book(new_database("filled", empty_database))
        ids = filled_book(made, folder).ids
        made.close()
    return folder / "files", ids


@pytest.fixture
def whole(filled_folder: tuple[Path, dict[str, Id]], tmp_path: Path) -> Iterator[FilledBook]:
    """Give a filled book of the test's own, on the engine of the run."""
    folder, ids = filled_folder
    book = opened(copied_book(folder / "book.sqlite", tmp_path / "whole.sqlite"))
    yield FilledBook(book, ids)
    book.close()


@pytest.fixture(params=ENGINES)
def filled(
    request: pytest.FixtureRequest, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> Iterator[FilledBook]:
    """Give a book on each engine that holds a record of every kind."""
    if request.param == "sqlite" or on_server():
        yield request.getfixturevalue("whole")
        return
    files, ids = request.getfixturevalue("filled_database")
    make: Databases = request.getfixturevalue("new_database")
    shutil.copytree(files, tmp_path / "files")
    monkeypatch.setenv("RECONDITION_FILES", str(tmp_path / "files"))
    book = open_book(make(f"book{abs(hash(request.node.nodeid))}", "filled"))
    yield FilledBook(book, ids)
    book.close()
