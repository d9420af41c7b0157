"""What a reader gives: sheets with rows of cells, one at a time; and the files it refuses."""

from __future__ import annotations

import stat
from dataclasses import dataclass
from typing import TYPE_CHECKING

from recondition.errors import Refused

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from contextlib import AbstractContextManager
    from pathlib import Path

    from recondition.intake.cells import Cell

READ_ME = "read me"


@dataclass(frozen=True, slots=True)
class RawSheet:
    """One sheet of a source. ``rows`` starts reading from the first one."""

    name: str
    rows: Callable[[], AbstractContextManager[Iterator[list[Cell]]]]


class NoSuchFile(Refused):
    """There is nothing at the path given."""

    exit_status = 2

    def __init__(self, path: Path) -> None:
        """Name the path."""
        super().__init__(
            f"There is no file or folder at {path}.", todo="Check the path and its spelling."
        )


class NotImportable(Refused):
    """The file is of a kind that is not read here."""

    def __init__(self, path: Path, why: str, todo: str) -> None:
        """Name the file, what it is, and what to make of it."""
        super().__init__(f"{path.name} {why}.", where=path.name, todo=todo)


class PasswordProtected(NotImportable):
    """The workbook is encrypted."""

    def __init__(self, path: Path) -> None:
        """Name the file."""
        super().__init__(
            path, "is protected by a password", "Save a copy without a password and import that."
        )


class DamagedWorkbook(NotImportable):
    """The workbook cannot be read to its end."""

    def __init__(self, path: Path) -> None:
        """Name the file."""
        super().__init__(
            path,
            "is damaged: its contents cannot be read",
            "Open it in a spreadsheet, save it as .xlsx under a new name and import that.",
        )


class TooLarge(NotImportable):
    """The workbook unpacks to more than is sensible, or has too many rows."""


class FileNotReadable(NotImportable):
    """The system does not let the file or folder be read."""

    def __init__(self, path: Path, error: OSError) -> None:
        """Name the file and what the system says."""
        super().__init__(
            path,
            f"cannot be read: {error.strerror or error}",
            "Check that it is a file of your own and whether you may read it.",
        )


def require_ordinary(path: Path) -> None:
    """Raise NotImportable for a pipe or a device: reading one may never end."""
    mode = path.stat().st_mode
    if not (stat.S_ISREG(mode) or stat.S_ISDIR(mode)):
        why = "is no ordinary file but a pipe or a device"
        raise NotImportable(path, why, "Copy what it gives into a file and import that.")


class NothingToImport(NotImportable):
    """Not one sheet of the file is known."""

    def __init__(self, path: Path, names: list[str], known: list[str]) -> None:
        """Name what was found and what is looked for."""
        found = ", ".join(names) or "none at all"
        super().__init__(
            path,
            f"has no sheet that is known here (found: {found})",
            f"Name the sheets: {', '.join(known)}; 'import --blank' writes such a workbook.",
        )
