"""Checking a whole folder of a work history, and saying exactly what is proven and what is not."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from recondition.history import wording_proof as w
from recondition.history.proof import head_hash
from recondition.history.signing import (
    KEY_BYTES,
    RELEASE,
    SIGNATURE_BYTES,
    WITHDRAWAL,
    holds,
    same_code,
    sha256,
    unb64,
)
from recondition.history.strictly import ordered, plain, pretty
from recondition.history.verifying import (
    Fault,
    Found,
    check_html,
    check_json,
    check_manifest,
    check_record,
    decoded,
    parsed,
)

HTML, PDF, JSON = "work-history.html", "work-history.pdf", "work-history.json"
MANIFEST, RELEASED = "work-history-manifest.json", "work-history-release.json"
WITHDRAWN = "work-history-withdrawn.json"
EVIDENCE = "work-history-evidence/"

NOT_THIS_EDITION = "it belongs to another edition than the release does"
OTHER_EDITION = "it belongs to another edition than the files beside it do"
_RELEASE = ("code", "edition", "files", "format", "head", "key", "signature")
_WITHDRAWAL = ("edition", "format", "head", "key", "reason", "signature", "withdrawn_on")


@dataclass(slots=True)
class Verdict:
    """What checking found: faults, what is proven, and what the reader should know besides.

    ``known`` tells whether the reader gave the fingerprint and it is that of the key.
    ``beside`` names files that are no part of what was signed.
    """

    faults: list[Fault] = field(default_factory=list)
    unchanged: list[str] = field(default_factory=list)
    head: dict[str, Any] | None = None
    code: str = ""
    fingerprint: str = ""
    known: bool = False
    withdrawn: str = ""
    beside: list[str] = field(default_factory=list)

    @property
    def holds(self) -> bool:
        """Whether nothing was found that does not fit."""
        return not self.faults

    def take(self, found: Found) -> None:
        """Take over what was found in one file."""
        self.faults += found.faults
        self.unchanged += found.unchanged
        if self.head is None and found.head is not None and found.key is not None:
            self.head, self.code, self.fingerprint = found.head, found.code, found.fingerprint

    def wrong(self, where: str, what: str) -> None:
        """Note a fault."""
        self.faults.append(Fault(where, what))


def check_one(name: str, content: bytes) -> Verdict:
    """Check a page, a JSON, or a record that is shown alone, by what it is."""
    verdict = Verdict()
    if content.removeprefix(b"\xef\xbb\xbf").lstrip()[:1] == b"{":
        alone = b'"format": "recondition record 1"' in content[:100]
        way = check_record if alone else check_json
    else:
        way = check_html
    verdict.take(_read_as_mailed(way, content, name))
    return verdict


def check_folder(files: Mapping[str, bytes]) -> Verdict:
    """Check every file of a folder against its release, and each part against the others.

    ``files`` gives the bytes of each file by its path within the folder, with "/".
    """
    verdict = Verdict()
    checked = _checked(files)
    for found in checked.values():
        verdict.take(found)
    if MANIFEST not in checked:
        verdict.wrong(MANIFEST, "it is missing")
    _check_release(verdict, files, checked)
    _check_same(verdict, checked)
    _check_evidence(verdict, files, checked.get(MANIFEST))
    _check_withdrawal(verdict, files)
    return verdict


def _read_as_mailed(check: Callable[[bytes, str], Found], content: bytes, name: str) -> Found:
    """Check a file; where only its line ends or a byte order mark differ, say just that."""
    found = check(content, name)
    plainer = content.removeprefix(b"\xef\xbb\xbf").replace(b"\r\n", b"\n").rstrip() + b"\n"
    if found.faults and plainer != content and not check(plainer, name).faults:
        found.faults = [Fault(name, w.MAILED)]
    return found


def _checked(files: Mapping[str, bytes]) -> dict[str, Found]:
    """Check each part that proves something by itself."""
    ways: dict[str, Callable[[bytes, str], Found]] = {
        MANIFEST: check_manifest,
        JSON: check_json,
        HTML: check_html,
    }
    return {
        name: _read_as_mailed(way, files[name], name) for name, way in ways.items() if name in files
    }


def _check_release(
    verdict: Verdict, files: Mapping[str, bytes], checked: Mapping[str, Found]
) -> None:
    """Check the release's signature and the hash of every file that it names."""
    found = Found(RELEASED)
    said = _signed(found, files.get(RELEASED), _RELEASE, RELEASE) if RELEASED in files else None
    if RELEASED not in files:
        found.wrong("it is missing")
    verdict.take(found)
    if said is None:
        return
    listed = said["files"]
    if not isinstance(listed, list) or not all(isinstance(each, dict) for each in listed):
        verdict.wrong(RELEASED, "it lists no files")
        return
    for each in listed:
        _check_file(verdict, files, each, RELEASED)
    if not found.faults:
        verdict.unchanged.append(f"{len(listed)} files named in {RELEASED}")
    _check_one_edition(verdict, said, found, checked)
    known = {str(each.get("path")) for each in listed} | {RELEASED, WITHDRAWN}
    _check_beside(verdict, sorted(set(files) - known))


