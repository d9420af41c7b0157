"""Tables that open up: a ref leads to its record, a total to the lines behind it."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING
from urllib.parse import quote

from markupsafe import Markup, escape

from recondition.reports.cells import headings, shown_rows

if TYPE_CHECKING:
    from recondition.reports.drawing import Figure
    from recondition.reports.html import Photographs
    from recondition.reports.pages import Part
    from recondition.reports.table import Table

_REF = re.compile(r"(?<![\w-])[A-Za-z]{1,4}-\d{1,9}(?:-reversed)?(?![\w-])")
_NOUGHT = re.compile(r"-?0(\.0+)?|\u2013|")

Leads = Callable[[str, tuple[str, ...]], "Mapping[str, str]"]
"""Give, for a table's title and a row as shown, where cells lead, by their column's key."""


def record_at(kind: str, ref: str) -> str:
    """Give the address of the page of one record."""
    return f"/records/{quote(kind, safe='')}/{quote(ref, safe='')}"


@dataclass(frozen=True, slots=True)
class Links:
    """The refs that lead somewhere: their kinds by ref."""

    kinds: Mapping[str, str]

    def text(self, text: str) -> Markup:
        """Give a text in which every ref that is on record leads to its record."""
        if text in self.kinds:
            return self._link(text)
        made, at = Markup(), 0
        for found in _REF.finditer(text):
            if found[0] in self.kinds:
                made += escape(text[at : found.start()]) + self._link(found[0])
                at = found.end()
        return made + escape(text[at:])

    def _link(self, ref: str) -> Markup:
        """Give one ref as a link."""
        return Markup('<a href="{}">{}</a>').format(record_at(self.kinds[ref], ref), ref)


def nowhere(_title: str, _row: tuple[str, ...]) -> Mapping[str, str]:
    """Give no further place to lead to."""
    return {}


@dataclass(frozen=True)
class Opened:
    """A table as a page shows it; ``figure`` is the picture that it stands behind, if any."""

    table: Table
    links: Links
    leads: Leads = nowhere
    figure: Figure | None = None

    @cached_property
    def headings(self) -> tuple[str, ...]:
        """The headings, money with its currency."""
        return headings(self.table)

    @cached_property
    def rows(self) -> list[list[Markup]]:
        """Every row for people, its refs and totals leading on; the total last, if of anything."""
        return [self._row(row) for row in shown_rows(self.table)] if self.table.rows else []

    def _row(self, row: tuple[str, ...]) -> list[Markup]:
        """Open up one row."""
        leads = self.leads(self.table.title, row)
        return [
            self._cell(text, leads.get(column.key, ""), texts=column.is_text)
            for text, column in zip(row, self.table.columns, strict=True)
        ]

    def _cell(self, text: str, to: str, *, texts: bool) -> Markup:
        """Open up one cell; nothing is behind a nought."""
        if to and not _NOUGHT.fullmatch(text):
            return Markup('<a href="{}">{}</a>').format(to, text)
        return self.links.text(text) if texts else escape(text)


@dataclass(frozen=True, slots=True)
class Shown:
    """A part of a report as a page shows it."""

    words: str
    tables: tuple[Opened, ...]
    photographs: tuple[Photographs, ...] = field(default_factory=tuple)


def shown(
    part: Part,
    links: Links,
    *,
    leads: Leads = nowhere,
    cut: Callable[[Table], Table] | None = None,
) -> Shown:
    """Open up a part of a report: each picture with the table behind it.

    ``cut`` takes out of a table what may not be seen.
    """
    made = []
    for place, table in enumerate(part.tables):
        picture = part.pictures.get(place)
        kept = cut(table) if cut else table
        made.append(Opened(kept, links, leads, picture() if picture else None))
    return Shown(part.words, tuple(made), part.photographs)
