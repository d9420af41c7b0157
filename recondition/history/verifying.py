"""Checking a proof without the book: what was changed, and what is proven where nothing was.

Everything here takes bytes and gives faults; no input makes it raise. A fault names the
record, the file or the part that does not fit.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import Any

from recondition.history import merkle
from recondition.history.proof import (
    MANIFEST_FORMAT,
    PROOF_FORMAT,
    RECORD_FORMAT,
    SCRIPT,
    SCRIPT_END,
    head_hash,
    leaf_of,
    seal_said,
)
from recondition.history.signing import (
    HEAD,
    KEY_BYTES,
    SEAL,
    SIGNATURE_BYTES,
    canonical,
    code_of,
    fingerprint_of,
    holds,
    sha256,
    unb64,
)
from recondition.history.strictly import NotStrict, embedded, ordered, plain, pretty, read

FIGURES_MAX = 6
MISSING_MAX = 1000
# Where the seal begins in a JSON that is written the one way there is; no text has a line end.
_SEAL_AT = ',\n  "seal": {'
_HASH = re.compile("[0-9a-f]{64}")
_HEAD = (
    "chassis",
    "designation",
    "edition",
    "files_sha256",
    "format",
    "made_on",
    "records",
    "root",
    "supersedes",
)
_PROOF = ("files", "format", "head", "key", "records", "signature")
_RECORD = ("format", "head", "key", "signature", "path", "record", "salt")


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that does not fit: where it is and what is wrong with it."""

    where: str
    what: str


@dataclass(slots=True)
class Found:
    """What was found in one file. ``head`` is None where there was none to read.

    ``unchanged`` names what is covered by a signature that fits.
    """

    name: str
    faults: list[Fault] = field(default_factory=list)
    head: dict[str, Any] | None = None
    key: bytes | None = None
    records: list[dict[str, Any]] = field(default_factory=list)
    files: list[dict[str, Any]] = field(default_factory=list)
    unchanged: list[str] = field(default_factory=list)

    def wrong(self, what: str, where: str = "") -> None:
        """Note a fault of this file or of a part of it."""
        self.faults.append(Fault(f"{self.name}, {where}" if where else self.name, what))

    @property
    def code(self) -> str:
        """The short code; empty without a head."""
        return code_of(head_hash(self.head)) if self.head else ""

    @property
    def fingerprint(self) -> str:
        """The fingerprint of the key; empty without one."""
        return fingerprint_of(self.key) if self.key else ""


def decoded(found: Found, content: bytes) -> str | None:
    """Read bytes as UTF-8; a fault and None where they are none."""
    try:
        return content.decode("utf-8")
    except UnicodeDecodeError:
        found.wrong("it is not the text that was signed: its bytes are no UTF-8")
        return None


def parsed(found: Found, text: str, where: str = "") -> dict[str, Any] | None:
    """Read an object strictly; a fault and None where it is none."""
    try:
        value = read(text)
    except NotStrict as error:
        found.wrong(str(error), where)
        return None
    if isinstance(value, dict):
        return value
    found.wrong("it is no JSON object", where)
    return None


def check_html(content: bytes, name: str = "work-history.html") -> Found:
    """Check a work-history page alone: its seal, its head, every record in it."""
    found = Found(name)
    text = decoded(found, content)
    parts = text and {part: _element(text, part) for part in ("proof", "seal")}
    if not text or not parts or None in parts.values():
        found.wrong("it holds no proof, or more than one: it is no work history made here")
        return found
    proof, seal = (parsed(found, str(parts[part]), part) for part in ("proof", "seal"))
    if proof is None or seal is None:
        return found
    for part, value in (("proof", proof), ("seal", seal)):
        if embedded(value) != parts[part]:
            found.wrong("it is not written the one way that it is signed in", part)
    check_proof(found, proof)
    element = SCRIPT.format("seal")
    start = text.index(element) + len(element)
    _check_seal(found, "html", text[:start] + text[start + len(str(parts["seal"])) :], seal)
    return found


def proof_in(content: bytes) -> dict[str, Any]:
    """Give the proof out of a page or JSON that was checked and holds."""
    text = content.decode()
    whole = read(text if text.startswith("{") else str(_element(text, "proof")))
    proof: dict[str, Any] = whole.get("proof", whole)
    return proof


