"""Random alterations of a work history by somebody without the key, byte by byte and by record.

Each takes a source of chance and gives what is altered; none gives back what it was given.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from typing import Any

from recondition.history import merkle, proof, strictly
from recondition.history.signing import HEAD, SEAL, b64, sha256
from tests.history.forging import FOREIGN

Chance = random.Random
Whole = dict[str, Any]
Alter = Callable[[Chance, Whole, Whole], None]


def flipped(chance: Chance, content: bytes) -> bytes:
    """Turn one bit over."""
    changed = bytearray(content)
    changed[chance.randrange(len(content))] ^= 1 << chance.randrange(8)
    return bytes(changed)


def replaced(chance: Chance, content: bytes) -> bytes:
    """Put another byte in the place of one."""
    changed, at = bytearray(content), chance.randrange(len(content))
    changed[at] = (changed[at] + chance.randrange(1, 256)) % 256
    return bytes(changed)


def inserted(chance: Chance, content: bytes) -> bytes:
    """Put a byte in."""
    at = chance.randrange(len(content) + 1)
    return content[:at] + chance.randbytes(1) + content[at:]


def deleted(chance: Chance, content: bytes) -> bytes:
    """Take a byte out."""
    at = chance.randrange(len(content))
    return content[:at] + content[at + 1 :]


BYTES = (flipped, replaced, inserted, deleted)


def copied(whole: Whole) -> Whole:
    """Copy a proof as deep as the alterations reach."""
    records = [
        each | {"record": each["record"] | {"data": dict(each["record"]["data"])}}
        for each in whole["records"]
    ]
    files = [dict(each) for each in whole["files"]]
    return whole | {"files": files, "head": dict(whole["head"]), "records": records}


def _any_of(chance: Chance, whole: Whole) -> int:
    return chance.randrange(len(whole["records"]))


def dropped(chance: Chance, whole: Whole, _other: Whole) -> None:
    """Take a record out."""
    del whole["records"][_any_of(chance, whole)]


def exchanged(chance: Chance, whole: Whole, _other: Whole) -> None:
    """Let two records change places."""
    records = whole["records"]
    one, two = chance.sample(range(len(records)), 2)
    records[one], records[two] = records[two], records[one]


def doubled(chance: Chance, whole: Whole, _other: Whole) -> None:
    """Put a record in a second time."""
    whole["records"].insert(_any_of(chance, whole), whole["records"][_any_of(chance, whole)])


def _reworded(chance: Chance, whole: Whole) -> Whole:
    """Change a text in the data of a record; give the salted record."""
    shown = [each for each in whole["records"] if each["record"]["data"].get("text")]
    each: Whole = chance.choice(shown)
    data = each["record"]["data"]
    data["text"] = [*data["text"][:-1], data["text"][-1] + "!"]
    return each


def reworded(chance: Chance, whole: Whole, _other: Whole) -> None:
    """Change a text in the data of a record."""
    _reworded(chance, whole)


def reworded_with_its_tree(chance: Chance, whole: Whole, _other: Whole) -> None:
    """Change a text, and its leaf and the root with it, without signing anew."""
    each = _reworded(chance, whole)
    leaf = proof.leaf_of(bytes.fromhex(each["salt"]), each["record"])
    each["leaf"] = leaf.hex()
    leaves = [bytes.fromhex(one["leaf"]) for one in whole["records"]]
    whole["head"]["root"] = merkle.root(leaves).hex()


def resalted(chance: Chance, whole: Whole, _other: Whole) -> None:
    """Change a salt."""
    whole["records"][_any_of(chance, whole)]["salt"] = chance.randbytes(32).hex()


def released_elsewhere(chance: Chance, whole: Whole, other: Whole) -> None:
    """Put a record of another vehicle's sheet in the place of one."""
    whole["records"][_any_of(chance, whole)] = chance.choice(other["records"])


