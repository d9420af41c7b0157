"""Real outputs, opened again: planted things are found wherever they stand, and clean ones pass."""

from __future__ import annotations

import base64
import io
import json
import struct
from typing import Any

import pypdf
import pytest
from pypdf.annotations import FreeText
from pypdf.generic import NameObject, StreamObject

from recondition.history.net import Sort
from recondition.reports.reopened import (
    OutputNotReadable,
    texts_of,
)
from recondition.reports.reopened_pdf import inside
from tests.reports.reopening import (
    ALL,
    SAID,
    exif_of,
    found_in,
    jpeg,
    packed,
    png,
    printed,
)

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
