"""The work history as a PDF that is tagged (PDF/UA-1) and made to be kept (PDF/A-2a)."""

from __future__ import annotations

import json
from dataclasses import asdict
from typing import TYPE_CHECKING

from recondition.history.page import lay_out
from recondition.reports.typeset import typeset

if TYPE_CHECKING:
    from recondition.history.sheet import Sheet


def to_pdf(sheet: Sheet) -> bytes:
    """Set a sheet as PDF. Raises SheetNotPrinted with what the typesetter said."""
    page = json.dumps(asdict(lay_out(sheet)), ensure_ascii=False)
    return typeset("work-history.typ", page, sheet.made_on)
