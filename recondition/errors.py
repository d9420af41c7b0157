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
