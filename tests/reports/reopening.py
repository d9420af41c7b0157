"""What the tests of reopened outputs share: pictures, pages and things planted."""

from __future__ import annotations

import io
import json
import struct
import zipfile
import zlib
from datetime import date
from decimal import Decimal
from typing import Any

from PIL import Image

from recondition.history.net import Secret, Shown, Sort, search, secrets_of
from recondition.reports.reopened import reopened
from recondition.reports.typeset import typeset

SPOT = (Decimal("51.507111"), Decimal("-0.127778"))
# One of each sort; the last two are how a coordinate is written.
PLANTED = ["64,819.85", "R. Ashgrove", "The owner wants it gone by summer.", "51.5072"]
SECRETS = [
    Secret(Sort.AMOUNT, "64,819.85 USD", "sale S-1, price", ("64819.85",)),
    Secret(Sort.NAME, "R. Ashgrove", "person R-1, name", ("R. Ashgrove",)),
    Secret(Sort.NOTE, "wants it gone", "vehicle V-1, private note", ("ownerwantsitgonebysummer",)),
    *secrets_of((), shown=Shown(), places=[SPOT]),
]
SAID = " / ".join(PLANTED)


def jpeg(**more: Any) -> bytes:
    """Give a JPEG of 96 x 64 pixels."""
    file = io.BytesIO()
    image = Image.radial_gradient("L").resize((96, 64)).convert("RGB")
    image.save(file, "JPEG", **more)
    return file.getvalue()


def png(**more: Any) -> bytes:
    """Give a PNG of 96 x 64 pixels."""
    file = io.BytesIO()
    Image.new("RGB", (96, 64), (90, 120, 150)).save(file, "PNG", **more)
    return file.getvalue()


def with_segment(marker: int, body: bytes, picture: bytes = b"") -> bytes:
    """Put a segment behind the start of a JPEG."""
    whole = picture or jpeg()
    return whole[:2] + struct.pack(">BBH", 0xFF, marker, len(body) + 2) + body + whole[2:]


def with_chunk(name: bytes, body: bytes) -> bytes:
    """Put a chunk behind the head of a PNG (33 bytes)."""
    whole = png()
    crc = struct.pack(">I", zlib.crc32(name + body))
    return whole[:33] + struct.pack(">I", len(body)) + name + body + crc + whole[33:]


def exif_of(tags: dict[int, Any]) -> Image.Exif:
    """Make an EXIF block."""
    exif = Image.Exif()
    for tag, value in tags.items():
        exif[tag] = value
    return exif


def printed(words: str, title: str = "Sheet", picture: bytes = b"") -> bytes:
    """Set a page as PDF, as reports are set."""
    shots = [{"caption": "bonnet", "jpeg": list(picture)}] if picture else []
    block = {"kind": "photographs", "caption": "Photographs", "shots": shots}
    section = {"heading": "Work", "words": [words], "blocks": [block] if shots else []}
    page = {
        "title": title, "subject": "a vehicle", "lead": "", "foot": "", "ruled": False,
        "sections": [section],
    }  # fmt: skip
    return typeset("report.typ", json.dumps(page), date(2025, 6, 20))


def found_in(name: str, content: bytes) -> set[Sort]:
    """Open an output and search it; give which sorts of things are found."""
    texts, hits = reopened({name: content})
    return {hit.secret.what for hit in (*hits, *search(texts, SECRETS))}


ALL = {Sort.AMOUNT, Sort.NAME, Sort.NOTE, Sort.COORDINATES}


def packed(members: dict[str, bytes], comment: str = "") -> bytes:
    """Make a zip."""
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as whole:
        for name, content in members.items():
            whole.writestr(name, content)
        whole.comment = comment.encode()
    return file.getvalue()
