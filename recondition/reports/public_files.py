"""Kept files made ready to be handed out: pictures anew, a PDF as pictures of its pages, text."""

from __future__ import annotations

import hashlib
import io
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, cast

from PIL import Image

from recondition.book.public import Kept
from recondition.errors import Refused
from recondition.history.source import Issued
from recondition.reports.public_pictures import Box, Item, publish_all
from recondition.reports.reopened_pdf import inside

PDF_PAGES_MAX = 60
RESOLUTION_DPI = 150
SIDE_MAX_PT = 3400  # A0 is 3370 high
# All pages are held as pictures at once: 100 sheets of A4 take some 650 MB.
AREA_MAX_PT2 = 100 * 595 * 842
_PT_PER_INCH = 72
_QUALITY = 78


@dataclass(frozen=True, slots=True)
class Ready:
    """A file as it is handed out; ``small`` is the copy for the page, None for no picture.

    ``seen`` is the text of a PDF whose pages are handed out as pictures: it is searched too.
    """

    document: str
    issued: Issued
    content: bytes
    small: bytes | None
    seen: str = ""


class FileNotPublished(Refused):
    """A listed file cannot be handed out."""

    def __init__(self, title: str, why: str) -> None:
        """Name it by its title and say why."""
        super().__init__(
            f"the file {title!r} cannot be handed out: {why}",
            todo="Nothing was released. Mend it, or keep it as evidence only ('who may see it').",
        )


def made_ready(files: Sequence[Kept], told: Callable[[int, int], None]) -> list[Ready]:
    """Make all listed files ready, in their order; ``told`` hears how many pictures are done.

    Raises FileNotPublished, PictureNotPublished.
    """
    pictures = [each for each in files if each.media_type.startswith("image/")]
    items = [
        Item(Path(each.path), each.document.entry.title, tuple(_boxes(each))) for each in pictures
    ]
    published = publish_all(items, told=told)
    shown = {each.document.id: made for each, made in zip(pictures, published, strict=True)}
    ready = []
    for each in files:
        made = shown.get(each.document.id)
        content, seen = (made.large, "") if made else _other(each)
        media = "image/jpeg" if made else each.media_type
        small = made.small if made else None
        issued = Issued(
            media,
            _sha256(content),
            len(content),
            _sha256(small) if small else None,
            len(each.hidden),
        )
        ready.append(Ready(each.document.id, issued, content, small, seen))
    return ready


def _sha256(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


def _boxes(each: Kept) -> list[Box]:
    """Give the places to be painted over."""
    return [Box(one.from_left, one.from_top, one.width, one.height) for one in each.hidden]


def _other(each: Kept) -> tuple[bytes, str]:
    """Read a file that is no picture, as it is handed out, and the text that is seen in it."""
    title = each.document.entry.title
    try:
        content = Path(each.path).read_bytes()
    except OSError as error:
        raise FileNotPublished(title, error.strerror or "it cannot be read") from error
    if each.media_type != "application/pdf":
        return content, ""
    return pictured_pdf(content, title), seen_text(content)


def pictured_pdf(content: bytes, title: str) -> bytes:
    """Give the pages of a PDF as pictures of what a reader sees, in a PDF of their own.

    Nothing else of it is handed out: no text under a black box, no layer that is off, no note,
    attachment, property or part beyond the page's edge. The same content gives the same bytes.
    Raises FileNotPublished.
    """
    import pypdfium2  # noqa: PLC0415 - only where a PDF is handed out

    try:
        with pypdfium2.PdfDocument(content) as opened:
            count = len(opened)
            if not 0 < count <= PDF_PAGES_MAX:
                why = f"the PDF has {count} pages; 1 to {PDF_PAGES_MAX} are handed out"
                raise FileNotPublished(title, why)
            sizes = [page.get_size() for page in opened]
            if max(max(size) for size in sizes) > SIDE_MAX_PT:
                why = "a page of the PDF is larger than any paper"
                raise FileNotPublished(title, why)
            if sum(width * height for width, height in sizes) > AREA_MAX_PT2:
                why = "the pages of the PDF are larger together than 100 sheets of A4"
                raise FileNotPublished(title, why)
            first, *rest = [_picture(page) for page in opened]
    except (pypdfium2.PdfiumError, ArithmeticError, MemoryError, ValueError, OSError) as error:
        raise FileNotPublished(title, "the PDF is locked or damaged") from error
    file = io.BytesIO()
    undated = time.gmtime(0)
    first.save(
        file,
        "PDF",
        save_all=True,
        append_images=rest,
        resolution=RESOLUTION_DPI,
        quality=_QUALITY,
        creationDate=undated,
        modDate=undated,
    )
    return file.getvalue()


def _picture(page: Any) -> Image.Image:  # noqa: ANN401 - the library has no types
    """Draw one page with its notes, as it is printed."""
    drawn = page.render(scale=RESOLUTION_DPI / _PT_PER_INCH, may_draw_forms=True).to_pil()
    return cast("Image.Image", drawn).convert("RGB")


def seen_text(content: bytes) -> str:
    """Give the text of a PDF whose pages are handed out as pictures, to be searched."""
    return inside(content).texts[0]
