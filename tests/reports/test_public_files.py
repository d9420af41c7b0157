"""Kept files as they are handed out: what a PDF carries beside its pages stays with the shop."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING, Any

import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name, Pdf, String
from PIL import Image, ImageCms
from pypdf import PdfReader

from recondition.book.public import Kept
from recondition.fields import Words
from recondition.history.records import Redaction
from recondition.ledger.documents import Document, DocumentKind
from recondition.reports import public_files
from recondition.reports.public_files import FileNotPublished, bare_jpeg, bare_pdf, made_ready
from recondition.reports.public_pictures import PictureNotPublished
from recondition.reports.reopened import metadata_in, texts_of
from tests.history.storing import stored
from tests.pictures import photograph, picture

if TYPE_CHECKING:
    from pathlib import Path

MARK = "PLANTED-MARK-8802"
SHOWN = "Letter of the archive"


def written(pdf: Pdf, **more: Any) -> bytes:
    file = io.BytesIO()
    pdf.save(file, **more)
    return file.getvalue()


def one_page(pages: int = 1) -> Pdf:
    """Make a PDF whose first page says a few words."""
    pdf = Pdf.new()
    for _ in range(pages):
        pdf.add_blank_page(page_size=(300, 400))
    page = pdf.pages[0].obj
    page.Resources = Dictionary(Font=Dictionary(F1=Dictionary(
        Type=Name.Font, Subtype=Name.Type1, BaseFont=Name.Helvetica,
    )))  # fmt: skip
    page.Contents = pdf.make_stream(f"BT /F1 12 Tf 20 300 Td ({SHOWN}) Tj ET".encode())
    return pdf


def full_of_marks() -> bytes:
    """Make a PDF with a mark wherever one can be that no page shows."""
    pdf = one_page()
    page, root = pdf.pages[0].obj, pdf.Root
    pdf.docinfo["/Author"] = MARK
    with pdf.open_metadata() as meta:
        meta["dc:creator"] = [MARK]
    pdf.attachments[f"{MARK}.txt"] = MARK.encode()
    script = Dictionary(S=Name.JavaScript, JS=String(f"app.alert('{MARK}')"))
    root.OpenAction = pdf.make_indirect(script)
    root.AA = Dictionary(WC=script)
    root.PageLabels = Dictionary(Nums=Array([0, Dictionary(P=String(MARK))]))
    note = Dictionary(Type=Name.Annot, Subtype=Name.Text, Rect=Array([0, 0, 9, 9]),
                      Contents=String(MARK), A=script)  # fmt: skip
    field = Dictionary(Type=Name.Annot, Subtype=Name.Widget, Rect=Array([0, 0, 9, 9]),
                       FT=Name.Tx, T=String(MARK), V=String(MARK))  # fmt: skip
    page.Annots = Array([pdf.make_indirect(note), pdf.make_indirect(field)])
    root.AcroForm = Dictionary(Fields=Array([page.Annots[1]]))
    page.AA = Dictionary(O=script)
    page.Thumb = pdf.make_stream(MARK.encode())
    marked = pdf.make_stream(f"<x>{MARK}</x>".encode(), Type=Name.Metadata, Subtype=Name.XML)
    page.Metadata = marked
    page.PieceInfo = Dictionary(Own=Dictionary(Private=String(MARK)))
    image = pdf.make_stream(bytes(3), Type=Name.XObject, Subtype=Name.Image, Width=1, Height=1,
                            ColorSpace=Name.DeviceRGB, BitsPerComponent=8)  # fmt: skip
    image.Metadata, image.LastModified = marked, String(MARK)
    page.Resources.XObject = Dictionary(B=image)
    with pdf.open_outline() as outline:
        outline.root.append(pikepdf.OutlineItem(MARK, 0))
    return written(pdf, compress_streams=False, object_stream_mode=pikepdf.ObjectStreamMode.disable)


def full_jpeg() -> bytes:
    """Give a JPEG with place and time, a comment, a profile and bytes behind its end."""
    image = Image.open(io.BytesIO(photograph("2031:02:01 09:00:00", place=True)))
    file = io.BytesIO()
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    image.save(file, "JPEG", exif=image.getexif(), comment=MARK, icc_profile=profile)
    return file.getvalue() + MARK.encode()


def every_object(content: bytes) -> str:
    """Give every object of a PDF as text, its streams unpacked."""
    with Pdf.open(io.BytesIO(content)) as pdf:
        found = [repr(pdf.trailer)]
        for thing in pdf.objects:
            found.append(repr(thing))
            if isinstance(thing, pikepdf.Stream):
                found.append(thing.read_bytes().decode("latin-1"))
    return "\n".join(found)


def test_a_pdf_is_handed_out_with_its_pages_alone() -> None:
    content = full_of_marks()
    assert every_object(content).count(MARK) > 12
    out = bare_pdf(content, "letter")
    whole = every_object(out)
    assert MARK not in whole
    assert MARK.encode() not in out
    for name in ("JavaScript", "/JS", "/Annot", "/EmbeddedFile", "/Metadata", "/AcroForm", "/AA",
                 "/OpenAction", "/Outlines", "/PieceInfo", "/Thumb", "/Info"):  # fmt: skip
        assert name not in whole, name
    with Pdf.open(io.BytesIO(out)) as pdf:
        assert len(pdf.pages) == 1
        assert not pdf.attachments
        assert not pdf.docinfo
        assert set(pdf.Root.keys()) == {"/Type", "/Pages"}
        assert "/B" in pdf.pages[0].obj.Resources.XObject, "what the page shows stays"
        assert pdf.check_pdf_syntax() == []
    assert PdfReader(io.BytesIO(out)).pages[0].extract_text() == SHOWN


@pytest.mark.parametrize("many", [False, True])
def test_a_scan_within_a_pdf_loses_what_the_camera_wrote(*, many: bool) -> None:
    jpeg, pdf = full_jpeg(), one_page()
    filters = Array([Name.DCTDecode]) if many else Name.DCTDecode
    scan = pdf.make_stream(jpeg, Type=Name.XObject, Subtype=Name.Image, Width=64, Height=48,
                           ColorSpace=Name.DeviceRGB, BitsPerComponent=8)  # fmt: skip
    scan.Filter = filters
    pdf.pages[0].obj.Resources.XObject = Dictionary(Scan=scan)
    assert metadata_in(jpeg)
    with Pdf.open(io.BytesIO(bare_pdf(written(pdf), "letter"))) as out:
        kept_scan = out.pages[0].obj.Resources.XObject.Scan.read_raw_bytes()
    assert metadata_in(kept_scan) == []
    was, now = (Image.open(io.BytesIO(each)).convert("RGB") for each in (jpeg, kept_scan))
    assert was.tobytes() == now.tobytes()


def test_what_is_no_whole_jpeg_is_left_as_it_is() -> None:
    jpeg = full_jpeg()
    for content in (b"", b"no picture", jpeg[:40], bare_jpeg(jpeg)):
        assert bare_jpeg(content) == content


def test_the_same_pdf_gives_the_same_bytes_and_opens_without_complaint(
    caplog: pytest.LogCaptureFixture, capfd: pytest.CaptureFixture[str]
) -> None:
    content = full_of_marks()
    out = bare_pdf(content, "letter")
    assert bare_pdf(content, "letter") == out
    assert bare_pdf(out, "letter") == bare_pdf(bare_pdf(out, "letter"), "letter")
    assert SHOWN in " ".join(texts_of("003.pdf", out))
    assert caplog.records == []
    assert capfd.readouterr().err == ""


def test_what_cannot_be_handed_out_is_named_by_its_title(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(public_files, "PDF_PAGES_MAX", 2)
    whole = written(one_page())
    locks = [
        written(one_page(), encryption=pikepdf.Encryption(user=word, owner="o"))
        for word in ("word", "")
    ]
    empty = Pdf.new()
    for content, why in (
        *((lock, "locked") for lock in locks),
        (written(one_page(3)), "3 pages"),
        (written(empty), "0 pages"),
        (whole[: len(whole) // 2], "damaged"),
        (b"%PDF-1.7\nand no page between\n%%EOF\n", "damaged"),
        (b"%PDF-1.7\n%%EOF\n", "damaged"),
        (b"", "damaged"),
    ):
        with pytest.raises(FileNotPublished, match=f"'archive letter' cannot be.*{why}") as raised:
            bare_pdf(content, "archive letter")
        assert "Nothing was released" in raised.value.todo
    assert bare_pdf(written(one_page(2)), "archive letter")


def kept(path: Path, media: str, content: bytes | None, *boxes: Redaction) -> Kept:
    """Keep a file as the book would."""
    if content is not None:
        path.write_bytes(content)
    document = Document(vehicle=None, kind=DocumentKind.OTHER, title=Words(path.stem))
    return Kept(stored("document", path.stem, document), str(path), media, boxes)


def test_files_come_ready_in_their_order(tmp_path: Path) -> None:
    told: list[tuple[int, int]] = []
    files = [
        kept(tmp_path / "c", "text/plain", b"four lines\r\n\xff"),
        kept(tmp_path / "b", "image/png", picture(size=(1200, 900))),
        kept(tmp_path / "a", "application/pdf", full_of_marks()),
    ]
    text, shown, page = made_ready(files, lambda done, of: told.append((done, of)))
    assert [each.document for each in (text, shown, page)] == ["c", "b", "a"]
    assert (text.content, text.small, text.issued.media_type) == (
        b"four lines\r\n\xff", None, "text/plain",
    )  # fmt: skip
    assert shown.issued.media_type == "image/jpeg"
    assert shown.small is not None
    assert Image.open(io.BytesIO(shown.small)).size == (880, 660)
    assert page.small is None
    assert MARK.encode() not in page.content
    assert [each.issued.size_bytes for each in (text, shown, page)] == [
        len(each.content) for each in (text, shown, page)
    ]
    assert told[-1] == (1, 1)


def test_a_file_that_is_gone_stops_the_release(tmp_path: Path) -> None:
    for media, refusal in (
        ("text/plain", FileNotPublished),
        ("application/pdf", FileNotPublished),
        ("image/jpeg", PictureNotPublished),
    ):
        with pytest.raises(refusal, match="'gone'"):
            made_ready([kept(tmp_path / "gone", media, None)], lambda _done, _of: None)
