"""Checking a work history as it was received: reading its files, and saying what was found.

Reads a folder, a zip, or one file. Sizes are bounded: what is larger than any work history is
refused before it is read.
"""

from __future__ import annotations

import lzma
import stat
import struct
import zipfile
import zlib
from itertools import islice
from pathlib import Path, PurePosixPath
from typing import Any

from recondition.book.archives import TooManyMembers, open_zip
from recondition.errors import Refused
from recondition.history import wording_proof as wp
from recondition.history.folder import (
    EVIDENCE,
    HTML,
    JSON,
    Verdict,
    against,
    check_folder,
    check_one,
)
from recondition.history.proof import single
from recondition.history.signing import is_code, is_fingerprint
from recondition.history.verifying import Found, check_html, check_json, proof_in
from recondition.reports.cells import REPLACEMENT

FILE_MAX_BYTES = 500_000_000
TEXT_MAX_BYTES = 64_000_000
TEXTS = (".html", ".json")
FILES_MAX = 5_000
ENTRIES_MAX = 10_000
LITTER = frozenset({".DS_Store", "Thumbs.db", "desktop.ini"})
BESIDE_SHOWN = 8
FAULTS_SHOWN = 50
NAMES_SHOWN = 12
_NOT_PLAIN = "it is no ordinary file"
_NO_ZIP = (
    zipfile.BadZipFile,
    NotImplementedError,
    RuntimeError,
    EOFError,
    ValueError,
    OverflowError,
    struct.error,
    zlib.error,
    lzma.LZMAError,
)


class NothingToCheck(Refused):
    """What is to be checked is not there, or is no work history."""

    def __init__(self, path: Path, why: str) -> None:
        """Name it and say why."""
        super().__init__(
            f"{path} cannot be checked: {why}",
            todo=f"Give the folder or zip of a work history, or its {HTML} or {JSON} alone.",
        )


class NotAFingerprint(Refused):
    """A fingerprint that is none, or not the whole of one."""

    exit_status = 2

    def __init__(self, typed: str) -> None:
        """Show it."""
        super().__init__(
            f"{typed!r} is no fingerprint of a key",
            todo="Give all 32 signs of it, as in XXXX-XXXX-XXXX-XXXX-XXXX-XXXX-XXXX-XXXX.",
        )


class NotACode(Refused):
    """A short code that is none, or not the whole of one."""

    exit_status = 2

    def __init__(self, typed: str) -> None:
        """Show it."""
        super().__init__(
            f"{typed!r} is no short code of a sheet",
            todo="Give all 16 signs of it, as in XXXX-XXXX-XXXX-XXXX.",
        )


class NoSuchRecord(Refused):
    """A record that a work history does not hold."""

    def __init__(self, name: str, names: list[str]) -> None:
        """Name it, and some that there are: of its own kind where there are any."""
        kind = name.partition("/")[0] + "/"
        like = [each for each in names if each.startswith(kind)] or names
        more = ", ..." if len(like) > NAMES_SHOWN else ""
        super().__init__(
            f"there is no record {name!r}",
            todo=f"Give one that is there: {', '.join(like[:NAMES_SHOWN])}{more}.",
        )


def checked(path: Path, *, fingerprint: str = "", code: str = "") -> Verdict:
    """Check what lies at a path. Raises NothingToCheck, NotAFingerprint, NotACode."""
    if fingerprint and not is_fingerprint(fingerprint):
        raise NotAFingerprint(fingerprint)
    if code and not is_code(code):
        raise NotACode(code)
    try:
        verdict = _verdict(path)
    except OSError as error:
        raise NothingToCheck(path, error.strerror or "it cannot be read") from error
    against(verdict, fingerprint=fingerprint, code=code)
    return verdict


def _verdict(path: Path) -> Verdict:
    """Check what lies at a path, by what it is."""
    if path.is_dir():
        return check_folder(_folder(path))
    if path.suffix.casefold() == ".zip" or (path.is_file() and zipfile.is_zipfile(path)):
        return check_folder(_unzipped(path))
    return check_one(path.name, _one(path))