def _element(text: str, part: str) -> str | None:
    """Give what stands in the one script element of a name; None where there is not just one."""
    opening = SCRIPT.format(part)
    if text.count(opening) != 1 or text.count(f'id="{part}"') != 1:
        return None
    rest = text[text.index(opening) + len(opening) :]
    inner, closing, _ = rest.partition(SCRIPT_END)
    return inner if closing else None


def check_json(content: bytes, name: str = "work-history.json") -> Found:
    """Check the JSON of a work history alone."""
    found = Found(name)
    text = decoded(found, content)
    whole = None if text is None else parsed(found, text)
    if text is None or whole is None:
        return found
    proof, seal = whole.get("proof"), whole.get("seal")
    if not isinstance(proof, dict) or not isinstance(seal, dict) or list(whole)[-1] != "seal":
        found.wrong("it holds no proof and seal: it is no work history made here")
        return found
    written = pretty(whole) == text
    if not written:
        found.wrong("it is not written the one way that it is signed in")
    check_proof(found, proof)
    if written:
        _check_seal(found, "json", text[: text.rindex(_SEAL_AT)] + "\n}\n", seal)
    return found


def _check_seal(found: Found, medium: str, text: str, seal: dict[str, Any]) -> None:
    """Check the signature over a file as a whole."""
    signature = unb64(seal.get("signature"), SIGNATURE_BYTES)
    shape = list(seal) == ["format", "sha256", "signature"] and seal.get("format") == SEAL
    if not shape or signature is None:
        found.wrong("it is not of the form of a seal", "seal")
        return
    if found.head is None or found.key is None:
        return
    said = seal_said(medium, text, found.head)
    if seal["sha256"] != said["sha256"]:
        found.wrong("something in it was changed after it was sealed")
    elif not holds(found.key, signature, SEAL, said):
        found.wrong("the signature does not fit: another key, or another sheet", "seal")
    elif not found.faults:
        found.unchanged.append(f"every byte of {found.name}")


def check_proof(found: Found, proof: dict[str, Any]) -> None:
    """Check the head's signature, the tree, and every record against its leaf."""
    shape = tuple(proof) == _PROOF and proof["format"] == PROOF_FORMAT and plain(proof)
    if not shape or not _lists(proof):
        found.wrong("it is not of the form of a proof", "proof")
        return
    _check_head(found, proof)
    _check_files(found, proof["files"])
    found.records = proof["records"]
    leaves = [_checked_leaf(found, place, each) for place, each in enumerate(found.records, 1)]
    _check_places(found)
    _check_root(found, [leaf for leaf in leaves if leaf])
    if not found.faults:
        found.unchanged.append(f"{len(leaves)} records in {found.name}")


def _lists(proof: dict[str, Any]) -> bool:
    """Tell whether files and records are lists of objects."""
    return all(
        isinstance(proof[part], list) and all(isinstance(each, dict) for each in proof[part])
        for part in ("files", "records")
    )


def _check_head(found: Found, proof: dict[str, Any]) -> None:
    """Check the signature of the head; keeps head and key where they can be read."""
    head, key = proof["head"], unb64(proof["key"], KEY_BYTES)
    signature = unb64(proof["signature"], SIGNATURE_BYTES)
    shape = isinstance(head, dict) and tuple(head) == _HEAD
    if not shape or not all(isinstance(said, str) for said in head.values()):
        found.wrong("it is not of the form of a head", "head")
        return
    if head["format"] != HEAD:
        found.wrong(f"it is of the form {head['format']!r}, which is not known here", "head")
        return
    found.head = head
    if key is None or signature is None:
        found.wrong("key or signature is not written the one way there is", "head")
        return
    found.key = key
    if not holds(key, signature, HEAD, head):
        found.wrong("the signature does not fit what it says", "head")


def _check_files(found: Found, files: list[dict[str, Any]]) -> None:
    """Check the list of evidence files against the head."""
    found.files = files
    if found.head and sha256(canonical(files)) != found.head["files_sha256"]:
        found.wrong("the list is not the one that was signed", "list of evidence files")


def _named(each: dict[str, Any], place: int) -> str:
    """Name a record by what it calls itself, else by where it stands."""
    own = each.get("record")
    name = own.get("name") if isinstance(own, dict) else each.get("name")
    return f"record {name}" if isinstance(name, str) else f"record in place {place}"


