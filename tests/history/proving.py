"""Builds a small page with its proof, with libraries alone, for the browser to check."""

from __future__ import annotations

import base64
import copy
import hashlib
import html
import io
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any

import rfc8785
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from PIL import Image

from recondition.history.wording_proof import CHECK_WORDS
from recondition.resources import resource

SCRIPT = (resource("templates") / "history-check.js").read_text(encoding="utf-8")
THICKNESS = "10\u202f000 µm"
TYPED = "That is all \U0001f698 \ufb33."
SIGNS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
HEAD = "recondition head 1"
KEY, OTHER_KEY = (Ed25519PrivateKey.from_private_bytes(bytes([n]) * 32) for n in (7, 8))


def point(colour: str) -> bytes:
    """Give a picture of a single point."""
    kept = io.BytesIO()
    Image.new("RGB", (1, 1), colour).save(kept, "PNG")
    return kept.getvalue()


POINTS = [point("grey"), point("navy")]


@dataclass(slots=True)
class Proved:
    """A proof as it stands in a page, and the page's parts that it speaks of."""

    proof: dict[str, Any]
    words: dict[str, str]
    pictures: list[bytes] = field(default_factory=lambda: list(POINTS))

    @property
    def records(self) -> list[dict[str, Any]]:
        """The records of the proof with salt and leaf hash."""
        found: list[dict[str, Any]] = self.proof["records"]
        return found

    @property
    def code(self) -> str:
        """The short code of the head as it is now."""
        return grouped(hashlib.sha256(rfc8785.dumps(self.proof["head"])).digest()[:10])

    @property
    def fingerprint(self) -> str:
        """The fingerprint of the key as it is now."""
        key = base64.b64decode(self.proof["key"])
        return grouped(hashlib.sha256(key).digest()[:20])


def grouped(content: bytes) -> str:
    """Write bytes in Crockford's base 32, in groups of four."""
    number, count = int.from_bytes(content), len(content) * 8 // 5
    bare = "".join(SIGNS[number >> 5 * place & 31] for place in reversed(range(count)))
    return "-".join(re.findall("....", bare))


def tree_root(leaves: Sequence[bytes]) -> bytes:
    """Give the root of RFC 6962, section 2.1, built up level by level."""
    level = list(leaves) or [hashlib.sha256(b"").digest()]
    while len(level) > 1:
        nodes = [
            hashlib.sha256(b"\x01" + b"".join(pair)).digest()
            for pair in zip(level[::2], level[1::2], strict=False)
        ]
        level = nodes + level[len(level) - len(level) % 2 :]
    return level[0]


def leaf_of(each: dict[str, Any]) -> bytes:
    """Give the leaf hash of a salted record."""
    leaf = bytes.fromhex(each["salt"]) + rfc8785.dumps(each["record"])
    return hashlib.sha256(b"\x00" + leaf).digest()


def signed(proof: dict[str, Any], key: Ed25519PrivateKey) -> dict[str, Any]:
    """Put leaf hashes, head and signature into a proof, as the key's holder would."""
    for place, each in enumerate(proof["records"], start=1):
        each["record"]["place"] = str(place)
        each["leaf"] = leaf_of(each).hex()
    files = hashlib.sha256(rfc8785.dumps(proof["files"])).hexdigest()
    root = tree_root([leaf_of(each) for each in proof["records"]]).hex()
    counted = str(len(proof["records"]))
    proof["head"] |= {"files_sha256": files, "records": counted, "root": root}
    message = HEAD.encode() + b"\n" + rfc8785.dumps(proof["head"])
    public = key.public_key().public_bytes_raw()
    proof["key"] = base64.b64encode(public).decode()
    proof["signature"] = base64.b64encode(key.sign(message)).decode()
    return proof


