"""The shop's key that signs work histories: Ed25519, made on first use, kept beside the book.

The file is PKCS #8 in PEM, with a passphrase if the shop wants one, and is readable by its
owner only. It is no part of the book or its backups: whoever has it signs as the shop.
"""

from __future__ import annotations

import os
import stat
import tempfile
from collections.abc import Callable
from pathlib import Path

from cryptography.exceptions import UnsupportedAlgorithm
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from cryptography.hazmat.primitives.serialization import (
    BestAvailableEncryption,
    Encoding,
    KeySerializationEncryption,
    NoEncryption,
    PrivateFormat,
    PublicFormat,
    load_pem_private_key,
)

from recondition.book.engine import Book
from recondition.errors import Refused
from recondition.history.signing import Signer

PLACE_NAMED, PASSPHRASE_NAMED = "RECONDITION_KEY", "RECONDITION_KEY_PASSPHRASE"
OTHERS = stat.S_IRWXG | stat.S_IRWXO
SIZE_MAX_BYTES = 10_000

Ask = Callable[[], str | None]


class KeyNotUsable(Refused):
    """The file of the key is damaged, is no key of this sort, or cannot be read or written."""

    def __init__(self, path: Path, why: str) -> None:
        """Name the file and what is wrong."""
        super().__init__(
            f"the signing key {path} cannot be used: {why}",
            todo="Put the shop's copy of it back. Only if it is lost for good, move the file away: "
            "a new key is made then, with another fingerprint.",
        )


class KeyOpenToOthers(Refused):
    """Other people of the machine can read the key."""

    def __init__(self, path: Path) -> None:
        """Name the file."""
        super().__init__(
            f"others can read the signing key {path}",
            todo=f"Let its owner alone read it: chmod 600 {path}. If somebody may have copied it, "
            "move it away, so that a new key is made, and tell those who know the old fingerprint.",
        )


class KeyLocked(Refused):
    """The key needs a passphrase, and none or another was given."""

    exit_status = 2

    def __init__(self, path: Path, *, given: bool) -> None:
        """Say whether one was given."""
        why = "the passphrase does not fit, or the file is damaged"
        super().__init__(
            f"the signing key {path} stays locked: {why if given else 'it needs its passphrase'}",
            todo=f"Give it when asked, or in {PASSPHRASE_NAMED}.",
        )


def no_passphrase() -> None:
    """Give no passphrase: for where nobody can be asked."""


def place_of_key(book: Book) -> Path:
    """Say where the key lies: where RECONDITION_KEY says, else beside the book or its files."""
    named = os.environ.get(PLACE_NAMED)
    if named:
        return Path(named)
    beside = book.path or book.files
    return beside.with_name(f"{beside.name}.key")


def open_key(book: Book, ask: Ask) -> Ed25519PrivateKey:
    """Read the key, or make it where there is none yet; ``ask`` gives the passphrase.

    Raises KeyNotUsable, KeyOpenToOthers, KeyLocked.
    """
    path = place_of_key(book)
    if not path.exists():
        _write_new(path, Ed25519PrivateKey.generate(), NoEncryption())
    content = _read(path)
    if b"ENCRYPTED" not in content:
        return _loaded(path, content, None)
    passphrase = os.environ.get(PASSPHRASE_NAMED) or ask()
    if not passphrase:
        raise KeyLocked(path, given=False)
    return _loaded(path, content, passphrase.encode())


def signer(key: Ed25519PrivateKey) -> Signer:
    """Give what signs with a key."""
    return Signer(key.public_key().public_bytes(Encoding.Raw, PublicFormat.Raw), key.sign)


def lock_key(book: Book, key: Ed25519PrivateKey, passphrase: str) -> Path:
    """Keep a key under a passphrase, or under none where it is empty; the key stays the same.

    Where a link leads to its file, that file is replaced, and no open copy stays behind. Raises
    KeyNotUsable.
    """
    path = place_of_key(book).resolve()
    lock: KeySerializationEncryption = (
        BestAvailableEncryption(passphrase.encode()) if passphrase else NoEncryption()
    )
    made = _beside(path, key, lock)
    try:
        made.replace(path)
    except OSError as error:
        made.unlink(missing_ok=True)
        raise KeyNotUsable(path, error.strerror or str(error)) from error
    return path


def _write_new(path: Path, key: Ed25519PrivateKey, lock: KeySerializationEncryption) -> None:
    """Put a new key in its place unless another got there first: that one then counts."""
    made = _beside(path, key, lock)
    try:
        os.link(made, path)
    except FileExistsError:
        return
    except OSError as error:
        raise KeyNotUsable(path, error.strerror or str(error)) from error
    finally:
        made.unlink(missing_ok=True)


def _beside(path: Path, key: Ed25519PrivateKey, lock: KeySerializationEncryption) -> Path:
    """Write a key whole into a file of its own beside its place, readable by its owner only."""
    try:
        content = key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, lock)
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=".key-")
        with os.fdopen(handle, "wb") as stream:
            stream.write(content)
            stream.flush()
            os.fsync(stream.fileno())
    except ValueError as error:
        raise KeyNotUsable(path, "nothing can be locked with that passphrase") from error
    except OSError as error:
        raise KeyNotUsable(path, error.strerror or str(error)) from error
    return Path(name)


def _read(path: Path) -> bytes:
    """Read the file of a key that only its owner can read."""
    try:
        found = path.stat()
        if os.name == "posix" and found.st_mode & OTHERS:
            raise KeyOpenToOthers(path)
        with path.open("rb") as stream:
            return stream.read(SIZE_MAX_BYTES)
    except OSError as error:
        raise KeyNotUsable(path, error.strerror or str(error)) from error


def _loaded(path: Path, content: bytes, passphrase: bytes | None) -> Ed25519PrivateKey:
    """Turn the file's content into a key."""
    try:
        key = load_pem_private_key(content, passphrase)
    except (ValueError, TypeError, UnsupportedAlgorithm) as error:
        if passphrase is not None:
            raise KeyLocked(path, given=True) from error
        raise KeyNotUsable(path, "it is damaged or no key") from error
    if not isinstance(key, Ed25519PrivateKey):
        raise KeyNotUsable(path, "it is no Ed25519 key")
    return key
