"""Real outputs, opened again: planted things are found wherever they stand, and clean ones pass."""

from __future__ import annotations

import base64
import io
import json
import struct
import zipfile
import zlib
from datetime import date
from decimal import Decimal
from typing import Any

import pypdf
import pytest
from PIL import ExifTags, Image
from pypdf.annotations import FreeText
from pypdf.generic import NameObject, StreamObject

from recondition.history.net import Secret, Shown, Sort, search, secrets_of
from recondition.reports.reopened import (
    OutputNotReadable,
    metadata_in,
    places_in,
    reopened,
    texts_of,
)
from recondition.reports.reopened_pdf import inside
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


# Broken up by markup, references and invisible signs; and a script's text written as escapes.
MARKED_UP = (
    "<p>64,8<b>19</b>.85 R.<br>Ash&shy;grove 51.50&#55;2 "
    "The owner&nbsp;wants it <i>gone</i> by summer.</p>"
)
ESCAPED = json.dumps({"a": "</i>", "said": SAID}).replace("R", "\\u0052").replace("6", "\\u0036")


def page(body: str) -> bytes:
    return f"<!doctype html><html lang='en'><body><p>Clean</p>{body}</body></html>".encode()


def address(content: bytes, kind: str = "image/jpeg") -> str:
    return f"data:{kind};base64,{base64.b64encode(content).decode()}"


@pytest.mark.parametrize(
    "body",
    [
        f"<p>{SAID}</p>",
        MARKED_UP,
        f"<p title='{SAID}'>a</p>",
        f"<p data-x='{SAID}'>a</p>",
        f"<!-- {SAID} -->",
        f"<style>p::after {{ content: '{SAID}' }}</style>",
        f"<script>const kept = '{SAID}';</script>",
        f"<script type='application/json'>{ESCAPED}</script>",
        f"<?note {SAID}?>",
        f"<img src='{address(f'<svg><desc>{SAID}</desc></svg>'.encode(), 'image/svg+xml')}'>",
        f"<a href='{address(SAID.encode(), 'text/plain')}'>a</a>",
    ],
)
def test_everything_in_a_page_is_read(body: str) -> None:
    assert found_in("sheet.html", page(body)) == ALL
    assert found_in("folder.zip", packed({"a/index.html": page(body)})) == ALL


def packed(members: dict[str, bytes], comment: str = "") -> bytes:
    """Make a zip."""
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as whole:
        for name, content in members.items():
            whole.writestr(name, content)
        whole.comment = comment.encode()
    return file.getvalue()


def test_a_picture_in_a_page_is_opened() -> None:
    assert found_in("a.html", page(f"<img src='{address(jpeg())}' alt='bonnet'>")) == set()
    told = page(f"<img src='{address(jpeg(comment=SAID.encode()))}'>")
    assert found_in("a.html", told) == {*ALL, Sort.METADATA}
    style = page(f"<style>p {{ background: url({address(jpeg(comment=b'x'))}) }}</style>")
    assert found_in("a.html", style) == {Sort.METADATA}


@pytest.mark.parametrize("document", [{SAID: 1}, {"a": [[SAID]]}, {"a": {"b": SAID}}])
def test_names_and_values_of_json_are_read(document: Any) -> None:
    assert found_in("record.json", json.dumps(document).encode()) == ALL


def test_a_whole_number_of_json_is_read() -> None:
    assert "6481985" in texts_of("record.json", b'{"minor": 6481985}')


@pytest.mark.parametrize(
    "text", ['{"a": 1, "a": 2}', "{", '{"a": NaN}', '{"a": 1.5}', "\xff", "[" * 100_000]
)
def test_json_is_read_strictly(text: str) -> None:
    with pytest.raises(OutputNotReadable, match=r"record\.json"):
        texts_of("record.json", text.encode("latin-1"))


def test_the_text_and_title_of_a_pdf_are_read() -> None:
    assert found_in("sheet.pdf", printed("Nothing but clean words.")) == set()
    assert found_in("sheet.pdf", printed(SAID)) == ALL
    assert found_in("sheet.pdf", printed("Clean.", title=SAID)) == ALL


def test_the_number_of_a_pdf_itself_is_not_searched() -> None:
    """It is drawn from the content and can spell a short name; all else beside it is read."""
    texts = "".join(inside(printed("Clean words.")).texts)
    assert "instanceID><" in texts
    assert "DocumentID><" in texts


def altered(change: Any) -> bytes:
    """Write a clean PDF again with one thing more in it."""
    writer = pypdf.PdfWriter(clone_from=io.BytesIO(printed("Clean words.")))
    change(writer)
    file = io.BytesIO()
    writer.write(file)
    return file.getvalue()


def _xmp(writer: pypdf.PdfWriter) -> None:
    stream = StreamObject()
    stream.set_data(f"<x:xmpmeta><dc:creator>{SAID}</dc:creator></x:xmpmeta>".encode())
    stream[NameObject("/Type")] = NameObject("/Metadata")
    writer.root_object[NameObject("/Metadata")] = writer._add_object(stream)  # noqa: SLF001 - no other way


