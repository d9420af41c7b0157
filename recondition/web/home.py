"""The first page of each role, and what the service needs at its root."""

from __future__ import annotations

from typing import TYPE_CHECKING

from flask import Blueprint, redirect, url_for

from recondition.book.roles import Role
from recondition.web.visit import needs, visit

if TYPE_CHECKING:
    from flask.typing import ResponseReturnValue

pages = Blueprint("home", __name__)

FIRST = {
    Role.PREPARER: "bench.cars",
    Role.DEALER: "vehicles.every",
    Role.BOOKKEEPER: "books.first",
    Role.SELLER: "histories.every",
}


@pages.get("/")
@needs()
def first() -> ResponseReturnValue:
    """Go to where the day of whoever is signed in begins."""
    return redirect(url_for(FIRST[visit().signed_in.login.role]))