def _check_one_edition(
    verdict: Verdict, said: Mapping[str, Any], found: Found, checked: Mapping[str, Found]
) -> None:
    """Check that every part is of the release's edition and key.

    Where all parts agree with one another it is the release that does not fit.
    """
    parts = {name: part for name, part in checked.items() if part.head and part.key}
    heads = {name: head_hash(part.head or {}).hex() for name, part in parts.items()}
    apart = [name for name in parts if heads[name] != said["head"]]
    together = len(apart) > 1 and len(apart) == len(parts) and len(set(heads.values())) == 1
    for name in [RELEASED] if together else apart:
        verdict.wrong(name, OTHER_EDITION if together else NOT_THIS_EDITION)
    for name, part in parts.items():
        if part.fingerprint != found.fingerprint:
            verdict.wrong(name, "it is signed with another key than the release is")
        own = (part.code, (part.head or {}).get("edition"))
        if name not in apart and own != (said["code"], said["edition"]):
            verdict.wrong(RELEASED, f"its code or edition is not that of {name}")


def _check_beside(verdict: Verdict, names: list[str]) -> None:
    """Files that nobody signed: a fault among the evidence, to be said elsewhere."""
    for name in names:
        if name.startswith(EVIDENCE):
            verdict.wrong(name, "it is no part of what was signed")
        else:
            verdict.beside.append(name)


def _check_file(
    verdict: Verdict, files: Mapping[str, bytes], each: Mapping[str, Any], by: str
) -> None:
    """Check one file against a line of a list."""
    path = str(each.get("path"))
    content = files.get(path)
    if content is None:
        verdict.wrong(path, f"it is missing; {by} names it")
    elif sha256(content) != each.get("sha256") or str(len(content)) != each.get("bytes"):
        verdict.wrong(path, f"it was changed: it is not the file that {by} names")


def _signed(
    found: Found, content: bytes | None, names: tuple[str, ...], purpose: str
) -> dict[str, Any] | None:
    """Read a small signed file and check its form and signature; None where they fail."""
    text = None if content is None else decoded(found, content)
    whole = None if text is None else parsed(found, text)
    if whole is None:
        return None
    said = {name: value for name, value in whole.items() if name != "signature"}
    right = tuple(sorted(whole)) == names and whole["format"] == purpose and plain(whole)
    if not right or pretty(ordered(said) | {"signature": whole["signature"]}) != text:
        found.wrong("it is not of the form that is signed, or not written the one way it is")
        return None
    key = unb64(whole["key"], KEY_BYTES)
    signature = unb64(whole["signature"], SIGNATURE_BYTES)
    if key is None or signature is None or not holds(key, signature, purpose, said):
        found.wrong("the signature does not fit what it says")
        return None
    found.key = key
    return said


def _check_same(verdict: Verdict, checked: Mapping[str, Found]) -> None:
    """Check that the manifest names just the records of page and JSON of its edition.

    The names in it are not under the root, so what does not fit is the manifest.
    """
    listed = checked.get(MANIFEST)
    if listed is None or listed.faults:
        return
    names = [(each["name"], each["leaf"]) for each in listed.records]
    for medium in (JSON, HTML):
        found = checked.get(medium)
        if found is None or found.faults or found.head != listed.head:
            continue
        own = [(each["record"]["name"], each["leaf"]) for each in found.records]
        if own != names:
            verdict.wrong(MANIFEST, f"the records that it names are not those of {medium}")


def _check_evidence(verdict: Verdict, files: Mapping[str, bytes], listed: Found | None) -> None:
    """Check the evidence files against the manifest."""
    if listed is None or listed.faults:
        return
    for each in listed.files:
        _check_file(verdict, files, each, MANIFEST)


def _check_withdrawal(verdict: Verdict, files: Mapping[str, bytes]) -> None:
    """Read the notice that an edition was withdrawn, where one lies there."""
    if WITHDRAWN not in files:
        return
    found = Found(WITHDRAWN)
    said = _signed(found, files[WITHDRAWN], _WITHDRAWAL, WITHDRAWAL)
    verdict.faults += found.faults
    if said is None:
        return
    if verdict.fingerprint != found.fingerprint:
        verdict.wrong(WITHDRAWN, "it is signed with another key than the sheet is")
    elif verdict.head is None or head_hash(verdict.head).hex() != said["head"]:
        verdict.beside.append(f"{WITHDRAWN} (of another edition)")
    else:
        verdict.withdrawn = w.was_withdrawn(said["edition"], said["withdrawn_on"], said["reason"])


def against(verdict: Verdict, *, fingerprint: str = "", code: str = "") -> None:
    """Hold a verdict against what the reader brought: the key's fingerprint, the printed code."""
    if fingerprint and verdict.fingerprint:
        verdict.known = same_code(fingerprint, verdict.fingerprint)
        if not verdict.known:
            verdict.wrong(w.THE_KEY, w.other_key(verdict.fingerprint))
    if code and verdict.head is not None and not same_code(code, verdict.code):
        verdict.wrong(w.THE_CODE, w.other_code(verdict.code))
