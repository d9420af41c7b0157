"""The base of every mistake that a user can make or meet.

One subclass per mistake, kept in the room that finds it. The command line turns a
``Refused`` into three short lines (what, where, what to do) and its exit status; nothing
else in the project prints errors.
"""

from __future__ import annotations


class Refused(Exception):  # noqa: N818 - the trade's word for it; callers never see "Error"
    """Something was refused, in words: what, where, and what to do next.

    ``exit_status`` is 1 where the data was refused, 2 where the call was wrong and 3 where
    damage was found.
    """

    exit_status = 1

    def __init__(self, what: str, *, where: str = "", todo: str = "") -> None:
        """Keep the three sentences; ``where`` and ``todo`` may be empty."""
        self.what = what if what.endswith((".", "!", "?")) else f"{what}."
        super().__init__(self.what)
        self.where = where
        self.todo = todo

    def __str__(self) -> str:
        """Join what is known into one line for logs and listings."""
        where = f" ({self.where})" if self.where else ""
        todo = f" {self.todo}" if self.todo else ""
        return f"{self.what}{where}{todo}"


def fault(error: Exception) -> tuple[str, str]:
    """Say what the machine could not do, or else that the mistake is ours; and what to do."""
    import errno  # noqa: PLC0415 - only when something went wrong
    import sqlite3  # noqa: PLC0415 - as above

    if isinstance(error, sqlite3.Error):  # the book's own errors come as refusals
        return (
            f"Refused: a temporary file could not be written: {error}.",
            "Nothing was kept. Free some space, or name another folder in TMPDIR.",
        )
    if isinstance(error, UnicodeEncodeError):
        return (
            "Refused: what was typed, or the name of a file, holds signs that are no text (UTF-8).",
            "Nothing was written. Type it anew, or rename the file.",
        )
    machine = (errno.ENOSPC, errno.EDQUOT, errno.EROFS, errno.EACCES, errno.EPERM, errno.EIO,
               errno.ENOMEM, errno.EMFILE, errno.ENFILE)  # fmt: skip
    if isinstance(error, OSError) and (error.errno in machine or "temporary" in str(error)):
        named = f"{error.filename}: " if error.filename else ""
        return (
            f"Refused: {named}{error.strerror}.",
            "Nothing was half-written. Check rights and free space; TMPDIR moves temporary files.",
        )
    return (
        f"This went wrong inside recondition: {type(error).__name__}: {error}",
        "nothing was half-written; please report it with the command.",
    )
