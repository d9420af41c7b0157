"""An empty book on either engine for each test, and a filled one on SQLite."""

from __future__ import annotations

import json
import shutil
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from recondition.book.engine import Book, open_book
from tests.book.make import FilledBook, filled_book
from tests.once import copied_book, once

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from recondition.fields import Id
    from tests.postgres import Databases

ENGINES = ("sqlite", "postgresql")
# What differs between the engines is tried on both in the default run; all else on PostgreSQL
# is of the long tests.
ON_BOTH = {"test_posting", "test_guards", "test_chains", "test_schema", "test_engine",
           "test_reversing", "test_own_car", "test_keys"}  # fmt: skip


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Let the long tests have PostgreSQL where the default run has SQLite alone."""
    for item in items:
        params = getattr(getattr(item, "callspec", None), "params", {})
        here = item.path.parent == Path(__file__).parent
        if here and "postgresql" in params.values() and item.path.stem not in ON_BOTH:
            item.add_marker(pytest.mark.long)


@pytest.fixture(autouse=True)
def no_shared_folder(monkeypatch: pytest.MonkeyPatch) -> None:
    """Keep the caller's own folder of files out of the tests."""
    monkeypatch.delenv("RECONDITION_FILES", raising=False)


@pytest.fixture
def fresh(request: pytest.FixtureRequest, tmp_path: Path) -> Callable[[str], str]:
    """Give a function that copies the empty book of an engine and names the copy."""

    def copy(engine: str) -> str:
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
    opened = open_book(fresh(request.param))
    yield opened
    opened.close()


@pytest.fixture
def small(empty_file: Path, tmp_path: Path) -> Iterator[Book]:
    """Give an empty SQLite book."""
    path = tmp_path / "small.sqlite"
    shutil.copy(empty_file, path)
    opened = open_book(str(path))
    yield opened
    opened.close()


def _make_filled(folder: Path, empty: Path) -> str:
    made = open_book(copied_book(empty, folder / "book.sqlite"))
    ids = filled_book(made, folder).ids
    made.close()
    return json.dumps(ids)


@pytest.fixture(scope="session")
def filled_folder(
    empty_file: Path, tmp_path_factory: pytest.TempPathFactory
) -> tuple[Path, dict[str, Id]]:
    """Make one filled SQLite book for the whole run, to be copied."""
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
    """Give a filled SQLite book of the test's own."""
    folder, ids = filled_folder
    opened = open_book(copied_book(folder / "book.sqlite", tmp_path / "whole.sqlite"))
    yield FilledBook(opened, ids)
    opened.close()


@pytest.fixture(params=ENGINES)
def filled(
    request: pytest.FixtureRequest, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> Iterator[FilledBook]:
    """Give a book on each engine that holds a record of every kind."""
    if request.param == "sqlite":
        yield request.getfixturevalue("whole")
        return
    files, ids = request.getfixturevalue("filled_database")
    make: Databases = request.getfixturevalue("new_database")
    shutil.copytree(files, tmp_path / "files")
    monkeypatch.setenv("RECONDITION_FILES", str(tmp_path / "files"))
    opened = open_book(make(f"book{abs(hash(request.node.nodeid))}", "filled"))
    yield FilledBook(opened, ids)
    opened.close()
