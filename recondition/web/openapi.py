"""The description of the machine interface (OpenAPI 3.1), from the table that routes it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import recondition
from recondition.web.api_call import FORM, JSON
from recondition.web.api_schemas import CELL, MONEY, REFUSED, TABLE

if TYPE_CHECKING:
    from collections.abc import Iterable

    from recondition.web.api_call import Operation, Parameter

_TAGS = {
    "session": "Signing in and out.",
    "read": "Lists, reports, records, and finding them.",
    "enter": "Rows of the workbook's sheets, and taking them back.",
    "bench": "The clock, and measured use.",
    "decide": "What is worth doing.",
    "books": "Periods, and whether the book is whole.",
    "work": "What takes long: it is begun, asked after, cancelled, and gives a file or a result.",
}
_WORDS = {
    400: "The call is not written as it is documented, or contradicts itself.",
    401: "Nobody is signed in.",
    403: "The role of the login may not do this.",
    404: "There is no such thing, or not for this login.",
    409: "It stands in the way of what is there already.",
    413: "The body is too large.",
    415: "The body is not marked as JSON.",
    422: "The book refused it: nothing was entered.",
    429: "Too many tries, or too much work at once: wait.",
    503: "The book is in use or away: try again.",
}
_LEAD = (
    "The same operations as on the pages and at the command line. What is entered is a row of the "
    "same sheet as in the workbook, with the same checks. Amounts, numbers and days are texts. A "
    "refusal says what, where and what to do. Every row and turn of the clock may carry a key of "
    "your own making: sent again under it, it is entered once."
)


def document(operations: Iterable[Operation], prefix: str) -> dict[str, Any]:
    """Describe operations as OpenAPI 3.1; ``prefix`` goes before each path."""
    paths: dict[str, dict[str, Any]] = {}
    for each in operations:
        paths.setdefault(each.path, {})[each.method.lower()] = _operation(each)
    return {
        "openapi": "3.1.0",
        "info": {"title": "recondition", "version": recondition.__version__, "description": _LEAD},
        "servers": [{"url": prefix}],
        "tags": [{"name": name, "description": words} for name, words in _TAGS.items()],
        "security": [{"token": []}],
        "paths": paths,
        "components": {
            "schemas": {"Money": MONEY, "Cell": CELL, "Table": TABLE, "Refused": REFUSED},
            "securitySchemes": {
                "token": {"type": "http", "scheme": "bearer",
                          "description": "The token of POST /session."}
            },
        },
    }  # fmt: skip


def statuses(operation: Operation) -> list[int]:
    """Name the statuses of refusals that an operation may answer with."""
    found = {400, 422, 503, *operation.refusals}
    brings = operation.body is not None or bool(operation.upload)
    if not operation.open:
        found |= {401, 403}
    if operation.parameters or brings:
        found |= {404}
    if brings:
        found |= {409, 413, 415}
    if operation.open and operation.body is not None:
        found |= {403, 429}
    return sorted(found)


def rights_of(operation: Operation) -> str:
    """Say in words who may call an operation."""
    if operation.open:
        return "anybody"
    rights = (right.value.partition(":")[0] for right in operation.rights)
    return "; or ".join(rights) or "every login"


def _operation(operation: Operation) -> dict[str, Any]:
    """Describe one operation."""
    refused = {JSON: {"schema": {"$ref": "#/components/schemas/Refused"}}}
    made: dict[str, Any] = {
        "operationId": operation.id,
        "summary": operation.summary,
        "description": " ".join(
            part for part in (operation.words, f"Who may: {rights_of(operation)}.") if part
        ),
        "tags": [operation.tag],
        "responses": {
            str(operation.status): {
                "description": "Done.",
                "content": {media: {"schema": operation.answer} for media in operation.media},
            },
            **{
                str(status): {"description": _WORDS[status], "content": refused}
                for status in statuses(operation)
            },
        },
    }
    if operation.open:
        made["security"] = []
    if operation.parameters:
        made["parameters"] = [_parameter(each) for each in operation.parameters]
    if operation.body is not None:
        made["requestBody"] = _brought({JSON: {"schema": operation.body}})
    if operation.upload:
        made["requestBody"] = _brought({FORM: {"schema": _form(operation.upload)}})
    return made


def _brought(content: dict[str, Any]) -> dict[str, Any]:
    """Describe a body."""
    return {"required": True, "content": content}


def _form(name: str) -> dict[str, Any]:
    """Describe a form with a file in it."""
    file = {"type": "string", "contentMediaType": "application/octet-stream"}
    return {"type": "object", "properties": {name: file}, "required": [name],
            "additionalProperties": False}  # fmt: skip


def _parameter(parameter: Parameter) -> dict[str, Any]:
    """Describe one parameter."""
    schema = dict(parameter.schema)
    words = schema.pop("description", "")
    made: dict[str, Any] = {"name": parameter.name, "in": parameter.place, "description": words,
                            "required": parameter.required, "schema": schema}  # fmt: skip
    if parameter.several:
        made["schema"] = {"type": "array", "items": schema}
        made |= {"style": "form", "explode": True}
    return made
