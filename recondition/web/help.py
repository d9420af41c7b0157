"""Pages that explain something, for everybody."""

from __future__ import annotations

from typing import TYPE_CHECKING

from flask import Blueprint, render_template

if TYPE_CHECKING:
    from flask.typing import ResponseReturnValue

pages = Blueprint("help", __name__)


@pages.get("/help/tls")
def tls() -> ResponseReturnValue:
    """Say how the pages are put behind TLS, and why."""
    return render_template("web/help_tls.html.j2")
