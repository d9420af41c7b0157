"""The work history as one self-contained page, for a phone, a desk and paper."""

from __future__ import annotations

from typing import TYPE_CHECKING

from recondition.history.page import lay_out
from recondition.reports.html import environment

if TYPE_CHECKING:
    from recondition.history.sheet import Sheet


def to_html(sheet: Sheet) -> str:
    """Draw a sheet as a page without script that asks nothing of any other place."""
    return environment().get_template("work-history.html.j2").render(page=lay_out(sheet))
