"""The released PDF read back by a library that had no part in making it.

It looks for what a tagged PDF (PDF/UA-1, PDF/A-2a) has to say of itself and of its pictures. It
is no conformance checker: of those two standards only what is asked here was looked at.
"""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path
from typing import Any

import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name, Pdf, Stream

from recondition.history import verifying
from recondition.history.folder import HTML, JSON, PDF
from tests.history.reading import read_page
from tests.history.released import Released, released
from tests.pdf_text import pages_of

PDFA, PDFUA = "{http://www.aiim.org/pdfa/ns/id/}", "{http://www.aiim.org/pdfua/ns/id/}"
DC = "{http://purl.org/dc/elements/1.1/}"
TITLE = "Work history: Tavorel Lisse, 1971"
# Segments of a JPEG that a picture needs: JFIF, tables, frame, restarts, scan.
NEEDED = {0xE0, 0xDB, 0xC0, 0xC2, 0xC4, 0xDD, 0xDA}
# What would act, carry along, or ask to be filled in.
ACTIVE = (
    "/JavaScript", "/JS", "/OpenAction", "/AA", "/Launch", "/EmbeddedFile", "/EmbeddedFiles",
    "/Filespec", "/AF", "/AcroForm", "/RichMedia", "/XFA", "/URI", "/SubmitForm", "/Encrypt",
)  # fmt: skip


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory, empty_file: Path) -> Released:
    """Give what was released."""
    return released(tmp_path_factory, empty_file)


@pytest.fixture(scope="module")
def pdf(made: Released) -> Iterator[Pdf]:
    """Give the PDF, opened by qpdf's library."""
    with pikepdf.open(io.BytesIO(made.files[PDF])) as opened:
        yield opened


def elements(within: Any) -> Iterator[Dictionary]:
    """Give the elements of the structure tree in their order."""
    if isinstance(within, Array):
        for each in within:
            yield from elements(each)
    elif isinstance(within, Dictionary):
        if Name.S in within:
            yield within
        if Name.K in within:
            yield from elements(within.K)


def of_kind(pdf: Pdf, kind: str) -> list[Dictionary]:
    return [each for each in elements(pdf.Root.StructTreeRoot) if Name(kind) == each.S]


def streams(pdf: Pdf) -> list[Stream]:
    return [each for each in pdf.objects if isinstance(each, Stream)]


def jpegs(pdf: Pdf) -> list[bytes]:
    found = [each for each in streams(pdf) if each.get(Name.Filter) == Name.DCTDecode]
    return [each.read_raw_bytes() for each in found]


def segments(jpeg: bytes) -> Iterator[tuple[int, bytes]]:
    """Give the segments of a JPEG up to its scan: the marker and what stands in it."""
    assert jpeg[:2] == b"\xff\xd8"
    at = 2
    while at < len(jpeg):
        assert jpeg[at] == 0xFF
        length = int.from_bytes(jpeg[at + 2 : at + 4])
        yield jpeg[at + 1], jpeg[at + 4 : at + 2 + length]
        if jpeg[at + 1] == 0xDA:
            return
        at += 2 + length


def drawn(made: Released) -> list[str]:
    """Give the alternative texts of all pictures of the sheet, as the signed records say them."""
    records = verifying.proof_in(made.files[JSON])["records"]
    data = [each["record"]["data"] for each in records]
    return [each["alt"] for each in data if each.get("picture_sha256")]


def headings(made: Released) -> list[str]:
    """Give the headings of the sections, as the page shows them."""
    return re.findall(r"<h2[^>]*>([^<]*)</h2>", made.files[HTML].decode())


def test_it_is_tagged_and_says_so(pdf: Pdf) -> None:
    assert pdf.Root.MarkInfo.Marked is True
    assert not pdf.Root.MarkInfo.get(Name.Suspects, default=False)
    kinds = {str(each.S) for each in elements(pdf.Root.StructTreeRoot)}
    assert {"/Document", "/H1", "/H2", "/H3", "/Table", "/TR", "/TH", "/TD", "/Figure"} <= kinds
    assert all(Name.StructParents in page for page in pdf.pages)
    assert all(page.get(Name.Tabs) == Name.S for page in pdf.pages)


def test_headings_are_those_of_the_page_and_skip_no_level(pdf: Pdf, made: Released) -> None:
    assert len(of_kind(pdf, "/H1")) == 1
    assert [str(each.T) for each in of_kind(pdf, "/H2")] == headings(made)
    levels = [
        int(str(each.S)[2:])
        for each in elements(pdf.Root.StructTreeRoot)
        if re.fullmatch("/H[1-6]", str(each.S))
    ]
    assert levels[0] == 1
    assert all(after <= before + 1 for before, after in pairwise(levels))