def _spoken(writer: pypdf.PdfWriter) -> None:
    stream = StreamObject()
    hexed = ("\ufeff" + SAID).encode("utf-16-be").hex().upper()
    stream.set_data(f"/Span <</ActualText <{hexed}>>> BDC EMC".encode())
    writer._add_object(stream)  # noqa: SLF001 - as above


@pytest.mark.parametrize(
    "change",
    [
        lambda w: w.add_metadata({"/Author": SAID}),
        lambda w: w.add_metadata({"/Custom": SAID}),
        lambda w: w.add_outline_item(title=SAID, page_number=0),
        lambda w: w.add_attachment("receipt.txt", SAID.encode()),
        lambda w: w.add_attachment(SAID, b"x"),
        lambda w: w.add_annotation(0, FreeText(text=SAID, rect=(0, 0, 9, 9))),
        _xmp,
        _spoken,
    ],
)
def test_everything_in_a_pdf_is_read(change: Any) -> None:
    assert found_in("sheet.pdf", altered(change)) == ALL


def test_a_picture_in_a_pdf_is_opened() -> None:
    assert found_in("sheet.pdf", printed("Clean.", picture=jpeg())) == set()
    told = printed("Clean.", picture=jpeg(exif=exif_of({0x013B: "Somebody"})))
    assert found_in("sheet.pdf", told) == {Sort.METADATA}


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("note.txt", SAID.encode()),
        ("note.md", SAID.encode()),
        ("a.zip", packed({"inner.zip": packed({"note.txt": SAID.encode()})})),
        ("a.zip", packed({"a.txt": b"x"}, comment=SAID)),
        ("unnamed", packed({"unnamed": printed(SAID)})),
    ],
)
def test_plain_files_and_members_of_a_zip_are_read(name: str, content: bytes) -> None:
    assert found_in(name, content) == ALL


def test_a_zip_has_bounds() -> None:
    many = packed({f"{number}.txt": b"x" for number in range(2001)})
    with pytest.raises(OutputNotReadable, match="2,000 members"):
        texts_of("a.zip", many)
    huge = bytearray(packed({"a.txt": b"x" * 999}))
    at = huge.rindex(b"PK\1\2") + 24
    huge[at : at + 4] = struct.pack("<I", 2_000_000_001)
    with pytest.raises(OutputNotReadable, match="2 GB"):
        texts_of("a.zip", bytes(huge))
    nested = packed({"note.txt": b"x"})
    for _ in range(4):
        nested = packed({"inner.zip": nested})
    with pytest.raises(OutputNotReadable, match="too deep"):
        texts_of("a.zip", nested)


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("a.pdf", b"%PDF-1.7 nothing"),
        ("a.pdf", printed("Clean.")[:4000]),
        ("a.jpg", jpeg()[:300]),
        ("a.jpg", b"GIF89a"),
        ("a.png", png()[:40]),
        ("a.zip", packed({"a.txt": b"x" * 999})[:60]),
        ("a.html", b"\xff\xfe<p>"),
        ("a.bin", b"\x00\xff\xfe"),
    ],
)
def test_what_cannot_be_opened_is_refused(name: str, content: bytes) -> None:
    with pytest.raises(OutputNotReadable, match="cannot be opened again"):
        texts_of(name, content)


# The published list of private tags: the whole GPS IFD, and these of IFD0 and of the EXIF IFD.
OTHERS = [0x9003, 0x9011, 0xA420, 0xA430, 0xA431, 0xA435]


@pytest.mark.parametrize("tag", range(0x1F))
def test_every_private_tag_of_place_is_told(tag: int) -> None:
    value = {0: b"\2\3\0\0", 5: b"\0", 0x1E: 1}.get(tag)
    triples, singles = {2, 4, 7, 0x14, 0x16}, {6, 0x0B, 0x0D, 0x0F, 0x11, 0x18, 0x1A}
    if value is None:
        value = (1.0, 2.0, 3.0) if tag in triples else 1.5 if tag in singles else "N"
    if tag in {0x1B, 0x1C}:
        value = b"ASCII\0\0\0N"
    told = metadata_in(jpeg(exif=exif_of({0x8825: {tag: value}})))
    assert {"EXIF", "EXIF GPSInfo", f"EXIF {ExifTags.GPSTAGS[tag]}"} <= set(told)


@pytest.mark.parametrize("tag", OTHERS)
@pytest.mark.parametrize("inner", [True, False])
def test_every_private_tag_of_person_and_device_is_told(tag: int, *, inner: bool) -> None:
    tags = {0x8769: {tag: "Somebody 12"}} if inner else {tag: "Somebody 12"}
    content = jpeg(exif=exif_of(tags))
    assert f"EXIF {ExifTags.TAGS[tag]}" in metadata_in(content)
    assert any("Somebody 12" in text for text in texts_of("a.jpg", content))


XMP = b"http://ns.adobe.com/xap/1.0/\0<x:xmpmeta/>"