def pictures_exchanged(chance: Chance, whole: Whole, _other: Whole) -> None:
    """Let two evidence records change their pictures."""
    shown = [each["record"]["data"] for each in whole["records"]]
    pair = chance.sample([data for data in shown if data.get("picture_sha256")], 2)
    hashes = [data["picture_sha256"] for data in pair]
    for data, hashed in zip(pair, reversed(hashes), strict=True):
        data["picture_sha256"] = hashed


def files_exchanged(chance: Chance, whole: Whole, _other: Whole) -> None:
    """Let two evidence files change their hashes."""
    pair = chance.sample(whole["files"], 2)
    hashes = [each["sha256"] for each in pair]
    for each, hashed in zip(pair, reversed(hashes), strict=True):
        each["sha256"] = hashed


def renamed(chance: Chance, whole: Whole, _other: Whole) -> None:
    """Give a record the name of another."""
    one, two = chance.sample(whole["records"], 2)
    one["record"]["name"] = two["record"]["name"]


def head_changed(chance: Chance, whole: Whole, _other: Whole) -> None:
    """Change a text of the head."""
    name = chance.choice(sorted(whole["head"]))
    whole["head"][name] += "1"


def foreign_signature(_chance: Chance, whole: Whole, _other: Whole) -> None:
    """Sign the head with another key."""
    whole["signature"] = FOREIGN.signature(HEAD, whole["head"])


def foreign_key(_chance: Chance, whole: Whole, _other: Whole) -> None:
    """Name another key."""
    whole["key"] = b64(FOREIGN.public)


def foreign_head(chance: Chance, whole: Whole, other: Whole) -> None:
    """Name another key and sign the head with it, but no more."""
    foreign_signature(chance, whole, other)
    foreign_key(chance, whole, other)


def other_head(_chance: Chance, whole: Whole, other: Whole) -> None:
    """Put the signed head of another sheet in the place of its own."""
    whole["head"], whole["signature"] = other["head"], other["signature"]


RECORDS: tuple[Alter, ...] = (
    dropped, exchanged, doubled, reworded, reworded_with_its_tree, resalted, released_elsewhere,
    pictures_exchanged, files_exchanged, renamed, head_changed, foreign_signature, foreign_key,
    foreign_head, other_head,
)  # fmt: skip


def cut(page: str, part: str) -> tuple[str, str, str]:
    """Part a page around what stands in one of its script elements."""
    before, mark, rest = page.partition(proof.SCRIPT.format(part))
    inner, end, after = rest.partition(proof.SCRIPT_END)
    return before + mark, inner, end + after


def put(page: str, part: str, value: Any) -> str:
    """Put a value into a script element of a page."""
    before, _, after = cut(page, part)
    return before + (strictly.embedded(value) if value else "") + after


def page_with(page: str, changed: Whole, seal: Whole, *, rehashed: bool) -> bytes:
    """Write a page with a changed proof; where asked the seal has the new hash, unsigned."""
    empty = put(put(page, "proof", changed), "seal", None)
    return put(empty, "seal", _seal(seal, empty, rehashed=rehashed)).encode()


def json_with(document: Whole, changed: Whole, *, rehashed: bool) -> bytes:
    """Write a JSON with a changed proof, in the same way."""
    rest = {name: value for name, value in document.items() if name != "seal"}
    rest["proof"] = changed
    seal = _seal(document["seal"], strictly.pretty(rest), rehashed=rehashed)
    return strictly.pretty(rest | {"seal": seal}).encode()


def manifest_with(changed: Whole) -> bytes:
    """Write the manifest of a changed proof."""
    return proof.manifest_of(changed).encode()


def _seal(seal: Whole, text: str, *, rehashed: bool) -> Whole:
    """Give a seal as it was, or with the hash of another text and somebody else's signature."""
    if not rehashed:
        return seal
    said = {"sha256": sha256(text.encode())}
    return {"format": SEAL, **said, "signature": FOREIGN.signature(SEAL, said)}
