"""Makes the three outputs of a sheet and reads them back, to look at what a buyer would see."""

from __future__ import annotations

import io
import json
import re
from functools import lru_cache
from html.parser import HTMLParser

import pypdf
from pypdf.generic import IndirectObject, StreamObject

from recondition.history.layout import Page, Shot
from recondition.history.page import lay_out
from recondition.history.sheet import Sheet
from recondition.reports.history_drawings import drawings_of
from recondition.reports.history_html import Art, Proven, to_html
from recondition.reports.history_json import document_of
from recondition.reports.history_pdf import to_pdf
from tests.pdf_text import pages_of
from tests.pictures import picture

PROVEN = Proven("0123-4567-89AB-CDEF", "-".join(["0123"] * 8))


@lru_cache(maxsize=8)
def _drawn(sheet: Sheet) -> dict[str, tuple[Shot, bytes]]:
    """Draw a sheet once for all its outputs; it takes longer than all the rest."""
    return drawings_of(sheet)


def page_of(sheet: Sheet) -> Page:
    """Lay a sheet out with its drawings."""
    return lay_out(sheet, {name: shot for name, (shot, _) in _drawn(sheet).items()})


def art_of(sheet: Sheet) -> dict[str, Art]:
    """Give the drawings of a sheet, and a plain picture for each photograph."""
    art = {name: Art("image/svg+xml", svg) for name, (_, svg) in _drawn(sheet).items()}
    shots = [row for row in sheet.evidence if row.picture]
    return art | {
        row.name: Art("image/jpeg", picture("JPEG", shade=row.number)) for row in shots
    }  # fmt: skip


def html_of(sheet: Sheet) -> str:
    """Draw a sheet as a page without a seal."""
    return to_html(page_of(sheet), art_of(sheet), PROVEN)


def pdf_of(sheet: Sheet) -> bytes:
    """Set a sheet as PDF."""
    return to_pdf(page_of(sheet), art_of(sheet), PROVEN)


def json_of(sheet: Sheet) -> str:
    """Write a sheet as JSON without a seal."""
    return json.dumps(document_of(sheet), ensure_ascii=False, indent=2) + "\n"


_BLOCKS = {"p", "h1", "h2", "h3", "li", "dt", "dd", "th", "td", "caption", "title", "tr", "span"}


class PageReader(HTMLParser):
    """Collects the tags of a page in order and its visible text, a line for each block."""

    def __init__(self) -> None:
        """Start with nothing read."""
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.text: list[str] = []
        self._quiet = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Note a tag; style sheet and script are no text."""
        self.tags.append((tag, dict(attrs)))
        self._quiet = tag in ("style", "script")
        if tag in _BLOCKS:
            self.text.append("\n")

    def handle_endtag(self, tag: str) -> None:
        """Leave the style sheet or the script."""
        self._quiet = self._quiet and tag not in ("style", "script")

    def handle_data(self, data: str) -> None:
        """Note visible text."""
        if not self._quiet:
            self.text.append(data)


def read_page(html: str) -> PageReader:
    """Read a page."""
    reader = PageReader()
    reader.feed(html)
    return reader


def page_text(html: str) -> str:
    """Give the visible text of a page, one line a block, without empty lines."""
    lines = "".join(read_page(html).text).split("\n")
    kept = (" ".join(line.split()) for line in lines)
    return "\n".join(line for line in kept if line) + "\n"


def squeezed(text: str) -> str:
    """Take white space and invisible breaks out: a PDF breaks lines where it likes."""
    return re.sub(r"[\s\u200b]", "", text)


def pdf_text(pdf: bytes) -> str:
    """Give the text of every page."""
    return "\n".join(pages_of(pdf))


def pdf_insides(pdf: bytes) -> str:
    """Give every object of a PDF with its streams unpacked: metadata, structure, outline."""
    reader = pypdf.PdfReader(io.BytesIO(pdf))
    count = int(reader.trailer["/Size"])
    found = [str(reader.metadata)]
    for number in range(1, count):
        thing = reader.get_object(IndirectObject(number, 0, reader))
        found.append(str(thing))
        if isinstance(thing, StreamObject):
            found.append(thing.get_data().decode("utf-8", "replace"))
    return "\n".join(found)