def _checked_leaf(found: Found, place: int, each: dict[str, Any]) -> bytes | None:
    """Check a record against its leaf; gives the leaf as it is listed."""
    where = _named(each, place)
    own, salt, listed = each.get("record"), _hash(each.get("salt")), _hash(each.get("leaf"))
    shape = list(each) == ["leaf", "record", "salt"] and isinstance(own, dict)
    if not shape or list(own or ()) != ["data", "name", "place"] or not salt or not listed:
        found.wrong("it is not of the form of a record", where)
        return listed
    if leaf_of(salt, own or {}) != listed:
        found.wrong("it was changed: it does not lead to its hash", where)
    return listed


def _hash(value: object) -> bytes | None:
    """Read 32 bytes written in small hex; None for anything else."""
    return bytes.fromhex(value) if isinstance(value, str) and _HASH.fullmatch(value) else None


def _check_places(found: Found) -> None:
    """Find records that are missing, moved or there twice by the place that each one names."""
    places = [_place(each) for each in found.records]
    count = _number(found.head["records"]) if found.head else 0
    if count <= len(places) + MISSING_MAX:
        known = set(places)
        for at in range(1, count + 1):
            if str(at) not in known:
                found.wrong("it was dropped", f"record in place {at}")
    seen: set[str] = set()
    highest = 0
    for at, (place, each) in enumerate(zip(places, found.records, strict=True), start=1):
        name = _named(each, at)
        if place in seen or name in seen:
            found.wrong("it is there twice", name)
        elif _number(place) < highest:
            found.wrong("it was moved to another place", name)
        seen |= {place, name}
        highest = max(highest, _number(place))


def _place(each: dict[str, Any]) -> str:
    own = each.get("record")
    return str(own.get("place", "")) if isinstance(own, dict) else ""


def _number(text: str) -> int:
    """Read a whole number of up to six figures; 0 for anything else."""
    return int(text) if text.isascii() and text.isdigit() and len(text) <= FIGURES_MAX else 0


def _check_root(found: Found, leaves: list[bytes]) -> None:
    """Check the tree against the head."""
    if found.head is None:
        return
    if str(len(found.records)) != found.head["records"]:
        found.wrong(f"there are {len(found.records)} and not {found.head['records']}", "records")
    elif merkle.root(leaves).hex() != found.head["root"]:
        found.wrong("the list of records is not the one that was signed", "records")


def check_manifest(content: bytes, name: str) -> Found:
    """Check a manifest: the signature, and that names and leaf hashes lead to the root."""
    found = Found(name)
    text = decoded(found, content)
    whole = None if text is None else parsed(found, text)
    if whole is None:
        return found
    shape = tuple(whole) == _PROOF and whole["format"] == MANIFEST_FORMAT and plain(whole)
    if not shape or not _lists(whole) or pretty(ordered(whole)) != text:
        found.wrong("it is not of the form of a manifest, or not written the one way it is signed")
        return found
    _check_head(found, whole)
    _check_files(found, whole["files"])
    found.records = whole["records"]
    leaves = [_hash(each.get("leaf")) for each in found.records]
    if None in leaves or any(list(each) != ["leaf", "name"] for each in found.records):
        found.wrong("it lists a record without its hash", "records")
    _check_root(found, [leaf for leaf in leaves if leaf])
    return found


def check_record(content: bytes, name: str = "record") -> Found:
    """Check one record that is shown alone: its path must lead to the signed root."""
    found = Found(name)
    text = decoded(found, content)
    whole = None if text is None else parsed(found, text)
    if whole is None:
        return found
    shape = tuple(whole) == _RECORD and whole["format"] == RECORD_FORMAT and plain(whole)
    own, audit = whole.get("record"), whole.get("path")
    if not shape or not isinstance(own, dict) or not isinstance(audit, list):
        found.wrong("it is not of the form of a record shown alone")
        return found
    if pretty({name: ordered(value) for name, value in whole.items()}) != text:
        found.wrong("it is not written the one way that it is signed in")
    _check_head(found, whole)
    salt, steps = _hash(whole["salt"]), [_hash(step) for step in audit]
    place, count = (
        _number(str(own.get("place", ""))),
        _number((found.head or {}).get("records", "")),
    )
    leads = None
    if salt and None not in steps:
        known = [step for step in steps if step]
        leads = merkle.root_from(leaf_of(salt, own), place - 1, count, known)
    found.records = [{"record": own}]
    if found.head and (leads is None or leads.hex() != found.head["root"]):
        found.wrong("it does not lead to the root that was signed", f"record {own.get('name')}")
    if not found.faults:
        found.unchanged.append(f"the record {own.get('name')}, one of {count}")
    return found