def _folder(path: Path) -> dict[str, bytes]:
    """Read every file of a folder, by its path within it."""
    inside = list(islice(path.rglob("*"), ENTRIES_MAX + 1))
    files = sorted(each for each in inside if each.is_file() and each.name not in LITTER)
    if len(inside) > ENTRIES_MAX:
        raise NothingToCheck(path, f"it holds more than {ENTRIES_MAX:,} files and folders")
    if not files:
        raise NothingToCheck(path, "the folder is empty")
    whole = sum(each.stat().st_size for each in files)
    if len(files) > FILES_MAX or whole > FILE_MAX_BYTES:
        why = f"the folder holds {len(files):,} files with {whole:,} bytes, more than any sheet"
        raise NothingToCheck(path, why)
    return {each.relative_to(path).as_posix(): _read(each) for each in files}


def _read(path: Path) -> bytes:
    """Read one file of a size that a work history has."""
    try:
        found = path.stat()
        if not stat.S_ISREG(found.st_mode):
            raise NothingToCheck(path, _NOT_PLAIN)
        most = TEXT_MAX_BYTES if path.suffix in (".html", ".json") else FILE_MAX_BYTES
        if found.st_size > most:
            raise NothingToCheck(path, f"it has {found.st_size:,} bytes, more than any sheet")
        with path.open("rb") as stream:
            content = stream.read(most)
    except OSError as error:
        raise NothingToCheck(path, error.strerror or "it cannot be read") from error
    return content


def _one(path: Path) -> bytes:
    """Read a file that proves something by itself."""
    content = _read(path)
    if content.startswith(b"%PDF-"):
        raise NothingToCheck(path, "a PDF alone proves nothing; the folder that it lies in does")
    return content


def _unzipped(path: Path) -> dict[str, bytes]:
    """Read the members of a zip, no more than a work history has."""
    if not path.is_file():
        raise NothingToCheck(path, "there is no such file" if not path.exists() else _NOT_PLAIN)
    try:
        with path.open("rb") as stream, open_zip(stream, ENTRIES_MAX) as archive:
            members = [each for each in archive.infolist() if not _litter(each)]
            why = _too_much(members)
            files = {} if why else {member.filename: archive.read(member) for member in members}
    except TooManyMembers as error:
        raise NothingToCheck(path, "it unpacks to more than a work history") from error
    except (OSError, *_NO_ZIP) as error:
        why = "it is no whole zip, or one with a password"
        raise NothingToCheck(path, why) from error
    if why:
        raise NothingToCheck(path, why)
    return _without_folder(files)


def _without_folder(files: dict[str, bytes]) -> dict[str, bytes]:
    """Take off the one folder that a packed folder's files all stand in."""
    tops = {name.partition("/")[0] for name in files}
    top = f"{tops.pop()}/" if len(tops) == 1 else ""
    inner = bool(top) and all(name.startswith(top) for name in files) and top != EVIDENCE
    return {name.removeprefix(top): each for name, each in files.items()} if inner else files


def _too_much(members: list[zipfile.ZipInfo]) -> str:
    """Say why a zip is not read; empty where it is."""
    if len(members) > FILES_MAX or sum(each.file_size for each in members) > FILE_MAX_BYTES:
        return "it unpacks to more than a work history"
    if any(each.file_size > TEXT_MAX_BYTES for each in members if each.filename[-5:] in TEXTS):
        return "it unpacks to more than a work history"
    names = [each.filename for each in members]
    if any(PurePosixPath(name).as_posix() != name or not _plain(name) for name in names):
        return "it holds a file whose name leads elsewhere when it is unpacked"
    twice = len({name.casefold() for name in names}) != len(names)
    return "it holds a file twice" if twice else ""


def _litter(member: zipfile.ZipInfo) -> bool:
    """Tell whether a member is a folder, or what a system leaves behind by itself."""
    path = PurePosixPath(member.filename)
    return member.filename.endswith("/") or path.name in LITTER or path.parts[:1] == ("__MACOSX",)


