"""Mistakes that concern a book as a whole: where it is, what state it is in."""

from __future__ import annotations

import re
from urllib.parse import unquote

from recondition.errors import Refused

# Up to the last @: whoever did not write @ and / of a password as they must has it hidden too.
_PASSWORD = re.compile(r"^([a-z+]+:/*[^:/@]*):(.*)@", re.DOTALL | re.IGNORECASE)
_PARAMETER = re.compile(r"([?&](?:ssl)?password=)([^&]*)", re.IGNORECASE)


def shown(location: str) -> str:
    """Write a book's place without the password that a URL may hold."""
    return _PARAMETER.sub(r"\1***", _PASSWORD.sub(r"\1:***@", location))


def without_password(location: str, said: str) -> str:
    """Take the password of a book's place out of what a driver said of it."""
    found = (*_PASSWORD.finditer(location), *_PARAMETER.finditer(location))
    secrets = [each[2] for each in found]
    for secret in (*secrets, *(unquote(secret) for secret in secrets)):
        said = said.replace(secret, "***") if secret else said
    return said


class NoBook(Refused):
    """There is no book at the place named."""

    exit_status = 2

    def __init__(self, location: str, aside: str = "") -> None:
        """Name the place, and a book that was set aside there if there is one."""
        also = f" One that was set aside lies at {aside}: rename it." if aside else ""
        super().__init__(
            f"there is no book at {shown(location)}",
            todo=f"Make one with 'recondition book create', or name another with --book.{also}",
        )


class NotABook(Refused):
    """What lies at the place named is not a book."""

    exit_status = 2

    def __init__(self, location: str, why: str) -> None:
        """Name the place and what was found there."""
        super().__init__(
            f"{shown(location)} is not a book: {why}", todo="Name the book's own file with --book."
        )


class BookDamaged(NotABook):
    """The database inside a book contradicts itself: a fault of the disk, or a file cut short."""

    exit_status = 3

    def __init__(self, location: str, why: str) -> None:
        """Name the book and what the database said."""
        super(NotABook, self).__init__(
            f"{shown(location)} is damaged: {why}",
            todo="Keep the file as it is, restore the last backup beside it and compare: "
            "'recondition check' says what can still be read.",
        )


class BookTakenAway(Refused):
    """The file of a book was moved, deleted or replaced while it was open."""

    def __init__(self, location: str) -> None:
        """Name the book."""
        super().__init__(
            f"{shown(location)} was moved, deleted or replaced while it was open",
            todo="What was entered last is not in the file that lies there now. Put the book back "
            "with the files beside it (-wal, .files), then run 'recondition check'.",
        )


class BookNotReadable(Refused):
    """The file of a book, or one of those beside it, cannot be opened."""

    def __init__(self, location: str, why: str) -> None:
        """Name the book and what the system said."""
        super().__init__(
            f"{shown(location)} cannot be opened: {why}",
            todo="Nothing was written. Check the rights to the file, its folder and the files "
            "beside it (-wal, -shm). On a disk that may only be read, copy the book elsewhere "
            "first.",
        )


class LocksNotKept(Refused):
    """The place of a book does not keep the locks that keep writers apart."""

    def __init__(self, location: str, why: str) -> None:
        """Name the book and what the database said."""
        super().__init__(
            f"where {shown(location)} lies, files cannot be locked or shared as they must: {why}",
            todo="Nothing was written. Check the free space, and put the book on a disk of this "
            "machine; for several machines keep it on a PostgreSQL server.",
        )


class BookOnNetworkShare(Refused):
    """A book was to be written on a drive that other machines share."""

    def __init__(self, location: str, kind: str) -> None:
        """Name the book and the kind of drive."""
        super().__init__(
            f"{shown(location)} lies on a network drive ({kind}), "
            "which cannot keep two machines from writing at once",
            todo="Nothing was written. Put the book on a disk of this machine and its backups on "
            "the drive; for several machines keep it on a PostgreSQL server. A book that is "
            "there can be read, backed up and copied.",
        )


class BookExists(Refused):
    """A new book was to be made where one lies already."""

    exit_status = 2

    def __init__(self, location: str, also: str = "") -> None:
        """Name the place, and say what else can be done or is to be known."""
        super().__init__(
            f"there is already something at {shown(location)}",
            todo=f"Choose another place; an existing book is never overwritten.{also}",
        )


