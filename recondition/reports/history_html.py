"""The work history as one self-contained page, for a phone, a desk and paper."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

from jinja2 import Environment, FileSystemLoader, StrictUndefined

from recondition.history.page import lay_out
from recondition.resources import resource

if TYPE_CHECKING:
    from recondition.history.sheet import Sheet


@cache
def _environment() -> Environment:
    """Make the template engine: everything escaped, an unknown name is an error."""
    return Environment(
        loader=FileSystemLoader(resource("templates")),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def to_html(sheet: Sheet) -> str:
    """Draw a sheet as a page without script that asks nothing of any other place."""
    template = _environment().get_template("work-history.html.j2")
    return template.render(page=lay_out(sheet)) + "\n"
