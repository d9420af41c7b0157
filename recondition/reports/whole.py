"""Files that appear whole or not at all."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Callable
from pathlib import Path

from recondition.errors import Refused


class FileNotWritten(Refused):
    """A file could not be written where it was wanted."""

    def __init__(self, path: Path, why: str) -> None:
        """Name the file and what the system said."""
        super().__init__(
            f"{path} cannot be written: {why}",
            todo="Nothing was written. Choose another place, or check rights and space.",
        )


def write_with(path: Path, write: Callable[[Path], object]) -> None:
    """Let ``write`` make a file beside its place and move it there; folders are made.

    Raises FileNotWritten; where ``write`` raises anything else nothing is left either.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=".writing-")
        os.fchmod(handle, 0o644)
        os.close(handle)
        try:
            write(Path(name))
            Path(name).replace(path)
        finally:
            Path(name).unlink(missing_ok=True)
    except OSError as error:
        raise FileNotWritten(path, error.strerror or str(error)) from error


def write_bytes(path: Path, content: bytes) -> None:
    """Write a file beside its place and move it there; folders are made. Raises FileNotWritten."""
    write_with(path, lambda made: made.write_bytes(content))


def write_text(path: Path, content: str) -> None:
    """Write a text file in UTF-8. Raises FileNotWritten."""
    write_bytes(path, content.encode())
