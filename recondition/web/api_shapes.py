"""The shapes of JSON that the machine interface takes, held by the same schemas it documents.

Of JSON Schema (2020-12) as much as the interface needs: types, names, enums, patterns, lengths.
"""

from __future__ import annotations

import re
from functools import cache
from typing import TYPE_CHECKING, Any

from recondition.errors import Refused

if TYPE_CHECKING:
    from collections.abc import Mapping

Schema = dict[str, Any]

SHORT_MAX, WORDS_MAX, KEY_MAX = 300, 20_000, 200
# No sign that a database cannot keep: U+0000 comes in through an escape alone.
KEEPABLE = r"^[^\u0000]*$"
DAY = r"^[0-9]{4}-[0-9]{2}-[0-9]{2}$"
PERIOD = r"^[0-9]{4}-(0[1-9]|1[0-2])$"
_TYPES: dict[str, type | tuple[type, ...]] = {
    "object": dict, "array": list, "string": str, "integer": int, "boolean": bool,
    "null": type(None),
}  # fmt: skip


class NotThatShape(Refused):
    """What was sent to the machine interface has not the documented shape."""

    exit_status = 2
    http_status = 400

    def __init__(self, where: str, what: str) -> None:
        """Say where something is wrong, and what."""
        super().__init__(what, where=where, todo="See /api/v1/openapi.json for what it takes.")


def text(words: str, *, length: int = SHORT_MAX, **more: Any) -> Schema:  # noqa: ANN401 - a part of a schema
    """Give the schema of a text; ``words`` say what it is."""
    return {
        "type": "string",
        "description": words,
        "maxLength": length,
        "pattern": KEEPABLE,
        **more,
    }


def day(words: str) -> Schema:
    """Give the schema of a day."""
    return text(words, format="date", pattern=DAY)


def thing(properties: Mapping[str, Schema], *required: str, **more: Any) -> Schema:  # noqa: ANN401 - as above
    """Give the schema of an object with these names and no others."""
    made: Schema = {"type": "object", "properties": dict(properties), "additionalProperties": False}
    return {**made, **({"required": list(required)} if required else {}), **more}


def several(items: Schema, *, most: int = 200, least: int = 0) -> Schema:
    """Give the schema of a list."""
    return {"type": "array", "items": items, "maxItems": most, "minItems": least}


@cache
def _pattern(text_: str) -> re.Pattern[str]:
    """Read a pattern once."""
    return re.compile(text_)


def hold(schema: Schema, value: Any, where: str = "") -> None:  # noqa: ANN401 - JSON holds anything
    """Hold that a value has the shape of a schema. Raises NotThatShape."""
    wanted = schema["type"]
    right = isinstance(value, _TYPES[wanted])
    if not right or (wanted == "integer" and isinstance(value, bool)):
        raise NotThatShape(where, f"{where or 'what was sent'} is no {wanted}")
    if "enum" in schema and value not in schema["enum"]:
        known = ", ".join(map(str, schema["enum"]))
        raise NotThatShape(where, f"{where} is none of: {known}")
    if wanted == "object":
        _hold_object(schema, value, where)
    elif wanted == "array":
        _hold_array(schema, value, where)
    elif wanted == "string":
        _hold_text(schema, value, where)
    elif wanted == "integer":
        _hold_number(schema, value, where)


def _hold_object(schema: Schema, value: dict[str, Any], where: str) -> None:
    """Hold the names of an object, and what stands under each."""
    dot = f"{where}." if where else ""
    for name in schema.get("required", ()):
        place = f"{dot}{name}"
        if name not in value:
            raise NotThatShape(place, f"{place} is missing")
    known = schema.get("properties", {})
    for name, inner in value.items():
        if name not in known:
            shown = f"{dot}{name[:60]}"
            raise NotThatShape(shown, f"nothing is called {shown!r} here")
        hold(known[name], inner, f"{dot}{name}")


def _hold_array(schema: Schema, value: list[Any], where: str) -> None:
    """Hold the length of a list, and each thing in it."""
    if not schema["minItems"] <= len(value) <= schema["maxItems"]:
        most = f"{schema['minItems']} to {schema['maxItems']}"
        raise NotThatShape(where, f"{where} has {len(value)} parts, and takes {most}")
    for place, inner in enumerate(value):
        hold(schema["items"], inner, f"{where}[{place}]")


def _hold_text(schema: Schema, value: str, where: str) -> None:
    """Hold the length and the signs of a text."""
    if not schema.get("minLength", 0) <= len(value) <= schema.get("maxLength", WORDS_MAX):
        raise NotThatShape(where, f"{where} has {len(value)} signs, which is too many or too few")
    if "pattern" in schema and not _pattern(schema["pattern"]).search(value):
        raise NotThatShape(where, f"{where} is not written as it has to be")


def _hold_number(schema: Schema, value: int, where: str) -> None:
    """Hold the bounds of a whole number."""
    if not schema["minimum"] <= value <= schema["maximum"]:
        bounds = f"{schema['minimum']} to {schema['maximum']}"
        raise NotThatShape(where, f"{where} lies outside {bounds}")
