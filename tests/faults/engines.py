"""Books for the kills on either engine: made once, copied for each kill, dropped after it."""

from __future__ import annotations

import itertools
import shutil
import time
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any, Protocol

import psycopg
from sqlalchemy.engine import make_url

from tests.faults.deeds import Site

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tests.postgres import Databases

GONE_SECONDS = 20.0


class Ground(Protocol):
    """An engine on which books are copied and killed."""

    name: str

    def place(self, folder: Path, name: str) -> str:
        """Name a place where no book is yet."""
        ...

    def copy(self, template: str, folder: Path) -> str:
        """Copy a book that nobody has open; give where the copy lies."""
        ...

    def quiet(self, location: str) -> None:
        """Wait until nobody is at work in a book any more."""
        ...

    def drop(self, location: str) -> None:
        """Take a book away."""
        ...


@dataclass
class InFiles:
    """SQLite."""

    name: str = "sqlite"

    def place(self, folder: Path, name: str) -> str:
        """Name a file."""
        return str(folder / name)

    def copy(self, template: str, folder: Path) -> str:
        """Copy the file."""
        return str(shutil.copy(template, folder / "shop.book"))

    def quiet(self, location: str) -> None:
        """Have nothing to wait for: a process that is gone holds nothing."""

    def drop(self, location: str) -> None:
        """Leave it to the folder."""


@dataclass
class OnServer:
    """PostgreSQL."""

    make: Databases
    name: str = "postgresql"
    prefix: str = "kills"
    numbers: Iterator[int] = field(default_factory=lambda: itertools.count(1))

    def place(self, folder: Path, name: str) -> str:  # noqa: ARG002 - as the other engine
        """Make an empty database."""
        return self.make(f"{self.prefix}{next(self.numbers)}")

    def copy(self, template: str, folder: Path) -> str:  # noqa: ARG002 - as above
        """Copy the database."""
        name = f"{self.prefix}{next(self.numbers)}"
        _do(template, f'CREATE DATABASE "{name}" TEMPLATE "{make_url(template).database}"')
        return template.replace(f"/{make_url(template).database}?", f"/{name}?")

    def quiet(self, location: str) -> None:
        """Wait until the server has seen that a client is gone."""
        query = "SELECT count(*) FROM pg_stat_activity WHERE datname = %s"
        until = time.monotonic() + GONE_SECONDS
        while _do(location, query, make_url(location).database)[0][0]:
            assert time.monotonic() < until, "the server still holds what a killed client began"
            time.sleep(0.005)

    def drop(self, location: str) -> None:
        """Drop the database."""
        _do(location, f'DROP DATABASE "{make_url(location).database}" WITH (FORCE)')


def _do(location: str, statement: str, *values: Any) -> list[tuple[Any, ...]]:
    """Run a statement on the server of a book, outside of the book."""
    with psycopg.connect(_server(location), autocommit=True) as conn:
        done = conn.execute(statement.encode(), values or None)
        return done.fetchall() if done.description else []


def _server(location: str) -> str:
    """Name the server's own database."""
    return location.replace(f"/{make_url(location).database}?", "/postgres?")


def site_of(ground: Ground, template: Template, folder: Path) -> Site:
    """Lay out a book, its files and what a deed takes, in a folder of its own."""
    shutil.copytree(template.folder, folder, ignore=shutil.ignore_patterns("*.book*"))
    for name in ("tmp", "made"):
        (folder / name).mkdir(exist_ok=True)
    files = folder / "files"
    location = ground.copy(template.location, folder) if template.copied else ""
    return Site(location or ground.place(folder, "again.book"), files, folder)


@dataclass(frozen=True)
class Template:
    """A book to be copied for a deed, with the folder of what the deed takes."""

    location: str
    folder: Path
    copied: bool = True
