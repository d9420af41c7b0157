"""Files that appear whole or not at all."""

from __future__ import annotations

import os
import tempfile
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


def write_bytes(path: Path, content: bytes) -> None:
    """Write a file beside its place and move it there; folders are made. Raises FileNotWritten."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=".writing-")
        try:
            with os.fdopen(handle, "wb") as stream:
                stream.write(content)
                os.fchmod(stream.fileno(), 0o644)
            Path(name).replace(path)
        except OSError:
            Path(name).unlink(missing_ok=True)
            raise
    except OSError as error:
        raise FileNotWritten(path, error.strerror or str(error)) from error


def write_text(path: Path, content: str) -> None:
    """Write a text file in UTF-8. Raises FileNotWritten."""
    write_bytes(path, content.encode())
