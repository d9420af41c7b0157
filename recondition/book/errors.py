"""Mistakes that concern a book as a whole: where it is, what state it is in."""

from __future__ import annotations

import re

from recondition.errors import Refused


def _shown(location: str) -> str:
    """Write a book's place without the password that a URL may hold."""
    return re.sub(r"(://[^:/@]*):[^@/]*@", r"\1:***@", location)


class NoBook(Refused):
    """There is no book at the place named."""

    exit_status = 2

    def __init__(self, location: str) -> None:
        """Name the place."""
        super().__init__(
            f"there is no book at {_shown(location)}",
            todo="Make one with 'recondition book create', or name another with --book.",
        )


class NotABook(Refused):
    """What lies at the place named is not a book."""

    exit_status = 2

    def __init__(self, location: str, why: str) -> None:
        """Name the place and what was found there."""
        super().__init__(
            f"{_shown(location)} is not a book: {why}", todo="Name the book's own file with --book."
        )


class BookExists(Refused):
    """A new book was to be made where one lies already."""

    exit_status = 2

    def __init__(self, location: str) -> None:
        """Name the place."""
        super().__init__(
            f"there is already something at {_shown(location)}",
            todo="Choose another place; an existing book is never overwritten.",
        )


class BookIsOlder(Refused):
    """The book was made by an earlier version of recondition."""

    def __init__(self, location: str, found: str, wanted: str) -> None:
        """Name the two schema versions."""
        super().__init__(
            f"{_shown(location)} has schema {found}, "
            f"this version of recondition works with {wanted}",
            todo="Run 'recondition book upgrade'; it makes a backup copy first.",
        )


class BookIsNewer(Refused):
    """The book was made by a later version of recondition."""

    def __init__(self, location: str, found: str) -> None:
        """Name the schema that is not known here."""
        super().__init__(
            f"{_shown(location)} has schema {found}, "
            "which this version of recondition does not know",
            todo="Install the newer recondition; the book was left as it is.",
        )


class BookInUse(Refused):
    """Somebody else kept the book locked for longer than the wait."""

    def __init__(self, location: str) -> None:
        """Name the book."""
        super().__init__(
            f"{_shown(location)} is being written by somebody else",
            todo="Nothing was written. Try again in a moment.",
        )


class BookNotWritable(Refused):
    """The book cannot be written: rights, a full disk, a fault of the medium."""

    def __init__(self, location: str, why: str) -> None:
        """Name the book and what the system said."""
        super().__init__(
            f"{_shown(location)} cannot be written: {why}",
            todo="Nothing was written. Check the rights and the free space of the disk.",
        )


class NamesNothing(Refused):
    """A record names another one that the book does not hold."""

    def __init__(self, location: str) -> None:
        """Name the book."""
        super().__init__(
            f"something that was to be posted names a record that {_shown(location)} does not hold",
            todo="Nothing was written. Add what is named first.",
        )
