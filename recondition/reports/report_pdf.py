"""A report's page as a PDF: the same words, tables and drawings as on the page."""

from __future__ import annotations

import json
import re
from datetime import date
from typing import Any

from recondition.reports.cells import headings, shown_rows, visible
from recondition.reports.html import Block, Page, Photographs, Pictured
from recondition.reports.table import CellKind, Table
from recondition.reports.typeset import typeset

_TO_WRITE_ON = 14  # signs that a column to be filled by hand is wide at least
_SHORT = 10  # signs that a column shows without breaking them
# The drawing names its colours for the page's light and dark; paper has only the light ones.
_NAMED_COLOUR = re.compile(r"var\(--[\w-]+, (#[0-9a-fA-F]{6})\)")


def to_pdf(page: Page, made_on: date) -> bytes:
    """Set a page as PDF. Raises SheetNotPrinted."""
    data = {
        "title": visible(page.title),
        "subject": visible(page.subject),
        "lead": visible(page.lead),
        "foot": visible(page.foot),
        "ruled": page.ruled,
        "sections": [
            {
                "heading": visible(section.heading),
                "words": [visible(words) for words in section.words],
                "blocks": [_block(block, ruled=page.ruled) for block in section.blocks],
            }
            for section in page.sections
        ],
    }
    return typeset("report.typ", json.dumps(data, ensure_ascii=False), made_on)


def _block(block: Block, *, ruled: bool) -> dict[str, Any]:
    """Turn a block into what the template reads."""
    if isinstance(block, Pictured):
        figure = block.figure
        svg = _NAMED_COLOUR.sub(r"\1", figure.svg)
        said = {"svg": svg, "alt": figure.description, "caption": figure.title}
        return {"kind": "figure", **said, "table": _table(block.table, ruled=ruled)}
    if isinstance(block, Photographs):
        shots = [{"caption": visible(s.caption), "jpeg": list(s.jpeg)} for s in block.shots]
        return {"kind": "photographs", "caption": visible(block.title), "shots": shots}
    return {"kind": "table", **_table(block, ruled=ruled)}


def _table(table: Table, *, ruled: bool) -> dict[str, Any]:
    """Write a table's cells, and how wide each column asks to be; 0 for as wide as it is."""
    rows = shown_rows(table)
    names = headings(table)
    least = _TO_WRITE_ON if ruled else 1
    widths = [
        min(max([least, len(names[at]), *(len(row[at]) for row in rows)]), 48)
        for at in range(len(table.columns))
    ]
    return {
        "caption": visible(table.title),
        "columns": [visible(name) for name in names],
        "widths": [
            0 if column.kind is not CellKind.TEXT or (width <= _SHORT and not ruled) else width
            for column, width in zip(table.columns, widths, strict=True)
        ],
        "right": [not column.is_text for column in table.columns],
        "rows": [list(row) for row in rows],
        "total": table.total is not None,
        "note": visible(table.note),
    }
