"""The machine interface: the operations of the pages as documented JSON, under /api/v1.

One table of operations makes the routing and the description, so that the two cannot part.
"""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, Any

from flask import Blueprint, Response, jsonify, render_template

from recondition.errors import Refused
from recondition.ledger.booked import EntryAlreadyReversed
from recondition.ledger.periods import PeriodIsSo, PeriodNotInOrder
from recondition.ledger.rules import AlreadyReversed, KeyReused, PostedDiffers
from recondition.web import api_bench, api_read, api_work, api_write
from recondition.web.api_call import Operation, called
from recondition.web.api_shapes import NotThatShape
from recondition.web.openapi import document, rights_of
from recondition.web.told import problems_of
from recondition.web.visit import needs

if TYPE_CHECKING:
    from collections.abc import Callable

    from flask.typing import ResponseReturnValue

PREFIX = "/api/v1"
pages = Blueprint("api", __name__)
_CONFLICTS = (KeyReused, PostedDiffers, AlreadyReversed, EntryAlreadyReversed, PeriodIsSo,
              PeriodNotInOrder)  # fmt: skip


@cache
def described() -> dict[str, Any]:
    """Give the description of every operation, made once."""
    return document(OPERATIONS, PREFIX)


def _description(_call: object) -> Any:  # noqa: ANN401 - JSON
    """Give the description as an operation does."""
    return described()


_ITSELF = Operation(
    id="openapi", method="GET", path="/openapi.json", summary="Describe this interface",
    tag="read", run=_description, answer={"type": "object"}, open=True,
)  # fmt: skip
OPERATIONS: tuple[Operation, ...] = (
    _ITSELF, *api_write.OPERATIONS, *api_read.OPERATIONS, *api_bench.OPERATIONS,
    *api_work.OPERATIONS,
)  # fmt: skip


def _view(operation: Operation) -> Callable[..., ResponseReturnValue]:
    """Give the view of one operation."""

    def view(**path: str) -> ResponseReturnValue:
        try:
            made = called(operation, path)
        except Refused as refused:
            return _refused(refused)
        if isinstance(made, Response):
            return made
        return jsonify(made), operation.status

    return view


def _refused(refused: Refused) -> tuple[Response, int]:
    """Answer a refusal: what is not written as documented is 400, what the book refuses 422."""
    from recondition.web.app import status_of  # noqa: PLC0415 - the application imports this

    status = status_of(refused)
    if isinstance(refused, _CONFLICTS):
        status = 409
    elif status == 400 and not isinstance(refused, NotThatShape):  # noqa: PLR2004 - a wrong call
        status = 422
    answer = jsonify({
        "what": refused.what, "where": refused.where, "todo": refused.todo,
        "more": problems_of(refused),
    })  # fmt: skip
    if status == 401:  # noqa: PLR2004 - as RFC 9110, 15.5.2 asks
        answer.headers["WWW-Authenticate"] = "Bearer"
    return answer, status


for _each in OPERATIONS:
    pages.add_url_rule(
        PREFIX + _each.rule, endpoint=_each.id, view_func=_view(_each), methods=[_each.method]
    )


@pages.get("/api")
@needs()
def page() -> ResponseReturnValue:
    """Show the interface to people: every operation, who may call it, how to begin."""
    tags = {tag["name"]: tag["description"] for tag in described()["tags"]}
    grouped = [(words, [o for o in OPERATIONS if o.tag == tag]) for tag, words in tags.items()]
    return render_template(
        "web/api.html.j2", grouped=grouped, prefix=PREFIX, rights_of=rights_of,
        lead=described()["info"]["description"],
    )  # fmt: skip
