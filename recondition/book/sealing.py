"""A backup under a passphrase, in the open age format (age-encryption.org/v1).

An encrypted backup is a zip of two files, neither compressed:

    key.age       the text of an age identity (X25519), encrypted with the passphrase (scrypt)
    backup.age    the backup as it would be otherwise, encrypted to that identity

So anybody with a tool for age opens it without this program, in two steps: decrypt ``key.age``
with the passphrase, then ``backup.age`` with the identity that came out. The identity is made
for this one backup. Both halves are written and read as streams.
"""

from __future__ import annotations

import os
import zipfile
from collections.abc import Callable
from pathlib import Path

import pyrage

from recondition.book.archives import open_zip
from recondition.book.packing import BROKEN, MEMBERS_MAX, BadBackup, broken
from recondition.errors import Refused

GIVEN_IN = "RECONDITION_PASSPHRASE"
_TRY_AGAIN = (
    "Try again: mind capitals and blanks, and see whether another one stands in "
    f"{GIVEN_IN}, which is taken first. Without the passphrase nobody can open it."
)
_KEY, _BACKUP = "key.age", "backup.age"
_KEY_MAX_BYTES = 10_000

Ask = Callable[[], str | None]


class BackupLocked(Refused):
    """The backup is encrypted, and no passphrase or another one was given."""

    exit_status = 2

    def __init__(self, path: Path, *, given: bool) -> None:
        """Say whether one was given."""
        why = "the passphrase does not fit, or its key is damaged"
        super().__init__(
            f"the backup {path} stays locked: {why if given else 'it needs its passphrase'}",
            todo=_TRY_AGAIN if given else f"Give it when asked, or in {GIVEN_IN}.",
        )


def passphrase_given() -> str | None:
    """Give the passphrase of the environment, None where there is none."""
    return os.environ.get(GIVEN_IN) or None


def seal(plain: Path, to: Path, passphrase: str) -> None:
    """Encrypt a backup. Raises OSError."""
    identity = pyrage.x25519.Identity.generate()
    with zipfile.ZipFile(to, "w", zipfile.ZIP_STORED) as archive:
        archive.writestr(_KEY, pyrage.passphrase.encrypt(str(identity).encode(), passphrase))
        with plain.open("rb") as source, archive.open(_BACKUP, "w", force_zip64=True) as target:
            try:
                pyrage.encrypt_io(source, target, [identity.to_public()])
            except pyrage.EncryptError as error:  # what the disk said, in its words
                raise OSError(str(error).rpartition("] ")[2]) from error


def is_sealed(path: Path) -> bool:
    """Tell whether a file is an encrypted backup. Raises OSError."""
    try:
        with path.open("rb") as stream, open_zip(stream, MEMBERS_MAX) as archive:
            return sorted(archive.namelist()) == [_BACKUP, _KEY]
    except BROKEN:
        return False


def unseal(sealed: Path, to: Path, passphrase: str, name: Path) -> None:
    """Decrypt a backup into a file, which the caller deletes. ``name`` is what is said of it.

    Raises BackupLocked, BadBackup, OSError.
    """
    with broken(name), zipfile.ZipFile(sealed) as archive:
        if archive.getinfo(_KEY).file_size > _KEY_MAX_BYTES:
            raise BadBackup(name, "its key is too long")
        if any(info.compress_type != zipfile.ZIP_STORED for info in archive.infolist()):
            raise BadBackup(name, "it was packed by something else")
        identity = _identity(archive.read(_KEY), passphrase, name)
        with archive.open(_BACKUP) as source, to.open("wb") as target:
            try:
                pyrage.decrypt_io(source, target, [identity])
            except pyrage.DecryptError as error:
                raise BadBackup(name, "it was changed since it was encrypted") from error


def _identity(content: bytes, passphrase: str, name: Path) -> pyrage.x25519.Identity:
    """Read the identity that a backup is encrypted to."""
    try:
        text = pyrage.passphrase.decrypt(content, passphrase).decode()
        return pyrage.x25519.Identity.from_str(text)
    except pyrage.DecryptError as error:
        raise BackupLocked(name, given=True) from error
    except (pyrage.IdentityError, UnicodeDecodeError) as error:
        raise BadBackup(name, "its key is none") from error
