"""Where the books of the tests lie: in files, or each in a database of its own on a server.

The tests name a book by a path on either engine. With ``pytest --engine postgresql`` the path
stands for a database; kept files and the key lie beside the path, as those of a file do.

The databases sort as most servers do: in the order of a language, where SQLite goes by bytes.
"""

from __future__ import annotations

import hashlib
import os
import re
import shutil
import subprocess
import tempfile
from contextlib import contextmanager
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any
from unittest.mock import patch

from tests.postgres import started

if TYPE_CHECKING:
    from collections.abc import Iterator

    import psycopg

    from recondition.book.engine import Book

# The folder of the server's socket; it is set for the length of a run on a server.
SERVER = "RECONDITION_TEST_SERVER"
SCHEME = "postgresql:///"
LOCALE = "en_US.UTF-8"

_COMMENTED = """
SELECT datname, description FROM pg_database
JOIN pg_shdescription ON objoid = oid AND classoid = 'pg_database'::regclass
"""
# The path, as the test wrote it, of each database that this process has named.
_written: dict[str, str] = {}


@contextmanager
def served() -> Iterator[None]:
    """Let every book of the tests lie on one server, this process's and its children's."""
    with tempfile.TemporaryDirectory() as locales:
        _make_locale(Path(locales))
        with patch.dict(os.environ, LOCPATH=locales):
            server = started()
        folder = str(server.get_uri()).partition("host=")[2]
        with patch.dict(os.environ, {SERVER: folder, "PGHOST": folder, "PGUSER": "postgres"}):
            try:
                yield
            finally:
                hung_up()
                server.cleanup()


def _make_locale(folder: Path) -> None:
    """Make the locale of the databases, which few machines have ready."""
    folder.chmod(0o755)
    command = ["localedef", "-i", "en_US", "-f", "UTF-8", str(folder / LOCALE)]
    subprocess.run(command, check=True, capture_output=True)


def on_server() -> bool:
    """Tell whether this run has its books on a server."""
    return SERVER in os.environ


@cache
def _connection() -> psycopg.Connection[Any]:
    """Keep one connection for making and dropping databases."""
    import psycopg  # noqa: PLC0415 - only on a server

    return psycopg.connect(f"{SCHEME}postgres", autocommit=True)


def hung_up() -> None:
    """Close the connection of this process, where it has one."""
    if _connection.cache_info().currsize:
        _connection().close()
        _connection.cache_clear()


def _do(statement: str) -> list[tuple[str, str]]:
    """Run a statement that names what stands in this module; give its rows."""
    done = _connection().execute(statement.encode())
    return done.fetchall() if done.description else []


def _databases() -> dict[str, str]:
    """Give the absolute path that each database stands for."""
    return dict(_do(_COMMENTED))


def _name(path: str | Path) -> str:
    """Name the database of a path, and note how the test wrote the path."""
    name = f"book_{hashlib.sha256(os.path.abspath(path).encode()).hexdigest()[:16]}"  # noqa: PTH100 - as the path is written
    if name not in _written or not Path(path).is_absolute():
        _written[name] = str(path)
    return name


def _make(path: str | Path, template: str = "template0") -> None:
    """Make the database of a path, as a copy of another one where it is named."""
    name = _name(path)
    _do(f"CREATE DATABASE {name} TEMPLATE {template} LOCALE '{LOCALE}' STRATEGY file_copy")
    _do(f"COMMENT ON DATABASE {name} IS '{os.path.abspath(path)}'")  # noqa: PTH100 - as above


def place(path: str | Path) -> str:
    """Name the book of a path for the program: by the path, or by the URL of its database.

    A database that is not there is made; there is no book in it then.
    """
    if not on_server() or "://" in str(path):
        return str(path)
    name = _name(path)
    if name not in _databases():
        _make(path)
    return f"{SCHEME}{name}"


def named(text: str) -> str:
    """Write the paths of books where the program wrote the URLs of their databases."""
    return re.sub(rf"{SCHEME}(book_\w+)", lambda found: _written.get(found[1], found[0]), text)


def lies_at(book: Book) -> Path:
    """Give the path that the tests name a book by."""
    return Path(named(book.location))


def files_of(path: str | Path) -> str:
    """Name the folder of a book's kept files, by a whole path as a server's book needs it."""
    return os.path.abspath(f"{named(str(path))}.files")  # noqa: PTH100 - as the path is written


def key_of(path: str | Path) -> str:
    """Name the file of a book's key."""
    return f"{named(str(path))}.key"


def beside(path: str | Path) -> dict[str, str]:
    """Give what is set in the environment of a program that works on the book of a path.

    A folder of files that the test itself names stays.
    """
    if not on_server():
        return {}
    standing, files = os.environ.get("RECONDITION_BOOK", ""), os.environ.get("RECONDITION_FILES")
    if files is not None and Path(files).absolute() != Path(files_of(standing)).absolute():
        return {}
    return {"RECONDITION_FILES": files_of(path)}


def opened(path: str | Path, **more: Any) -> Book:
    """Open the book of a path."""
    from recondition.book.engine import open_book  # noqa: PLC0415 - heavy, and not for all

    with patch.dict(os.environ, beside(path)):
        return open_book(place(path), **more)


def created(path: str | Path, **more: Any) -> Book:
    """Make an empty book at a path."""
    from recondition.book.engine import create_book  # noqa: PLC0415 - as above

    with patch.dict(os.environ, beside(path)):
        return create_book(place(path), **more)


def copied_book(made: Path, to: Path) -> str:
    """Copy a book that nobody has open, with its files; give the path of the copy."""
    if on_server():
        _make(to, _name(made))
    else:
        shutil.copy(made, to)
    files = Path(files_of(made))
    if files.exists():
        shutil.copytree(files, files_of(to))
    return str(to)


def copied(made: Path, to: Path) -> Path:
    """Copy a folder with books in it that nobody has open."""
    shutil.copytree(made, to, ignore=shutil.ignore_patterns("*-shm"))
    for name, path in _below(made):
        _make(to / Path(path).relative_to(made), name)
    return to


def _below(folder: Path) -> list[tuple[str, str]]:
    """Give the databases whose paths lie in a folder."""
    found = _databases().items() if on_server() else ()
    return [(name, path) for name, path in found if Path(path).is_relative_to(folder)]


def dropped(folder: Path) -> None:
    """Drop the databases whose paths lie in a folder that is done with."""
    for name, _ in _below(folder):
        _do(f"DROP DATABASE {name} WITH (FORCE)")


@contextmanager
def passing() -> Iterator[Path]:
    """Give a folder that goes with the books in it."""
    with tempfile.TemporaryDirectory() as name:
        yield Path(name)
        dropped(Path(name))
