"""Kept files as they are handed out: what a PDF carries beside its pages stays with the shop."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING, Any

import pikepdf
import pypdfium2
import pytest
from pikepdf import Array, Dictionary, Name, Pdf, String
from PIL import Image, ImageChops, ImageStat

from recondition.book.public import Kept
from recondition.fields import Words
from recondition.history.records import Redaction
from recondition.ledger.documents import Document, DocumentKind
from recondition.reports import public_files
from recondition.reports.public_files import FileNotPublished, made_ready, pictured_pdf
from recondition.reports.public_pictures import PictureNotPublished
from recondition.reports.reopened import metadata_in, reopened
from tests.history.storing import stored
from tests.pdf_text import pages_of
from tests.pictures import picture

if TYPE_CHECKING:
    from collections.abc import Callable
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


def every_object(content: bytes) -> str:
    """Give every object of a PDF as text, its streams unpacked."""
    with Pdf.open(io.BytesIO(content)) as pdf:
        found = [repr(pdf.trailer)]
        for thing in pdf.objects:
            found.append(repr(thing))
            if isinstance(thing, pikepdf.Stream):
                packed = "/DCTDecode" in repr(thing.get("/Filter"))
                content_of = thing.read_raw_bytes() if packed else thing.read_bytes()
                found.append(content_of.decode("latin-1"))
    return "\n".join(found)


def covered() -> bytes:
    """Make a PDF with words under a black box, on a layer that is off, and beyond the page."""
    pdf = one_page()
    page = pdf.pages[0].obj
    layer = pdf.make_indirect(Dictionary(Type=Name.OCG, Name=String("layer")))
    pdf.Root.OCProperties = Dictionary(
        OCGs=Array([layer]), D=Dictionary(OFF=Array([layer]), Order=Array([layer]))
    )
    page.Resources.Properties = Dictionary(L=layer)
    box = Dictionary(Type=Name.Annot, Subtype=Name.Square, Rect=Array([10, 190, 290, 230]),
                     C=Array([0, 0, 0]), IC=Array([0, 0, 0]), F=4)  # fmt: skip
    box.AP = Dictionary(N=pdf.make_stream(
        b"0 0 280 40 re f", Type=Name.XObject, Subtype=Name.Form, BBox=Array([0, 0, 280, 40]),
    ))  # fmt: skip
    page.Annots = Array([pdf.make_indirect(box)])
    words = [f"BT /F1 12 Tf 20 300 Td ({SHOWN}) Tj ET", f"BT /F1 12 Tf 20 205 Td ({MARK}) Tj ET",
             f"/OC /L BDC BT /F1 12 Tf 20 100 Td ({MARK}) Tj ET EMC",
             f"BT /F1 12 Tf 20 900 Td ({MARK}) Tj ET"]  # fmt: skip
    page.Contents = pdf.make_stream("\n".join(words).encode())
    return written(pdf)


def drawn(content: bytes) -> Image.Image:
    """Give the first page of a PDF as a picture."""
    with pypdfium2.PdfDocument(content) as opened:
        return opened[0].render(scale=150 / 72).to_pil().convert("L")


@pytest.mark.parametrize("make", [full_of_marks, covered])
def test_a_pdf_is_handed_out_as_pictures_of_its_pages(make: Callable[[], bytes]) -> None:
    content = make()
    assert every_object(content).count(MARK) > 2
    out = pictured_pdf(content, "letter")
    assert MARK not in every_object(out)
    assert MARK.encode() not in out
    assert " ".join(pages_of(out)).strip() == ""
    with Pdf.open(io.BytesIO(out)) as pdf:
        (page,) = pdf.pages
        assert [float(side) for side in page.mediabox] == pytest.approx([0, 0, 300, 400], abs=0.5)
        assert not pdf.attachments
        assert set(pdf.Root.keys()) <= {"/Type", "/Pages"}
        (picture_of,) = page.obj.Resources.XObject.values()
        assert metadata_in(picture_of.read_raw_bytes()) == []


def test_a_picture_of_a_page_shows_what_a_reader_sees() -> None:
    was, now = drawn(covered()), drawn(pictured_pdf(covered(), "letter"))
    now = now.resize(was.size)
    assert ImageStat.Stat(ImageChops.difference(was, now)).mean[0] < 2
    height = now.size[1]
    under = now.crop((60, height - 460, 540, height - 410))
    assert under.getextrema()[1] < 40, "the box is black throughout"


def test_the_text_of_a_page_that_becomes_a_picture_is_kept_for_the_search(tmp_path: Path) -> None:
    (page,) = made_ready(
        [kept(tmp_path / "a", "application/pdf", written(one_page()))], lambda _done, _of: None
    )
    assert SHOWN in page.seen


def test_the_same_pdf_gives_the_same_bytes_and_opens_without_complaint(
    caplog: pytest.LogCaptureFixture, capfd: pytest.CaptureFixture[str]
) -> None:
    content = full_of_marks()
    out = pictured_pdf(content, "letter")
    assert pictured_pdf(content, "letter") == out
    assert reopened({"003.pdf": out})[1] == []
    assert caplog.records == []
    assert capfd.readouterr().err == ""


def test_what_cannot_be_handed_out_is_named_by_its_title(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(public_files, "PDF_PAGES_MAX", 2)
    whole = written(one_page())
    lock = written(one_page(), encryption=pikepdf.Encryption(user="word", owner="o"))
    empty = Pdf.new()
    for content, why in (
        (lock, "locked"),
        (written(one_page(3)), "3 pages"),
        (written(empty), "damaged"),
        (whole[: len(whole) // 2], "damaged"),
        (b"%PDF-1.7\nand no page between\n%%EOF\n", "damaged"),
        (b"%PDF-1.7\n%%EOF\n", "damaged"),
        (b"", "damaged"),
    ):
        with pytest.raises(FileNotPublished, match=f"'archive letter' cannot be.*{why}") as raised:
            pictured_pdf(content, "archive letter")
        assert "Nothing was released" in raised.value.todo
    assert pictured_pdf(written(one_page(2)), "archive letter")


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
