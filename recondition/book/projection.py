"""The columns of a record, worked out from its canonical text alone.

The same functions fill the tables at posting and check them afterwards, so a column that
was changed behind the triggers does not match what the chain says.
"""

from __future__ import annotations

from typing import Any, cast

import rfc8785
from sqlalchemy import BigInteger, Boolean, Integer, Table

from recondition.book.kinds import KINDS
from recondition.book.tables import record
from recondition.ledger.codec import flatten, id_fields
from recondition.ledger.lines import LineKind

Row = dict[str, Any]


def _column_value(column: Any, value: Any) -> Any:  # noqa: ANN401 - a column of any type
    """Turn a plain text value into what its column holds."""
    if value is None:
        return None
    if isinstance(column.type, Boolean):
        return bool(value)
    if isinstance(column.type, BigInteger | Integer):
        return int(value)
    return value


def record_row(payload: Row, text: str, digest: str) -> Row:
    """Give the row of the table ``record`` for a payload and its canonical text."""
    same = ("subject", "previous", "format", "kind", "entity", "author", "recorded_at", "key")
    return {
        "id": payload["record"],
        "sequence": int(payload["sequence"]),
        "version": int(payload["version"]),
        "hash": digest,
        "canonical": text,
    } | {name: payload[name] for name in same}


def _values(payload: Row, original: Row | None) -> Row:
    """Collect a payload's values by column name; a reversal takes those of its original."""
    entry = payload["entry"]
    flat: Row = {}
    if original is not None:
        flat = _values(original, None)
        for name in ("quantity_number", "foreign_amount_minor"):
            if name in flat:
                flat[name] = _negative(flat[name])
        flat.pop("replaces", None)
    else:
        flat["kind"] = payload["kind"]
    lists = {n: v for n, v in entry.items() if isinstance(v, list)}
    flat |= flatten(entry)
    flat |= {name: rfc8785.dumps(value).decode() for name, value in lists.items()}
    flat |= flatten(payload["priced"])
    return flat


def _negative(number: str) -> str:
    """Write the negative of an exact number."""
    return number[1:] if number.startswith("-") else f"-{number}"


def table_row(payload: Row, original: Row | None = None) -> tuple[Table, Row]:
    """Give a record's own table and its row. A reversal needs its original's payload."""
    kind = KINDS[payload["kind"]]
    table = record.metadata.tables[kind.table]
    values = _values(payload, original)
    row = {c.name: _column_value(c, values.get(c.name)) for c in table.columns}
    return table, row | {"record_id": payload["record"]}


def relation_rows(payload: Row) -> list[Row]:
    """Give the rows of ``relation``: every list of ids in the entry, in its order."""
    entry = payload["entry"]
    fields = id_fields(KINDS[payload["kind"]].entry)
    return [
        {"record_id": payload["record"], "field": name, "position": place, "target": target}
        for name in fields
        if isinstance(entry.get(name), list)
        for place, target in enumerate(cast("list[str]", entry[name]))
    ]


def share_rows(payload: Row) -> list[Row]:
    """Give the rows of ``share``: what each finding bears of a line."""
    return [
        {
            "record_id": payload["record"],
            "finding": share["finding"],
            "weight": share["weight"],
            "cost_minor": int(share["cost"]["minor"]),
            "billed_minor": int(share["billed"]["minor"]) if "billed" in share else None,
        }
        for share in payload["priced"].get("shares", [])
    ]


def is_reversal(payload: Row) -> bool:
    """Tell whether a payload takes another line back."""
    return bool(payload["kind"] == LineKind.REVERSAL.value)
