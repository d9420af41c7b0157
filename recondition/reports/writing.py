"""Writing a report's page where it is wanted: as a page, as a PDF, or both."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

from recondition.reports.html import Page, to_html
from recondition.reports.whole import write_bytes, write_text


def write_page(page: Page, html: Path | None, pdf: Path | None, made_at: datetime) -> list[str]:
    """Write a page; give what to say. Raises FileNotWritten, SheetNotPrinted."""
    said = []
    if html is not None:
        write_text(html, to_html(page))
        said.append(f"The page lies at {html}.")
    if pdf is not None:
        from recondition.reports.report_pdf import to_pdf  # noqa: PLC0415 - loads the typesetter

        write_bytes(pdf, to_pdf(page, made_at.astimezone().date()))
        said.append(f"The PDF lies at {pdf}.")
    return said