def test_every_table_has_headings_with_a_scope(pdf: Pdf) -> None:
    tables = of_kind(pdf, "/Table")
    assert len(tables) >= 5
    for table in tables:
        heads = [each for each in elements(table) if each.S == Name.TH]
        rows = [each for each in elements(table) if each.S == Name.TR]
        assert heads
        assert all(each.A[0].Scope in (Name.Column, Name.Row, Name.Both) for each in heads)
        widths = {
            len([cell for cell in elements(row.K) if cell.S in (Name.TH, Name.TD)]) for row in rows
        }
        assert widths == {len(heads)}


def test_every_picture_has_the_alternative_text_that_was_signed(pdf: Pdf, made: Released) -> None:
    figures = of_kind(pdf, "/Figure")
    assert sorted(str(each.Alt) for each in figures) == sorted(drawn(made))
    assert len(figures) == 7
    assert len(jpegs(pdf)) == 4


def test_language_and_title_are_set(pdf: Pdf) -> None:
    assert str(pdf.Root.Lang) == "en-GB"
    assert pdf.Root.ViewerPreferences.DisplayDocTitle is True
    assert str(pdf.docinfo[Name.Title]) == TITLE
    with pdf.open_metadata(set_pikepdf_as_editor=False) as xmp:
        assert xmp[f"{DC}title"] == TITLE
        assert xmp[f"{DC}language"] == {"en-GB"}


def test_it_declares_both_standards(pdf: Pdf) -> None:
    with pdf.open_metadata(set_pikepdf_as_editor=False) as xmp:
        assert xmp[f"{PDFUA}part"] == "1"
        assert (xmp[f"{PDFA}part"], xmp[f"{PDFA}conformance"]) == ("2", "A")
    (intent,) = pdf.Root.OutputIntents
    assert Name.DestOutputProfile in intent


def test_fonts_are_embedded_and_give_their_text(pdf: Pdf) -> None:
    fonts = [
        each
        for each in pdf.objects
        if isinstance(each, Dictionary) and each.get(Name.Type) == Name.FontDescriptor
    ]
    assert fonts
    for font in fonts:
        assert {Name.FontFile, Name.FontFile2, Name.FontFile3} & set(font.keys())
    used = [font for page in pdf.pages for font in page.resources.Font.values()]
    assert all(Name.ToUnicode in font for font in used)


def test_bookmarks_list_the_sections(pdf: Pdf, made: Released) -> None:
    with pdf.open_outline() as outline:
        (whole,) = outline.root
        assert whole.title == "Tavorel Lisse, 1971"
        assert [each.title for each in whole.children] == headings(made)


def test_nothing_in_it_acts_or_is_carried_along(pdf: Pdf) -> None:
    assert len(pdf.attachments) == 0
    assert not pdf.is_encrypted
    for each in pdf.objects:
        if isinstance(each, Dictionary | Stream):
            assert not set(ACTIVE) & {str(name) for name in each.keys()}  # noqa: SIM118 - no dict
            assert str(each.get(Name.S, "")) not in ACTIVE
            assert str(each.get(Name.Type, "")) not in ACTIVE


def test_no_picture_in_it_has_metadata(pdf: Pdf) -> None:
    for jpeg in jpegs(pdf):
        found = dict(segments(jpeg))
        assert set(found) <= NEEDED
        assert found[0xE0].startswith(b"JFIF\0")
        assert found[0xE0][-2:] == b"\0\0"  # no small picture within
        assert jpeg.endswith(b"\xff\xd9")
        assert b"Somebody's camera" not in jpeg
    holders = [each for each in pdf.objects if isinstance(each, Dictionary | Stream)]
    with_metadata = [each for each in holders if Name.Metadata in each]
    assert [each.get(Name.Type) for each in with_metadata] == [Name.Catalog]


def test_the_short_code_stands_on_every_page(made: Released) -> None:
    texts = pages_of(made.files[PDF])
    assert len(texts) > 3
    assert all(made.code in text for text in texts)
    assert all(TITLE in text for text in texts)
    assert any(made.fingerprint in text.replace("\u200b", "") for text in texts)


def test_the_page_has_the_same_headings_for_who_hears_it(made: Released) -> None:
    tags = [tag for tag, _ in read_page(made.files[HTML].decode()).tags]
    assert (tags.count("h1"), tags.count("h2")) == (1, len(headings(made)))
