"""The work history as a PDF that is tagged (PDF/UA-1) and made to be kept (PDF/A-2a)."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import asdict
from datetime import date
from typing import TYPE_CHECKING, Any

from recondition.history import wording_proof as wp
from recondition.reports.typeset import typeset

if TYPE_CHECKING:
    from recondition.history.layout import Page
    from recondition.reports.history_html import Art, Proven

_ENDINGS = {"image/jpeg": "jpg", "image/svg+xml": "svg"}


def to_pdf(page: Page, art: Mapping[str, Art], proven: Proven) -> bytes:
    """Set a layout as PDF. Raises SheetNotPrinted with what the typesetter said.

    ``art`` gives every picture by the name of its record. The short code stands on each page.
    """
    files = {name: _file(name, each) for name, each in art.items()}
    data: dict[str, Any] = asdict(page) | {
        "code": proven.code,
        "fingerprint": proven.fingerprint,
        "code_name": wp.CODE,
        "on_paper": wp.ON_PAPER,
        "files": files,
    }
    pictures = {files[name]: each.content for name, each in art.items()}
    text = json.dumps(data, ensure_ascii=False)
    return typeset("work-history.typ", text, date.fromisoformat(page.made_on), pictures)


def _file(name: str, art: Art) -> str:
    """Name the file of a picture for the typesetter."""
    return f"{name.replace('/', '-')}.{_ENDINGS[art.media_type]}"
