"""How ``check`` looks at a book that may be damaged: part by part, and none stops the others."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Any, cast

from sqlalchemy import Connection, Result, Select, exc

from recondition.book.damage import Examined, readable
from recondition.book.errors import (
    BookInUse,
    BookNotReadable,
    BookTakenAway,
    LocksNotKept,
    ServerSilent,
)
from recondition.book.translating import refusal_of

Row = dict[str, Any]
_NO_DAMAGE = (BookInUse, BookNotReadable, BookTakenAway, LocksNotKept, ServerSilent)
_SAID_MAX = 200
PAGE = 500


@dataclass(slots=True)
class Look:
    """One look at a book: its connection and files, what was found, and the moment of it.

    ``own_folder`` tells that the folder of files belongs to this book alone.
    """

    conn: Connection
    files: Path
    location: str
    now: datetime
    own_folder: bool
    examined: Examined = field(default_factory=Examined)

    @property
    def sqlite(self) -> bool:
        """Whether the book is a file of SQLite."""
        return self.conn.dialect.name == "sqlite"

    def attempt(self, step: Callable[[], None]) -> str:
        """Do one step; give '' where it came to its end, else what stopped it.

        Raises what has nothing to do with damage: another writer, a server that is gone.
        """
        try:
            with self._set_apart():
                step()
        except exc.DBAPIError as error:
            if isinstance(refusal_of(self.location, error), _NO_DAMAGE):
                raise
            return _said(error.orig)
        except Exception as error:  # noqa: BLE001 - whatever a damaged book brings about
            return _said(error)
        return ""

    @contextmanager
    def _set_apart(self) -> Iterator[None]:
        """Keep a step that fails from ending the transaction, as it would on PostgreSQL."""
        if self.sqlite:
            yield
            return
        with self.conn.begin_nested():
            yield

    @contextmanager
    def stream(self, query: Select[Any]) -> Iterator[Result[Any]]:
        """Read rows as they are asked for, so that memory does not grow with the book."""
        with self.conn.execute(query.execution_options(yield_per=PAGE)) as rows:
            yield rows

    def part(self, name: str, step: Callable[[Look], None]) -> None:
        """Look at one part of the book; what keeps it from its end is damage."""
        said = self.attempt(lambda: step(self))
        if said:
            self.examined.found(f"{name} cannot be looked at to the end: {said}", "database")

    def each(
        self, rows: Sequence[Row], step: Callable[[Sequence[Row], Examined], None]
    ) -> Iterator[tuple[Row, str]]:
        """Take rows together; where that fails take halves of them, down to single rows.

        Gives the rows that cannot be looked at, with what stopped it.
        """
        if not rows:
            return
        found = Examined()
        said = self.attempt(lambda: step(rows, found))
        if not said:
            self.examined.add(found)
        elif len(rows) == 1:
            yield rows[0], said
        else:
            middle = len(rows) // 2
            yield from self.each(rows[:middle], step)
            yield from self.each(rows[middle:], step)


def _said(error: BaseException | None) -> str:
    """Write what stopped a step in one line."""
    words = str(error).strip().splitlines() or [""]
    return readable(f"{words[0] or type(error).__name__}"[:_SAID_MAX])


def _lenient(raw: bytes) -> str:
    """Read a text of a damaged file, which may be in no encoding; what is wrong stays visible."""
    return raw.decode("utf-8", "surrogateescape")


@contextmanager
def leniently(conn: Connection) -> Iterator[None]:
    """Let texts that are in no encoding come through, to be compared and named."""
    raw = conn.connection.driver_connection
    if not isinstance(raw, sqlite3.Connection):
        yield
        return
    before = raw.text_factory
    raw.text_factory = cast("Any", _lenient)
    try:
        yield
    finally:
        raw.text_factory = before
