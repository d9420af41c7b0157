"""Kept files made ready to be handed out: pictures anew, PDF without what does not show, text."""

from __future__ import annotations

import hashlib
import io
import logging
from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from recondition.book.public import Kept
from recondition.errors import Refused
from recondition.history.source import Issued
from recondition.reports.public_pictures import Box, Item, publish_all
from recondition.reports.reopened_pictures import BEHIND, NoPicture, blocks_in

if TYPE_CHECKING:
    from pypdf import PdfReader
    from pypdf.generic import DictionaryObject

PDF_PAGES_MAX = 500
# What a page or a document carries besides what it shows.
_UNSHOWN_OF_PAGE = ("/Annots", "/AA", "/Thumb", "/B", "/PresSteps", "/StructParents")
_JPEG_FILTERS = ("/DCTDecode", "['/DCTDecode']")
_UNSHOWN_ANYWHERE = ("/Metadata", "/PieceInfo", "/LastModified", "/AF", "/OPI", "/Alternates")


@dataclass(frozen=True, slots=True)
class Ready:
    """A file as it is handed out; ``small`` is the copy for the page, None for no picture."""

    document: str
    issued: Issued
    content: bytes
    small: bytes | None


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
        content = made.large if made else _other(each)
        media = "image/jpeg" if made else each.media_type
        small = made.small if made else None
        issued = Issued(media, _sha256(content), len(content), _sha256(small) if small else None)
        ready.append(Ready(each.document.id, issued, content, small))
    return ready


def _sha256(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


def _boxes(each: Kept) -> list[Box]:
    """Give the places to be painted over."""
    return [Box(one.from_left, one.from_top, one.width, one.height) for one in each.hidden]


def _other(each: Kept) -> bytes:
    """Read a file that is no picture, without what it does not show."""
    title = each.document.entry.title
    try:
        content = Path(each.path).read_bytes()
    except OSError as error:
        raise FileNotPublished(title, error.strerror or "it cannot be read") from error
    return bare_pdf(content, title) if each.media_type == "application/pdf" else content


def bare_pdf(content: bytes, title: str) -> bytes:
    """Give the pages of a PDF alone: no properties, notes, attachments, actions or forms.

    The same content gives the same bytes. Raises FileNotPublished.
    """
    from pypdf import PdfReader  # noqa: PLC0415 - only where a PDF is handed out
    from pypdf.errors import PyPdfError  # noqa: PLC0415 - as above

    logging.getLogger("pypdf").setLevel(logging.ERROR)  # what it passes over is no news
    damaged = (PyPdfError, ValueError, LookupError, TypeError, AttributeError)
    try:
        reader = PdfReader(io.BytesIO(content))
        if reader.is_encrypted:
            raise FileNotPublished(title, "the PDF is locked")
        count = len(reader.pages)
        if not count or count > PDF_PAGES_MAX:
            why = f"the PDF has {count} pages; 1 to {PDF_PAGES_MAX} are handed out"
            raise FileNotPublished(title, why)
        return _pages_of(reader)
    except (*damaged, RecursionError, OSError) as error:
        raise FileNotPublished(title, "the PDF is damaged") from error


def _pages_of(reader: PdfReader) -> bytes:
    """Write the pages anew; what nobody sees is taken off first, so that no copy of it stays."""
    from pypdf import PdfWriter  # noqa: PLC0415 - as above

    writer = PdfWriter()
    for page in reader.pages:
        for name in _UNSHOWN_OF_PAGE:
            page.pop(name, None)
        _take_off(page)
        writer.add_page(page)
    writer.metadata = None
    first, whole = io.BytesIO(), io.BytesIO()
    writer.write(first)
    PdfWriter(clone_from=first).write(whole)  # numbered anew, without the gap of the properties
    return whole.getvalue()


def _take_off(page: DictionaryObject) -> None:
    """Take off what pictures and forms of a page carry beside what they show."""
    from pypdf.generic import StreamObject  # noqa: PLC0415 - as above

    seen, left = set(), [page.get_object()]
    while left:
        thing = left.pop()
        if thing is None or id(thing) in seen:
            continue
        seen.add(id(thing))
        inner: list[Any] = []
        if isinstance(thing, StreamObject) and str(thing.get("/Filter")) in _JPEG_FILTERS:
            thing._data = bare_jpeg(thing._data)  # noqa: SLF001 - it offers no other way
        if isinstance(thing, dict):
            for name in _UNSHOWN_ANYWHERE:
                thing.pop(name, None)
            inner = [value for name, value in thing.items() if name != "/Parent"]
        elif isinstance(thing, list):
            inner = list(thing)
        left += [value.get_object() for value in inner]


def bare_jpeg(content: bytes) -> bytes:
    """Give a JPEG without the blocks that do not draw it; anything else as it is."""
    with suppress(NoPicture):
        for block in blocks_in(content):
            whole = (len(block.content) + 2).to_bytes(2, "big") + block.content
            if block.name == BEHIND:
                return content.removesuffix(block.content)
            before, _, after = content.partition(whole)
            content = before[:-2] + after
    return content