def _thumbnailed() -> bytes:
    small = jpeg()
    head = b"Exif\0\0II*\0\x08\0\0\0" + struct.pack("<HI", 0, 14)
    entries = [(0x0103, 3, 6), (0x0201, 4, 56), (0x0202, 4, len(small))]
    ifd = struct.pack("<H", 3) + b"".join(struct.pack("<HHII", t, k, 1, v) for t, k, v in entries)
    return head + ifd + struct.pack("<I", 0) + small


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (with_segment(0xE1, XMP), "XMP"),
        (with_segment(0xE1, b"http://ns.adobe.com/xmp/extension/\0x"), "XMP"),
        (with_segment(0xED, b"Photoshop 3.0\x008BIM"), "IPTC"),
        (with_segment(0xE2, b"MPF\0x"), "further pictures"),
        (with_segment(0xE0, b"JFXX\0\x10" + jpeg()), "JFIF thumbnail"),
        (with_segment(0xE0, b"JFIF\0\1\1\0\0\1\0\1\1\1abc"), "JFIF thumbnail"),
        (with_segment(0xEA, b"maker's own"), "application segment 10"),
        (with_segment(0xE1, _thumbnailed()), "EXIF thumbnail"),
        (jpeg(comment=b"by me"), "comment"),
        (jpeg(icc_profile=b"profile"), "ICC profile"),
        (jpeg() + b"more", "bytes behind the end of the picture"),
        (jpeg() + jpeg(), "a second picture"),
        (png() + b"more", "bytes behind the end of the picture"),
        (png(exif=exif_of({0x013B: "Somebody"})), "EXIF Artist"),
        (png(icc_profile=b"profile"), "ICC profile"),
        (with_chunk(b"tEXt", b"Author\0me"), "text"),
        (with_chunk(b"zTXt", b"Author\0\0" + zlib.compress(b"me")), "text"),
        (with_chunk(b"iTXt", b"Author\0\0\0\0\0me"), "text"),
        (with_chunk(b"tIME", b"\7\xe9\1\1\1\1\1"), "time of change"),
        (with_chunk(b"prVt", b"x"), "chunk prVt"),
    ],
)
def test_every_other_block_is_told(content: bytes, told: str) -> None:
    assert told in metadata_in(content)
    assert found_in("a.jpg", content) == {Sort.METADATA}


@pytest.mark.parametrize(
    "content",
    [
        jpeg(), jpeg(progressive=True), jpeg(subsampling=0), jpeg(restart_marker_rows=1), png(),
        png(optimize=True, dpi=(72, 72)),
    ],
)  # fmt: skip
def test_a_clean_picture_has_nothing_to_tell(content: bytes) -> None:
    assert metadata_in(content) == []
    assert reopened({"a.jpg": content}) == ({"a.jpg": []}, [])


@pytest.mark.parametrize(
    "content",
    [
        jpeg(comment=SAID.encode()),
        with_segment(0xE1, XMP + SAID.encode()),
        with_segment(0xED, b"Photoshop 3.0\x008BIM\4\4\0\0" + SAID.encode()),
        jpeg() + SAID.encode(),
        jpeg(exif=exif_of({0x010E: SAID})),
        jpeg(exif=exif_of({0x9C9C: SAID.encode("utf-16-le")})),
        with_chunk(b"zTXt", b"Comment\0\0" + zlib.compress(SAID.encode())),
    ],
)
def test_what_stands_in_metadata_is_searched(content: bytes) -> None:
    assert found_in("shot.jpg", content) == {*ALL, Sort.METADATA}


def at(latitude: Any, north: str, longitude: Any, east: str) -> bytes:
    return jpeg(exif=exif_of({0x8825: {1: north, 2: latitude, 3: east, 4: longitude}}))


def test_where_a_photograph_was_taken_is_read() -> None:
    there = at((51.0, 30.0, 25.6), "N", (0.0, 7.0, 40.0), "W")
    assert places_in(there) == SPOT
    assert places_in(at((51.0, 30.0, 25.6), "S", (0.0, 7.0, 40.0), "E")) == (-SPOT[0], -SPOT[1])
    assert found_in("shot.jpg", there) == {Sort.METADATA, Sort.COORDINATES}


@pytest.mark.parametrize(
    "content",
    [
        jpeg(),
        png(),
        b"no picture",
        at((0.0, 0.0, 0.0), "N", (0.0, 0.0, 0.0), "E"),
        jpeg(exif=exif_of({0x8825: {1: "N", 2: (1.0, 2.0, 3.0)}})),
        with_segment(0xE1, b"Exif\0\0II*\0broken"),
    ],
)
def test_no_place_is_made_up(content: bytes) -> None:
    assert places_in(content) is None


def test_a_hit_in_a_picture_names_block_and_picture() -> None:
    content = jpeg(comment=b"x")
    _, hits = reopened({"a.zip": packed({"shots/one.jpg": content, "clean.jpg": jpeg()})})
    (hit,) = hits
    assert (hit.output, hit.secret.where) == ("a.zip", "shots/one.jpg")
    assert hit.secret.text.startswith("comment in picture ")
    other = reopened({"b.jpg": content})[1][0].secret
    assert other.text == hit.secret.text
