"""Pictures, opened again: each private tag and each foreign block is told, and clean ones pass."""

from __future__ import annotations

import struct
import zlib
from typing import Any

import pytest
from PIL import ExifTags

from recondition.history.net import Sort
from recondition.reports.reopened import metadata_in, places_in, reopened, texts_of
from tests.reports.reopening import (
    ALL,
    SAID,
    SPOT,
    exif_of,
    found_in,
    jpeg,
    packed,
    png,
    with_chunk,
    with_segment,
)

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
