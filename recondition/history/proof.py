"""The proof of a work history: salted records in a Merkle tree under one signed head.

    leaf  = salt (32 bytes) || canonical text (RFC 8785) of a record
    root  = Merkle root over the leaves (RFC 6962)
    head  = edition, date, vehicle, root, hash of the list of files; signed (Ed25519)
    code  = the first 80 bits of the head's SHA-256, printed on paper

A record is its name, its place in the list and its data, all of it text. The page and the
JSON carry the whole proof and are sealed: a second signature over the file itself. The
manifest lists names and leaf hashes only. The release signs the hashes of the finished files.
"""

from __future__ import annotations

import hashlib
import hmac
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from recondition.history import merkle
from recondition.history.signing import (
    HEAD,
    RELEASE,
    SEAL,
    WITHDRAWAL,
    Signer,
    b64,
    canonical,
    code_of,
    sha256,
)
from recondition.history.strictly import embedded, ordered, pretty

PROOF_FORMAT = "recondition proof 1"
MANIFEST_FORMAT = "recondition manifest 1"
RECORD_FORMAT = "recondition record 1"

SCRIPT = '<script type="application/json" id="{}">'
SCRIPT_END = "</script>"

PlainValue = dict[str, Any]


@dataclass(frozen=True, slots=True)
class File:
    """A file of the release: its path within the folder and its bytes."""

    path: str
    content: bytes

    def listed(self) -> PlainValue:
        """Give its line in a list of files."""
        size = str(len(self.content))
        return {"bytes": size, "path": self.path, "sha256": sha256(self.content)}


@dataclass(frozen=True, slots=True, kw_only=True)
class About:
    """What the head says besides hashes. ``supersedes`` is the head hash of the one before."""

    designation: str
    chassis: str
    edition: str
    made_on: str
    supersedes: str = ""


def record(name: str, data: PlainValue) -> PlainValue:
    """Make a record; its place is put in when the list is whole."""
    return {"data": data, "name": name}


def placed(records: Iterable[PlainValue]) -> list[PlainValue]:
    """Give every record its place, from 1, so that one that is dropped or moved is missed."""
    return [each | {"place": str(place)} for place, each in enumerate(records, start=1)]


def salts(secret: bytes, records: Sequence[PlainValue]) -> list[bytes]:
    """Give a salt of 32 bytes for each record: known to whoever has the secret, nobody else.

    The same records get the same salts, so that a sheet made twice is the same sheet.
    """
    seed = hmac.digest(secret, b"salts of a work history" + canonical(records), "sha256")
    return [hmac.digest(seed, str(place).encode(), "sha256") for place in range(len(records))]


def leaf_of(salt: bytes, each: PlainValue) -> bytes:
    """Give the leaf hash of a record."""
    return merkle.leaf_hash(salt + canonical(each))


def proof_of(
    records: Sequence[PlainValue],
    files: Sequence[File],
    about: About,
    *,
    secret: bytes,
    signer: Signer,
) -> PlainValue:
    """Make the whole proof of placed records and evidence files."""
    salted = [
        {"leaf": leaf_of(salt, each).hex(), "record": each, "salt": salt.hex()}
        for salt, each in zip(salts(secret, records), records, strict=True)
    ]
    listed = [file.listed() for file in files]
    head = {
        "chassis": about.chassis,
        "designation": about.designation,
        "edition": about.edition,
        "files_sha256": sha256(canonical(listed)),
        "format": HEAD,
        "made_on": about.made_on,
        "records": str(len(records)),
        "root": merkle.root([bytes.fromhex(str(each["leaf"])) for each in salted]).hex(),
        "supersedes": about.supersedes,
    }
    return {
        "files": listed,
        "format": PROOF_FORMAT,
        "head": head,
        "key": b64(signer.public),
        "records": salted,
        "signature": signer.signature(HEAD, head),
    }


def head_hash(head: PlainValue) -> bytes:
    """Give the SHA-256 of a head."""
    return hashlib.sha256(canonical(head)).digest()


def code(proof: PlainValue) -> str:
    """Give the short code that is printed on paper."""
    return code_of(head_hash(proof["head"]))


def manifest_of(proof: PlainValue) -> str:
    """Write the manifest: the signed head with the names and hashes it rests on."""
    listed = [{"leaf": each["leaf"], "name": each["record"]["name"]} for each in proof["records"]]
    return pretty(proof | {"format": MANIFEST_FORMAT, "records": listed})


def sealed_html(page: str, proof: PlainValue, signer: Signer) -> str:
    """Put the seal into a page that carries the proof and an empty element for the seal.

    Raises ValueError where the page has not just one of each.
    """
    empty = SCRIPT.format("seal") + SCRIPT_END
    if page.count(empty) != 1 or page.count(SCRIPT.format("proof")) != 1:
        message = "the page has no place for its proof"
        raise ValueError(message)
    seal = _seal("html", page, proof, signer)
    return page.replace(empty, SCRIPT.format("seal") + embedded(seal) + SCRIPT_END)


def sealed_json(document: PlainValue, proof: PlainValue, signer: Signer) -> str:
    """Write a JSON document with its proof and, last, its seal."""
    whole = document | {"proof": proof}
    return pretty(whole | {"seal": _seal("json", pretty(whole), proof, signer)})


def _seal(medium: str, text: str, proof: PlainValue, signer: Signer) -> PlainValue:
    said = seal_said(medium, text, proof["head"])
    return {
        "format": SEAL,
        "sha256": said["sha256"],
        "signature": signer.signature(SEAL, said),
    }


def seal_said(medium: str, text: str, head: PlainValue) -> PlainValue:
    """Give what a seal signs: the medium, the head it belongs to, the text without the seal."""
    return {"head": head_hash(head).hex(), "medium": medium, "sha256": sha256(text.encode())}


def release_of(files: Sequence[File], proof: PlainValue, signer: Signer) -> str:
    """Write the release: it signs the hashes of the finished files of one edition."""
    said = {
        "code": code(proof),
        "edition": proof["head"]["edition"],
        "files": [file.listed() for file in files],
        "format": RELEASE,
        "head": head_hash(proof["head"]).hex(),
        "key": b64(signer.public),
    }
    return pretty(said | {"signature": signer.signature(RELEASE, said)})


def withdrawal_of(
    *, head: str, edition: str, withdrawn_on: str, reason: str, signer: Signer
) -> str:
    """Write the notice that an edition was withdrawn, to lie beside what was handed out."""
    said = {
        "edition": edition,
        "format": WITHDRAWAL,
        "head": head,
        "key": b64(signer.public),
        "reason": reason,
        "withdrawn_on": withdrawn_on,
    }
    return pretty(said | {"signature": signer.signature(WITHDRAWAL, said)})


def single(proof: PlainValue, name: str) -> str | None:
    """Write one record with the path that ties it to the signed head; None if it is not there.

    The other records appear as hashes of salted texts, which nobody can guess. Page and JSON
    give the same file.
    """
    leaves = [bytes.fromhex(each["leaf"]) for each in proof["records"]]
    for index, each in enumerate(proof["records"]):
        if each["record"]["name"] == name:
            audit = [step.hex() for step in merkle.path(leaves, index)]
            shown = {"path": audit, "record": ordered(each["record"]), "salt": each["salt"]}
            own = {key: proof[key] for key in ("head", "key", "signature")}
            return pretty({"format": RECORD_FORMAT, **own, **shown})
    return None
