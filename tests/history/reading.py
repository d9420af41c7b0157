"""Reads the three outputs back, so that tests look at what a buyer would see."""

from __future__ import annotations

import io
import re
from html.parser import HTMLParser

import pypdf
from pypdf.generic import IndirectObject, StreamObject

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
        """Note a tag; the style sheet is not text."""
        self.tags.append((tag, dict(attrs)))
        self._quiet = tag == "style"
        if tag in _BLOCKS:
            self.text.append("\n")

    def handle_endtag(self, tag: str) -> None:
        """Leave the style sheet."""
        self._quiet = self._quiet and tag != "style"

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
    return "\n".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(pdf)).pages)


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
