"""The medium-free layout of a work history: sections made of a few kinds of block.

The page and the printed sheet are both drawn from this and differ in nothing but drawing.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Scale:
    """Severity 0 to 4 before and after, drawn beside the words; None draws no mark."""

    before: int | None
    after: int | None


@dataclass(frozen=True, slots=True)
class Cell:
    """What stands in a table cell: main lines, smaller ones under them, perhaps a scale."""

    lines: tuple[str, ...]
    notes: tuple[str, ...] = ()
    scale: Scale | None = None


@dataclass(frozen=True, slots=True)
class Table:
    """A table whose first column heads its rows. ``widths`` are shares of the full width."""

    caption: str
    columns: tuple[str, ...]
    widths: tuple[int, ...]
    rows: tuple[tuple[Cell, ...], ...]
    kind: str = "table"


@dataclass(frozen=True, slots=True)
class Fact:
    """A name and what is known under it. ``exact`` is text to be read letter by letter."""

    name: str
    lines: tuple[str, ...]
    notes: tuple[str, ...] = ()
    exact: bool = False


@dataclass(frozen=True, slots=True)
class Facts:
    """Names with what is known under each."""

    facts: tuple[Fact, ...]
    kind: str = "facts"


@dataclass(frozen=True, slots=True)
class Text:
    """Paragraphs."""

    paragraphs: tuple[str, ...]
    kind: str = "text"


@dataclass(frozen=True, slots=True)
class Entry:
    """What was done on one day. ``iso_date`` is for machines, ``date`` for people."""

    iso_date: str
    date: str
    date_note: str
    heading: str
    steps: tuple[str, ...]
    facts: tuple[Fact, ...]


@dataclass(frozen=True, slots=True)
class Timeline:
    """Entries in order of date."""

    entries: tuple[Entry, ...]
    kind: str = "timeline"


@dataclass(frozen=True, slots=True)
class Shot:
    """A picture by the name of its record, with what it shows in words."""

    name: str
    alt: str
    caption: str


@dataclass(frozen=True, slots=True)
class Pictures:
    """Pictures in groups that stand side by side: pairs, or one alone.

    ``drawn`` tells drawings of this sheet from photographs.
    """

    caption: str
    groups: tuple[tuple[Shot, ...], ...]
    drawn: bool = False
    kind: str = "pictures"


@dataclass(frozen=True, slots=True)
class Proof:
    """Where the short code, the fingerprint and what the page found of itself stand.

    ``code``, ``fingerprint`` and ``check`` are the names of the three, ``unchecked`` what is said
    before a check has run.
    """

    code: str
    fingerprint: str
    check: str
    unchecked: str
    kind: str = "proof"


Block = Table | Facts | Text | Timeline | Pictures | Proof


@dataclass(frozen=True, slots=True)
class Section:
    """One part of the sheet. ``anchor`` is its address within the page."""

    anchor: str
    heading: str
    blocks: tuple[Block, ...]


@dataclass(frozen=True, slots=True)
class Page:
    """A whole work history, ready to be drawn. ``made_on`` is ISO 8601.

    ``edition`` says under what it goes out and what it takes the place of.
    """

    language: str
    title: str
    subject: str
    byline: str
    edition: str
    made_on: str
    summary: tuple[Fact, ...]
    sections: tuple[Section, ...]