def _plain(name: str) -> bool:
    """Tell whether a name stays below the folder it is unpacked into, on any system."""
    parts = PurePosixPath(name).parts
    return ".." not in parts and not name.startswith("/") and not set(name) & set(":\\")


def said(path: Path, verdict: Verdict) -> list[str]:
    """Say what was found: faults first, then what is proven and what is not.

    What stands in the files is somebody else's: no sign of it acts on a terminal, and no line of
    it looks like one of ours.
    """
    return [_harmless(line) for line in _said(path, verdict)]


def _harmless(line: str) -> str:
    """Put U+FFFD where a sign would act rather than show: line ends, controls, directions."""
    return "".join(sign if sign.isprintable() or sign == "\u202f" else REPLACEMENT for sign in line)


def _said(path: Path, verdict: Verdict) -> list[str]:
    lines = []
    if verdict.faults:
        lines.append(_headline(path, verdict))
        lines += [f"  {fault.where}: {fault.what}" for fault in verdict.faults[:FAULTS_SHOWN]]
        if len(verdict.faults) > FAULTS_SHOWN:
            lines.append(f"  and {len(verdict.faults) - FAULTS_SHOWN} more")
        return [*lines, wp.NOT_TO_BE_TRUSTED]
    lines += _about(verdict)
    if verdict.withdrawn:
        lines.append(verdict.withdrawn)
    lines.append(wp.PROVEN if verdict.known else wp.CONSISTENT)
    lines += [f"  {text}" for text in verdict.unchanged]
    lines.append(wp.known_signer(verdict.fingerprint) if verdict.known else
                 wp.unknown_signer(verdict.fingerprint))  # fmt: skip
    if verdict.beside:
        shown = verdict.beside[:BESIDE_SHOWN]
        more = f" and {len(verdict.beside) - len(shown)} more" if shown != verdict.beside else ""
        lines.append(wp.not_covered(", ".join(shown) + more))
    return [*lines, wp.NOT_PROVEN]


def _headline(path: Path, verdict: Verdict) -> str:
    """Say at once what is wrong: no work history, another than was named, or altered."""
    if verdict.head is None:
        return wp.no_history(path.name)
    named = all(fault.where in (wp.THE_KEY, wp.THE_CODE) for fault in verdict.faults)
    return wp.another(path.name) if named else wp.changed(path.name)


def _about(verdict: Verdict) -> list[str]:
    """Say what the checked thing says that it is."""
    head = verdict.head or {}
    edition = wp.edition_of(head.get("edition", ""))
    about = f"{head.get('designation', '')}, {head.get('chassis', '')}".strip(", ")
    return [f"{about}: {edition}, {head.get('made_on', '')}. {wp.CODE} {verdict.code}."]


def said_json(path: Path, verdict: Verdict) -> dict[str, Any]:
    """Give the same for machines."""
    return {
        "path": str(path),
        "holds": verdict.holds,
        "faults": [{"where": fault.where, "what": fault.what} for fault in verdict.faults],
        "unchanged": verdict.unchanged if verdict.holds else [],
        "head": verdict.head,
        "code": verdict.code,
        "fingerprint": verdict.fingerprint,
        "signer": "known" if verdict.known else "unknown",
        "withdrawn": verdict.withdrawn or None,
        "not covered": verdict.beside,
        "not proven": wp.NOT_PROVEN,
    }


def one_record(path: Path, name: str) -> str:
    """Take one record out of a page, a JSON, or the JSON of a folder, that holds.

    Raises NothingToCheck, NoSuchRecord.
    """
    try:
        path = path / JSON if path.is_dir() else path
        content = _one(path)
    except OSError as error:
        raise NothingToCheck(path, error.strerror or "it cannot be read") from error
    is_json = content.lstrip()[:1] == b"{"
    found: Found = (check_json if is_json else check_html)(content, path.name)
    if found.faults:
        first = _harmless(f"{found.faults[0].where}: {found.faults[0].what}")
        raise NothingToCheck(path, first)
    proof = proof_in(content)
    shown = single(proof, name)
    if shown is None:
        raise NoSuchRecord(name, [each["record"]["name"] for each in proof["records"]])
    return shown
