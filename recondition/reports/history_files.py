"""Writing a release into a folder, whole or not at all, and packing it."""

from __future__ import annotations

import io
import re
import tempfile
import zipfile
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING

from recondition.errors import Refused
from recondition.history.evidence import ENDINGS, FOLDER
from recondition.history.folder import MANIFEST, WITHDRAWN
from recondition.history.proof import File
from recondition.history.strictly import read
from recondition.reports.whole import FileNotWritten

if TYPE_CHECKING:
    from recondition.reports.history_release import Made

ZIP = "work-history.zip"
_ZIPPED_AT = (1980, 1, 1, 0, 0, 0)


class AnotherVehicle(Refused):
    """A folder that holds the work history of another vehicle."""

    def __init__(self, folder: Path, there: str) -> None:
        """Name the folder and what lies in it."""
        super().__init__(
            f"{folder} holds the work history of {there!r}",
            todo="Nothing was written. Give each vehicle a folder of its own, or move that away.",
        )


def write_release(made: Made, folder: Path, *, zipped: bool = False) -> list[Path]:
    """Write the files of a release into a folder, the release file last; give where they lie.

    All are written beside their places first, so that a full disk leaves what was there. Files
    of an earlier release that are no part of this one are taken away. Raises FileNotWritten,
    AnotherVehicle.
    """
    refuse_taken(made, folder)
    packed = [File(ZIP, zip_of(made.files))] if zipped else []
    files = [*made.files, *packed]
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(dir=folder, prefix=".writing-") as beside:
            for file in files:
                _placed(Path(beside) / file.path).write_bytes(file.content)
            for file in files:
                (Path(beside) / file.path).replace(_placed(folder / file.path))
        for old in _left_over(folder, {file.path for file in files}):
            old.unlink()
    except OSError as error:
        place = Path(error.filename2 or error.filename or folder)
        raise FileNotWritten(place, error.strerror or str(error)) from error
    return [folder / file.path for file in files if "/" not in file.path]


def refuse_taken(made: Made, folder: Path) -> None:
    """Refuse a folder that cannot be written to, or that holds what must not be overwritten.

    Raises AnotherVehicle, FileNotWritten.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(dir=folder, prefix=".writing-"):
            pass
    except OSError as error:
        raise FileNotWritten(folder, error.strerror or str(error)) from error
    for name in (*(file.path for file in made.files), ZIP):
        if (folder / name).is_dir():
            raise FileNotWritten(folder / name, "a folder lies there")
    try:
        there = read((folder / MANIFEST).read_text(encoding="utf-8"))["head"]["designation"]
    except (OSError, ValueError, KeyError, TypeError):
        return
    if there != made.proof["head"]["designation"]:
        raise AnotherVehicle(folder, str(there))


def _placed(path: Path) -> Path:
    """Make the folder of a file, and give the file's path."""
    path.parent.mkdir(parents=True, exist_ok=True)
    return path


def _left_over(folder: Path, kept: set[str]) -> list[Path]:
    """Give the files of an earlier release that no longer belong there; nobody else's."""
    endings = "|".join(ENDINGS.values())
    evidence = re.compile(rf"{re.escape(FOLDER)}[0-9]{{3,}}\.({endings})")
    found = [*(folder / FOLDER).glob("*"), folder / ZIP, folder / WITHDRAWN]
    paths = {each.relative_to(folder).as_posix(): each for each in found if each.is_file()}
    ours = {path for path in paths if path in (ZIP, WITHDRAWN) or evidence.fullmatch(path)}
    return [paths[path] for path in sorted(ours - kept)]


def zip_of(files: Iterable[File]) -> bytes:
    """Pack files into a zip; the same files give the same bytes."""
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        for file in files:
            info = zipfile.ZipInfo(file.path, _ZIPPED_AT)
            info.external_attr = 0o644 << 16
            archive.writestr(info, file.content, zipfile.ZIP_DEFLATED)
    return packed.getvalue()