class BookIsOlder(Refused):
    """The book was made by an earlier version of recondition."""

    def __init__(self, location: str, found: str, wanted: str) -> None:
        """Name the two schema versions."""
        super().__init__(
            f"{shown(location)} has schema {found}, "
            f"this version of recondition works with {wanted}",
            todo="Run 'recondition book upgrade'; it makes a backup copy first.",
        )


class BookIsNewer(Refused):
    """The book was made by a later version of recondition."""

    def __init__(self, location: str, found: str) -> None:
        """Name the schema that is not known here."""
        super().__init__(
            f"{shown(location)} has schema {found}, "
            "which this version of recondition does not know",
            todo="Install the newer recondition; the book was left as it is.",
        )


class BookInUse(Refused):
    """Somebody else kept the book locked for longer than the wait."""

    def __init__(self, location: str) -> None:
        """Name the book."""
        super().__init__(
            f"{shown(location)} is being written by somebody else",
            todo="Nothing was written. Try again in a moment.",
        )


class BookNotWritable(Refused):
    """The book cannot be written: rights, a full disk, a fault of the medium."""

    def __init__(self, location: str, why: str) -> None:
        """Name the book and what the system said."""
        super().__init__(
            f"{shown(location)} cannot be written: {why}",
            todo="Nothing was written. Check the free space of the disk, and the rights to the "
            "book, its folder and the files beside it (-wal, -shm).",
        )


class NamesNothing(Refused):
    """A record names another one that the book does not hold."""

    def __init__(self, location: str) -> None:
        """Name the book."""
        super().__init__(
            f"something that was to be posted names a record that {shown(location)} does not hold",
            todo="Nothing was written. Add what is named first.",
        )


class NoFolder(Refused):
    """A new book was to be made in a folder that is not there."""

    exit_status = 2

    def __init__(self, location: str) -> None:
        """Name the place that was wanted."""
        super().__init__(
            f"the folder of {shown(location)} is not there",
            todo="Make the folder, or choose another.",
        )


class UnknownServer(Refused):
    """A book named by a URL of another kind than PostgreSQL's."""

    exit_status = 2

    def __init__(self, scheme: str) -> None:
        """Name the kind of URL."""
        super().__init__(
            f"a book does not lie on a {scheme!r} server",
            todo="Name an SQLite file, or a URL that begins with postgresql://.",
        )


class NoServerURL(Refused):
    """A PostgreSQL URL that is mistyped."""

    exit_status = 2

    def __init__(self, location: str) -> None:
        """Name the place (its password hidden)."""
        super().__init__(
            f"{shown(location)} is no PostgreSQL URL",
            todo="Write postgresql://USER@SERVER/NAME, with a number for a port and PostgreSQL's "
            "own parameters; @ : / in a password are %40 %3A %2F.",
        )


class ServerNotInstalled(Refused):
    """A book on a server, and what is needed for servers is not installed."""

    exit_status = 2

    def __init__(self, location: str, why: str) -> None:
        """Name the book (its password hidden) and what the system said."""
        super().__init__(
            f"{shown(location)} lies on a server, which needs an extra that is not there: {why}",
            todo="Install it: pip install 'recondition[server]'.",
        )


class ServerSilent(Refused):
    """The server of a PostgreSQL book gave no answer, or refused the connection."""

    def __init__(self, location: str, why: str) -> None:
        """Name the book (its password hidden) and what was said."""
        super().__init__(
            f"the server of {shown(location)} cannot be reached: {why}",
            todo="Nothing was written. Check that the server runs, its address and the rights.",
        )


class BadInitials(Refused):
    """Initials or a name that nobody could be called by."""

    exit_status = 2

    def __init__(self, initials: str, name: str) -> None:
        """Show both."""
        super().__init__(
            f"nobody can act as {initials!r} with the name {name!r}",
            todo="Give initials without blanks, commas or semicolons, and a name.",
        )


class LastPerson(Refused):
    """The only person who can act in a book was to be erased."""

    def __init__(self, person: str) -> None:
        """Name the person."""
        super().__init__(
            f"{person} is the only person in the book, and somebody must be able to act",
            todo="Add another person first.",
        )


class AnotherBook(Refused):
    """Heads that were noted from another book."""

    exit_status = 2

    def __init__(self) -> None:
        """Say what was compared."""
        super().__init__(
            "the chain heads in that file were noted from another book",
            todo="Name a workbook, backup or copy of this book.",
        )
