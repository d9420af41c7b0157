"""Checking kept files: each against its hash, and which files no entry names."""

from __future__ import annotations

import hashlib
import re
import shlex
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from sqlalchemy import select

from recondition.book import files
from recondition.book.damage import FILE_BACK, FROM_CHAIN
from recondition.book.looking import Look
from recondition.book.tables import entity, record, stored_file
from recondition.ledger import chain

_HASH = re.compile("[0-9a-f]{64}")
_PIECE_BYTES = 1024 * 1024
_FOLDER_SIGNS = 2
_NAMED = 5
_UNFINISHED = ".incoming-"


def kept(look: Look) -> None:
    """Hash each kept file again and compare it with the chain's commitment."""
    query = (
        select(stored_file, record.c.canonical, record.c.subject, entity.c.ref)
        .join(record, record.c.id == stored_file.c.record_id)
        .outerjoin(entity, entity.c.id == record.c.entity)
        .order_by(stored_file.c.record_id)
    )
    with look.stream(query) as rows:
        for row in rows:
            where = f"file {row.sha256} of record {row.record_id}, in {look.files}"
            what, todo = _fault(look.files, row)
            if what:
                look.examined.found(what, where, todo, record=str(row.record_id),
                                    subject=str(row.subject))  # fmt: skip
            look.examined.counts["files"] += 1


def _fault(folder: Path, row: Any) -> tuple[str, str]:  # noqa: ANN401 - a row of that query
    """Say what is wrong with a kept file, and what to do; '' where nothing is."""
    try:
        committed = chain.read(row.canonical)["texts"].get("file")
        salt = bytes(row.salt)
        readable = _HASH.fullmatch(row.sha256) is not None
    except (TypeError, ValueError, KeyError, AttributeError):
        readable = False
    if not readable:
        return "what the book says of the file cannot be read", FROM_CHAIN
    place = files.place_of(folder, row.sha256)
    back = FILE_BACK.format(shlex.quote(row.ref) if isinstance(row.ref, str) else "REF")
    try:
        if not place.is_file():
            return "the file is missing", back
        size, sha256, salted = _hashes(place, salt)
    except OSError as error:
        return f"the file cannot be read: {error.strerror or error}", back
    if sha256 != row.sha256 or salted != committed:
        return "the file was changed", back
    if size != row.size_bytes or _media_type(place) != row.media_type:
        return "size or kind of the file differ from what the book says", FROM_CHAIN
    return "", ""


def _hashes(place: Path, salt: bytes) -> tuple[int, str, str]:
    """Give a file's size, its SHA-256, and that over the salt and the file."""
    size, plain, salted = 0, hashlib.sha256(), hashlib.sha256(salt)
    with place.open("rb") as stream:
        while piece := stream.read(_PIECE_BYTES):
            size += len(piece)
            plain.update(piece)
            salted.update(piece)
    return size, plain.hexdigest(), salted.hexdigest()


def _media_type(place: Path) -> str:
    """Tell what a file is by its first bytes; other files were kept only where they are text."""
    with place.open("rb") as stream:
        return files.known_type(stream.read(16)) or "text/plain"


def others(look: Look) -> None:
    """Name files that no entry names, where the folder is this book's own.

    Such a file is no damage: it stays behind where a command was cut off after it kept the file.
    """
    if not look.files.is_dir():
        return
    orphans, unfinished = [], []
    for folder in sorted(look.files.iterdir()):
        for path, known in _in_folder(look, folder):
            if path.name.startswith(_UNFINISHED):
                unfinished.append(path)
            elif look.own_folder and not known:
                orphans.append(path)
    _note(look, orphans, "files that no entry names",
          "They are left from commands that were cut off, or put there by hand. Nothing of this "
          "book needs them: look at them, and delete them if you know them.")  # fmt: skip
    _note(look, unfinished, "files left unfinished",
          "They are left from commands that were cut off. Delete them while nobody enters "
          "anything.")  # fmt: skip


def _in_folder(look: Look, folder: Path) -> Iterator[tuple[Path, bool]]:
    """Give the files of one folder, and whether the book knows each."""
    if not folder.is_dir():
        yield folder, False
        return
    name = folder.name
    query = select(stored_file.c.sha256).where(
        stored_file.c.sha256.startswith(name, autoescape=True)
    )
    known = set(look.conn.execute(query).scalars()) if len(name) == _FOLDER_SIGNS else set()
    for path in sorted(folder.rglob("*")):
        if not path.is_dir():
            yield path, path.parent == folder and path.name in known


def _note(look: Look, found: list[Path], what: str, todo: str) -> None:
    """Note files, the first of them by name."""
    if not found:
        return
    named = ", ".join(str(path.relative_to(look.files)) for path in found[:_NAMED])
    more = f" and {len(found) - _NAMED} more" if len(found) > _NAMED else ""
    look.examined.note(f"{what}: {len(found)}", f"{look.files}: {named}{more}", todo)
