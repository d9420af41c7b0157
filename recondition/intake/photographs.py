"""A folder of photographs into a book, all or nothing: what the camera wrote, put right."""

from __future__ import annotations

import re
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from recondition.book import files
from recondition.book.again import again
from recondition.book.engine import Book, RollBack
from recondition.book.errors import BookInUse
from recondition.book.pictures import taken_by_camera
from recondition.book.posting import Poster, Result, Status
from recondition.book.reading import author_of, id_of, kept_files
from recondition.errors import Refused
from recondition.intake.form import draft_of
from recondition.intake.problems import ImportRefused, Problems

if TYPE_CHECKING:
    from recondition.book import Connection

_ZONE = re.compile(r"[+-]\d\d:\d\d")


class NoFolderOfPictures(Refused):
    """A folder of photographs that is not there or holds none."""

    exit_status = 2

    def __init__(self, folder: Path) -> None:
        """Name the folder."""
        super().__init__(
            f"{folder} is no folder with photographs in it",
            todo="Name the folder that the camera's JPEG or PNG files lie in.",
        )


class ZoneNeeded(Refused):
    """A camera that writes no zone, and none is given."""

    kind = "zone missing"

    def __init__(self) -> None:
        """Say what is missing."""
        super().__init__(
            "the camera wrote a time without its zone",
            todo="Give the zone of its clock, such as --zone +02:00.",
        )


@again
def keep_folder(  # noqa: PLR0913 - each is a separate choice of the caller
    book: Book, stock: str, folder: Path, given: Mapping[str, str], *, author_ref: str, zone: str
) -> list[Result]:
    """Keep every photograph of a folder with a vehicle; a file that is kept already is passed.

    ``given`` are columns that hold for all of them; each takes its file's name as its title.
    Raises ImportRefused that names every file at fault, NoFolderOfPictures, NotThere.
    """
    called = files.shown_name(folder.resolve())
    paths = sorted(p for p in folder.iterdir()) if folder.is_dir() else []
    if not paths:
        raise NoFolderOfPictures(folder)
    problems, results = Problems(), list[Result]()
    with book.writing() as conn:
        conn.info["files"] = book.files
        vehicle = id_of(conn, "vehicle", stock)
        there = {path.name for path in kept_files(conn, vehicle).values()}
        poster = Poster(book, conn, author_of(conn, author_ref))
        for number, path in enumerate(paths, start=1):
            try:
                result = _one(conn, poster, path, {"vehicle": stock, **given}, there, zone)
            except BookInUse:
                raise
            except Refused as refused:
                place = files.shown_name(path)
                problems.add_refused(refused, called, number, place, "")
                continue
            results.append(result)
        if problems:
            raise RollBack
    if problems:
        raise ImportRefused(called, problems, again="take the folder again")
    return results


def _one(  # noqa: PLR0913, PLR0917 - each is a separate choice of the caller
    conn: Connection,
    poster: Poster,
    path: Path,
    given: Mapping[str, str],
    there: set[str],
    zone: str,
) -> Result:
    """Keep one photograph."""
    incoming = files.read_incoming(path, picture=True)
    values = {**given, "kind": "photograph", "title": path.stem, "file": str(path)}
    taken = taken_by_camera(incoming.content)
    if taken is not None:
        offset = taken.zone if _ZONE.fullmatch(taken.zone) else zone
        if not offset:
            raise ZoneNeeded
        values["taken_at"] = f"{taken.at.isoformat()}{offset}"
    draft = draft_of(conn, "documents", values)
    if incoming.sha256 in there:
        return Result(draft, Status.SAME)
    there.add(incoming.sha256)
    return poster.post(draft)
