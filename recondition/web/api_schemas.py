"""The schemas of what the machine interface takes and gives, the rows' from the sheets."""

from __future__ import annotations

from typing import TYPE_CHECKING

from recondition.intake.filling import filled
from recondition.intake.spec import Parse, Sheet
from recondition.web.api_shapes import (
    DAY,
    KEY_MAX,
    PERIOD,
    SHORT_MAX,
    WORDS_MAX,
    Schema,
    several,
    text,
    thing,
)

if TYPE_CHECKING:
    from datetime import datetime

    from recondition.intake.spec import ColumnSpec

_LONG = (Parse.WORDS, Parse.TO_MANY, Parse.LINKS, Parse.TEXTS, Parse.NUMBERS, Parse.PAIRS,
         Parse.TIERS)  # fmt: skip
_EXAMPLE_OF = {Parse.YES_NO: ["yes", "no"], Parse.SEVERITY: ["0", "1", "2", "3", "4"]}

KEY = text(
    "Idempotency key of your own making: the same row sent again under it is entered once.",
    length=KEY_MAX, minLength=1,
)  # fmt: skip
WHY = text("The reason; it stays on record.", length=WORDS_MAX, minLength=1)
REF = text("The user's own name of a record.", minLength=1)
STOCK = text("A stock number.", minLength=1)

MONEY: Schema = {
    "type": "object",
    "description": "An amount of money, its number as a text.",
    "properties": {"amount": {"type": "string"}, "currency": {"type": "string"}},
    "required": ["amount", "currency"],
    "additionalProperties": False,
}
CELL: Schema = {
    "description": "A text, a count, a number or a day as a text, money, or nothing.",
    "anyOf": [{"type": ["string", "integer", "null"]}, {"$ref": "#/components/schemas/Money"}],
}
_TEXT: Schema = {"type": "string"}
_ROW: Schema = {"type": "object", "additionalProperties": {"$ref": "#/components/schemas/Cell"}}
TABLE: Schema = {
    "type": "object",
    "properties": {
        "title": _TEXT,
        "note": _TEXT,
        "columns": {"type": "array", "items": {
            "type": "object",
            "properties": {"key": _TEXT, "heading": _TEXT, "kind": _TEXT},
            "required": ["key", "heading", "kind"], "additionalProperties": False,
        }},
        "rows": {"type": "array", "items": _ROW},
        "total": {"anyOf": [_ROW, {"type": "null"}]},
    },
    "required": ["title", "note", "columns", "rows", "total"],
    "additionalProperties": False,
}  # fmt: skip
REFUSED: Schema = {
    "type": "object",
    "description": "A refusal: what, where, and what to do.",
    "properties": {
        "what": _TEXT,
        "where": _TEXT,
        "todo": _TEXT,
        "more": {"type": "array", "items": _TEXT},
    },
    "required": ["what", "where", "todo", "more"],
    "additionalProperties": False,
}


def answer(**properties: Schema) -> Schema:
    """Give the schema of an answer in which every name is there."""
    return thing(properties, *properties)


def texts() -> Schema:
    """Give the schema of several texts in an answer."""
    return {"type": "array", "items": _TEXT}


TABLES = answer(tables={"type": "array", "items": {"$ref": "#/components/schemas/Table"}})
SAID = answer(said=texts())
ENTERED = answer(
    kind=_TEXT, ref=_TEXT,
    status={"type": "string", "enum": ["new", "already there", "new version"]},
    told=texts(), reminders=texts(),
)  # fmt: skip


def _column(column: ColumnSpec) -> Schema:
    """Give the schema of one field of a row: always a text, as it would be typed."""
    words = f"{column.heading}: {column.help}"
    if column.unit:
        words += f" [{column.unit}]"
    if column.default:
        words += f"; empty: {column.default}"
    made = text(words, length=WORDS_MAX if column.parse in _LONG else SHORT_MAX)
    if column.parse is Parse.CHOICE:
        made["enum"] = [str(choice) for choice in column.choices]
    elif column.parse in _EXAMPLE_OF:
        made["enum"] = _EXAMPLE_OF[column.parse]
    elif column.parse is Parse.DATE:
        made |= {"format": "date", "pattern": DAY}
    elif column.parse is Parse.MONTH:
        made["pattern"] = PERIOD
    elif column.parse is Parse.MOMENT:
        made["format"] = "date-time"
    if column.example:
        made["examples"] = [column.example]
    return made


def needed(sheet: Sheet, now: datetime) -> list[str]:
    """Name the fields that a row must bring, since nothing stands for them.

    ``now`` has its zone; it is used for nothing but to see what is taken for granted.
    """
    granted = filled({}, sheet, person="-", now=now)
    return [
        c.field
        for c in sheet.columns
        if c.required and not c.default and c.field not in granted and c.parse is not Parse.FILE
    ]


def values_of(sheet: Sheet, now: datetime, *, without: tuple[str, ...] = ()) -> Schema:
    """Give the schema of a row's fields, as texts by field."""
    columns = [c for c in sheet.columns if c.parse is not Parse.FILE and c.field not in without]
    required = [field for field in needed(sheet, now) if field not in without]
    return thing({c.field: _column(c) for c in columns}, *required, description=sheet.explanation)


# RFC 4648, section 4: groups of four, the last one filled up.
_BASE64 = "^(?:[A-Za-z0-9+/]{4})*(?:[A-Za-z0-9+/]{2}==|[A-Za-z0-9+/]{3}=)?$"
FILE = thing(
    {
        "name": text("Its name, with its ending.", minLength=1),
        "content": {"type": "string", "description": "Its bytes.", "contentEncoding": "base64",
                    "maxLength": 48_000_000, "pattern": _BASE64},
    },
    "name", "content",
    description="A JPEG, PNG, PDF or plain text file.",
)  # fmt: skip


def row_of(sheet: Sheet, now: datetime) -> Schema:
    """Give the schema of the body that enters a row of a sheet."""
    properties = {"values": values_of(sheet, now), "key": KEY}
    takes_file = any(column.parse is Parse.FILE for column in sheet.columns)
    if takes_file:
        return thing({**properties, "file": FILE}, "values", "file")
    return thing(properties, "values")


def names_of(items: Schema, words: str, *, least: int = 1) -> Schema:
    """Give the schema of several refs, with what they are."""
    return {**several(items, least=least), "description": words}


__all__ = [
    "CELL", "ENTERED", "FILE", "KEY", "MONEY", "REF", "REFUSED", "SAID", "STOCK", "TABLE",
    "TABLES", "WHY", "answer", "names_of", "needed", "row_of", "texts", "values_of",
]  # fmt: skip
