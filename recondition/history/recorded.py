"""A sheet as the public records that are hashed and signed: one object a row, all of it text.

What the page shows besides (headings, sentences, tables) is recorded as it is shown, piece by
piece, so that nothing a reader sees stands outside the proof.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import fields, is_dataclass
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from recondition.amounts import Quantity
from recondition.history.page_evidence import alt_of
from recondition.history.proof import PlainValue, placed, record
from recondition.history.saying import Saying
from recondition.ledger.codec import plain_number

if TYPE_CHECKING:
    from recondition.history.layout import Shot
    from recondition.history.sheet import Sheet

_LISTS = {
    "panels": "surface",
    "findings": "finding",
    "work": "work",
    "parts": "part",
    "measures": "measure",
    "tests": "test",
    "evidence": "evidence",
    "corrections": "correction",
    "editions": "edition",
}


def as_text(value: Any) -> Any:  # noqa: ANN401, PLR0911 - one arm a kind of value
    """Turn a value of the sheet into text, lists and objects; numbers become text."""
    match value:
        case None | bool():
            return value
        case str():
            return str(value)
        case int() | Decimal():
            return plain_number(value)
        case Quantity():
            return {"number": value.number_text, "unit": value.unit}
        case date():
            return value.isoformat()
        case tuple():
            return [as_text(item) for item in value]
        case _ if is_dataclass(value):
            return {each.name: as_text(getattr(value, each.name)) for each in fields(value)}
    message = f"no text for {type(value).__name__}"
    raise TypeError(message)


def data_records(sheet: Sheet) -> list[PlainValue]:
    """Give the records of a sheet's own rows, each under a name such as ``finding/3``."""
    say = Saying(sheet.issue.locale)
    about = {
        "shop_name": sheet.shop_name,
        "kept_back": as_text(sheet.kept_back),
        "issue": as_text(sheet.issue),
        "anchor": as_text(sheet.anchor),
    }
    made = [record("about", about), record("vehicle", as_text(sheet.identity))]
    for field, name in _LISTS.items():
        for number, row in enumerate(getattr(sheet, field), start=1):
            data = as_text(row)
            if name == "evidence":
                data = _pictured(data, alt_of(row, say))
            made.append(record(f"{name}/{number}", data))
    return made


def _pictured(data: PlainValue, alt: str) -> PlainValue:
    """Give a picture its alternative text; a file that is none has no picture's hash."""
    if data["picture_sha256"] is not None:
        return data | {"alt": alt}
    return {field: value for field, value in data.items() if field != "picture_sha256"}


def records_of(
    sheet: Sheet, drawings: Iterable[tuple[Shot, str]], shown: Mapping[str, list[str]]
) -> list[PlainValue]:
    """Give all records in their places: rows, drawings with their hashes, then what is shown."""
    drawn = [
        record(shot.name, {"alt": shot.alt, "picture_sha256": sha256}) for shot, sha256 in drawings
    ]
    pieces = [record(name, {"text": texts}) for name, texts in shown.items()]
    return placed([*data_records(sheet), *drawn, *pieces])