def _records() -> dict[str, dict[str, Any]]:
    """Give records with and without text, two with a picture, one with signs of mark-up."""
    shown = [hashlib.sha256(point).hexdigest() for point in POINTS]
    return {
        "title": {"text": ["Work history: Aldane Corriva", "Aldane Corriva"]},
        "columns": {"text": ["No.", "Place", "Finding"]},
        "finding/1": {"text": ["1", "bonnet", "swirls, before <2 & after>", THICKNESS]},
        "finding/2": {"text": ["2", "roof", "fading"], "severity": None, "late": False},
        "place/1": {"alt": "the bonnet on arrival", "picture_sha256": shown[0]},
        "place/2": {
            "alt": 'the "bonnet" afterwards',
            "picture_sha256": shown[1],
            "text": ["After"],
        },
        "private": {"odometer": "04237"},
        "end": {"text": [TYPED]},
    }


def proved() -> Proved:
    """Give the untouched proof."""
    records = [
        {"record": {"data": data, "name": name}, "salt": hashlib.sha256(name.encode()).hexdigest()}
        for name, data in _records().items()
    ]
    head = {
        "chassis": "AC16 S 004 217",
        "designation": "Aldane Corriva",
        "edition": "1",
        "format": HEAD,
        "made_on": "2025-06-20",
        "supersedes": "",
    }
    files = [{"bytes": "3", "path": "evidence/001.jpg", "sha256": "00" * 32}]
    proof = {"files": files, "format": "recondition proof 1", "head": head, "records": records}
    return Proved(copy.deepcopy(signed(proof, KEY)), dict(CHECK_WORDS))


def embedded(value: Any) -> str:
    """Write JSON so that it can stand within a script element."""
    text = rfc8785.dumps(value).decode()
    return re.sub("[<>&\u2028\u2029]", lambda sign: f"\\u{ord(sign[0]):04x}", text)


def _row(number: str, panel: str, defect: str, more: Iterable[str] = ()) -> str:
    """Write a row of the table, whose first cell heads it."""
    notes = "".join(f" <span>\n {html.escape(note)} </span>" for note in more)
    return (
        f'<tr data-record="finding/{number}"><th scope="row">{number}</th>'
        f'<td data-label="Place">{panel}</td>'
        f'<td data-label="Finding">{html.escape(defect)}{notes}</td></tr>'
    )


def page(made: Proved) -> str:
    """Write the page with its proof and the script, under the policy it is handed out with."""
    whole = base64.b64encode(hashlib.sha256(SCRIPT.encode()).digest()).decode()
    policy = (
        f"default-src 'none'; script-src 'sha256-{whole}'; style-src 'unsafe-inline'; img-src data:"
    )
    first, second = (base64.b64encode(picture).decode() for picture in made.pictures)
    return f"""<!DOCTYPE html>
<html lang="en"><head><meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="{policy}">
<title data-record="title">Work history:   Aldane
 Corriva</title><style>td::before {{ content: attr(data-label); }}</style></head>
<body>
<h1 data-record="title">Aldane Corriva</h1>
<p data-proof="status" data-state="not checked">not checked</p>
<table><thead data-record="columns"><tr><th>No.</th><th>Place</th><th>Finding</th></tr></thead>
<tbody>
{_row("1", "bonnet", "swirls, before <2 & after>", [THICKNESS])}
{_row("2", "roof", "fading")}
</tbody></table>
<img data-picture="place/1" alt="the bonnet on arrival" src="data:image/png;base64,{first}">
<figure data-record="place/2"><img data-picture="place/2" alt="the &quot;bonnet&quot; afterwards"
 src="data:image/png;base64,{second}"><figcaption>After</figcaption></figure>
<p data-record="end">{TYPED}</p>
<p data-proof="code">{made.code}</p><p data-proof="fingerprint">{made.fingerprint}</p>
<script type="application/json" id="proof">{embedded(made.proof)}</script>
<script type="application/json" id="check-words">{embedded(made.words)}</script>
<script>{SCRIPT}</script>
</body></html>
"""


def keys_of_the_script() -> set[str]:
    """Give the keys of all words that the script may ask for."""
    asked = set(re.findall(r'say\("(\w+)"', SCRIPT)) - {"fault_"}
    faults = {f"fault_{key}" for key in re.findall(r'fault\("(\w+)"', SCRIPT)}
    limits = set(re.findall(r'"(limit_\w+)"', SCRIPT))
    states = {"altered", "unchanged", "signed", "unsigned", "counts", "compare"}
    places = {"fault_code", "fault_fingerprint", "fault_proof"}
    return asked | faults | limits | states | places
