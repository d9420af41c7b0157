"""The tables of the books as one page."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime

from recondition.reports.books_view import GENERAL
from recondition.reports.html import Page, Section
from recondition.reports.table import Table


def page(title: str, tables: Sequence[Table], made_at: datetime) -> Page:
    """Lay tables out as one page. ``made_at`` has its zone."""
    blocks = tuple(replace(table, note=table.note.replace(GENERAL, "").strip()) for table in tables)
    return Page(
        title="The books",
        subject=title,
        lead="Every total is the sum of posted, rounded lines.",
        sections=(Section("By the journal and its lines", (), blocks),),
        foot=f"Made {made_at.astimezone():%Y-%m-%d %H:%M %Z}. {GENERAL}",
    )
