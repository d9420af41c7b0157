"""Pages: self-contained, readable on a phone, printable on A4 and Letter.

Templates live in the folder ``templates``; everything they are given is escaped, and a name
they do not know is an error. Only the figures, which this program draws, go in as they are.
"""

from __future__ import annotations

from base64 import b64encode
from dataclasses import dataclass
from functools import cache

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from recondition.reports.cells import headings, shown_rows, visible
from recondition.reports.drawing import Figure
from recondition.reports.table import Table
from recondition.resources import resource


@dataclass(frozen=True, slots=True)
class Pictured:
    """A figure with the table behind it, which stands folded below."""

    figure: Figure
    table: Table


@dataclass(frozen=True, slots=True)
class Shot:
    """One photograph as it is shown: what it shows, when, and a small copy without metadata."""

    caption: str
    jpeg: bytes

    @property
    def address(self) -> str:
        """The small copy as an address that a page can hold in itself."""
        return f"data:image/jpeg;base64,{b64encode(self.jpeg).decode()}"


@dataclass(frozen=True, slots=True)
class Photographs:
    """Photographs side by side: before and after, or one alone."""

    title: str
    shots: tuple[Shot, ...]


Block = Table | Pictured | Photographs


@dataclass(frozen=True, slots=True)
class Section:
    """A part of a page: paragraphs first, then pictures and tables in their order."""

    heading: str
    words: tuple[str, ...] = ()
    blocks: tuple[Block, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Page:
    """A whole page. ``lead`` says in a sentence what it answers, ``foot`` how it was made.

    A ``ruled`` page is printed to be filled by hand: its empty cells are lines to write on.
    """

    title: str
    subject: str
    lead: str
    sections: tuple[Section, ...]
    foot: str
    ruled: bool = False


@cache
def environment() -> Environment:
    """Give the one template environment: escaped, strict, with what tables need."""
    made = Environment(
        loader=FileSystemLoader(resource("templates")),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    made.filters["visible"] = visible
    made.filters["drawn"] = _drawn
    made.filters["headings"] = headings
    made.filters["shown_rows"] = shown_rows
    made.tests["photographs"] = lambda block: isinstance(block, Photographs)
    made.tests["pictured"] = lambda block: isinstance(block, Pictured)
    return made


def _drawn(figure: Figure) -> Markup:
    """Let a figure through unescaped: its labels were escaped when it was drawn."""
    return Markup(figure.svg)  # noqa: S704 - SVG made by this program, see drawing


def to_html(page: Page) -> str:
    """Render a page."""
    return environment().get_template("report.html.j2").render(page=page)
