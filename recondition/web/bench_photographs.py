"""Photographs straight from the camera: looked at first, then kept as rows of the documents."""

from __future__ import annotations

from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

from flask import request

from recondition.book.files import read_incoming
from recondition.book.pictures import taken_by_camera
from recondition.errors import Refused
from recondition.intake.form import one_row
from recondition.web.forms import sent
from recondition.web.visit import the_book, visit

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from recondition.book.posting import Result

PHOTOGRAPHS_MAX = 12
FIELD = "photo"


class NoPhotograph(Refused):
    """A form for photographs that is sent without any."""

    def __init__(self) -> None:
        """Ask for one."""
        super().__init__("no photograph came with it", todo="Take one and send it again.")


class TooManyPhotographs(Refused):
    """More photographs than are taken at once."""

    def __init__(self, count: int) -> None:
        """Say how many there were and how many are taken."""
        super().__init__(
            f"{count} photographs are more than are taken at once",
            todo=f"Send {PHOTOGRAPHS_MAX} at most, and the others after them.",
        )


@dataclass(frozen=True, slots=True)
class Shot:
    """One photograph that lies in a folder. ``taken_at`` is ISO 8601 with zone, '' if unknown."""

    path: Path
    taken_at: str


@contextmanager
def laid_out() -> Iterator[list[Shot]]:
    """Lay the photographs of a form into a folder and look at each; they go with the folder.

    Raises TooManyPhotographs, and what keeping a picture raises, before anything is entered.
    """
    files = [each for each in request.files.getlist(FIELD) if each.filename]
    if len(files) > PHOTOGRAPHS_MAX:
        raise TooManyPhotographs(len(files))
    with TemporaryDirectory() as folder:
        shots = []
        for number, each in enumerate(files, start=1):
            # The name a phone gives says nothing, and may be another one each time.
            ends = Path(each.filename or "").suffix.lower()
            place = Path(folder) / f"photograph-{number}{ends if ends.isascii() else ''}"
            each.save(place)
            content = read_incoming(place, picture=True).content
            shots.append(Shot(place, _taken_at(content)))
        yield shots


def _taken_at(content: bytes) -> str:
    """Say when a photograph was taken, as far as the camera wrote it.

    A camera that wrote no zone stands where the entry was made.
    """
    taken = taken_by_camera(content)
    if taken is None:
        return ""
    if taken.zone[:1] in ("+", "-"):
        return f"{taken.at.isoformat()}{taken.zone}"
    try:
        here = datetime.fromisoformat(sent("at", ""))
    except ValueError:
        here = the_book().now().astimezone()
    return taken.at.replace(tzinfo=here.tzinfo or UTC).isoformat()


def title_of(shown: str) -> str:
    """Name a photograph by what is on it.

    A name that said no more than the finding says would stand in a work history as well, and
    the search for private words would take that for a leak of the photograph's own name.
    """
    return f"{shown}, photographed"


def post(shots: Sequence[Shot], given: Mapping[str, str], key: str | None) -> list[Result]:
    """Post photographs as rows of the documents; ``key`` is that of the entry they belong to.

    Raises what posting a row raises.
    """
    results = []
    for number, shot in enumerate(shots, start=1):
        row = {"kind": "photograph", **given, "file": str(shot.path)}
        if shot.taken_at:
            row["taken_at"] = shot.taken_at
        own = f"{key}:photo" + (f"-{number}" if number > 1 else "") if key else None
        result = one_row(the_book(), "documents", row, author_ref=visit().person, key=own)
        if result.refused is not None:
            raise result.refused
        results.append(result)
    return results
