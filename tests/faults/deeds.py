"""What a process does when it is killed: six operations, each through the door users take.

This module is loaded once into a warm process, whose children do one deed each. A child notes
in a file of one byte how far it is: at work, keeping (from the start of a commit, or from the
renaming of what it makes, until that is done), kept.
"""

from __future__ import annotations

import os
import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

# Loaded here so that every child has them; a deed is then as long as its own work.
import openpyxl  # noqa: F401
import pandas as pd  # noqa: F401
import psycopg  # noqa: F401
from alembic import command  # noqa: F401
from sqlalchemy import Connection, event
from sqlalchemy.engine import Engine
from sqlalchemy.pool import Pool

import recondition.book.backup
import recondition.book.check
import recondition.cli.backup
import recondition.cli.book
import recondition.cli.export
import recondition.cli.import_
import recondition.cli.restore
import recondition.intake.load
import recondition.intake.read_xlsx
import recondition.reports.exporting
import recondition.reports.workbook  # noqa: F401
from recondition.book.engine import Book, open_book
from recondition.book.posting import Result
from recondition.cli import main
from recondition.intake.form import one_row

if TYPE_CHECKING:
    from multiprocessing.connection import Connection as Pipe

WORKING, KEEPING, KEPT = b"w", b"k", b"d"
POSTINGS = 12
PERSON = "MR"


@dataclass(frozen=True)
class Site:
    """Where a deed is done: the book, its kept files, and a folder with what comes and goes."""

    location: str
    files: Path
    folder: Path

    @property
    def acknowledged(self) -> Path:
        """Name the file of the postings that came back: ref and record."""
        return self.folder / "acknowledged"

    @property
    def state(self) -> Path:
        """Name the file that holds how far the deed is."""
        return self.folder / "state"

    @property
    def made(self) -> Path:
        """Name the folder of what is made from the book."""
        return self.folder / "made"


def settle_in(site: Site) -> None:
    """Set this process's surroundings as a user's would be."""
    os.environ.update(
        RECONDITION_BOOK=site.location, RECONDITION_FILES=str(site.files), RECONDITION_PERSON=PERSON
    )
    tempfile.tempdir = str(site.folder / "tmp")


def child(deed: str, site: Site, pipe: Pipe) -> None:
    """Do one deed in a process of its own; say when it begins and how it ended."""
    settle_in(site)
    sys.stdout = (site.folder / "said").open("w", encoding="utf-8")
    sys.stderr = sys.stdout
    _watch(site, pipe)
    pipe.send("begun")
    pipe.send(do(deed, site))


def do(deed: str, site: Site) -> int:
    """Do a deed; give its exit status."""
    if deed == "posting":
        book = open_book(site.location)
        for number in range(1, POSTINGS + 1):
            post(book, site, number)
        return 0
    return run(*arguments(deed, site))


def arguments(deed: str, site: Site) -> list[str]:
    """Give the command line of a deed."""
    made = site.made
    lines = {
        "import": ["import", str(site.folder / "import")],
        "import xlsx": ["import", str(site.folder / "import.xlsx")],
        "export": ["export", "lines", str(made / "lines.csv")],
        "export workbook": ["export", "workbook", str(made / "books.xlsx")],
        "backup": ["backup", str(made / "shop.backup")],
        "restore": ["restore", str(site.folder / "earlier.backup")],
        "migration": ["book", "upgrade"],
    }
    return lines[deed]


def run(*words: str) -> int:
    """Run a command as its process would; give the exit status."""
    sys.argv = ["recondition", *words]
    try:
        main()
    except SystemExit as end:
        return end.code if isinstance(end.code, int) else int(end.code is not None)
    return 0


def post(book: Book, site: Site, number: int) -> Result:
    """Post a line; once it is in the book, say so on the disk."""
    values = {"vehicle": "0007", "person": PERSON, "quantity": "0.5", "words": f"step {number}",
              "work_date": "2031-03-04", "unlinked": "whole vehicle"}  # fmt: skip
    _note(site, WORKING)
    result = one_row(
        book, "labour", values, author_ref=PERSON, ref=f"P-{number:03}", key=f"key {number}"
    )
    if result.refused is not None:
        raise result.refused
    with site.acknowledged.open("a", encoding="utf-8") as stream:
        stream.write(f"{result.draft.ref} {result.record}\n")
        stream.flush()
        os.fsync(stream.fileno())
    return result


def _note(site: Site, state: bytes) -> None:
    site.state.write_bytes(state)


def _watch(site: Site, pipe: Pipe) -> None:
    """Note the states of this process as they come, and tell of them."""
    _note(site, WORKING)
    handle = os.open(site.state, os.O_RDWR)
    ends = {str(site.made / name) for name in ("lines.csv", "books.xlsx", "shop.backup")}
    ends.add(site.location)

    def keeping() -> None:
        if os.pread(handle, 1, 0) != KEEPING:
            os.pwrite(handle, KEEPING, 0)
            pipe.send("keeping")

    def begun(conn: Connection) -> None:
        if conn.get_execution_options().get("recondition_write"):
            keeping()

    def ended(*_: Any) -> None:
        if os.pread(handle, 1, 0) == KEEPING:
            os.pwrite(handle, KEPT, 0)
            pipe.send("kept")

    def renamed(name: str, args: tuple[Any, ...]) -> None:
        if name in ("os.rename", "os.link") and str(args[1]) in ends:
            keeping()

    event.listen(Engine, "commit", begun)
    event.listen(Pool, "checkin", ended)
    sys.addaudithook(renamed)
