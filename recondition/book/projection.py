"""The columns of a record, worked out from its canonical text alone.

The same functions fill the tables at posting and check them afterwards, so a column that
was changed behind the triggers does not match what the chain says.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from typing import Any, cast

from sqlalchemy import BigInteger, Boolean, Integer, Table
from sqlalchemy.types import TypeEngine

from recondition.book.kinds import KINDS
from recondition.book.tables import record
from recondition.ledger.chain import written
from recondition.ledger.codec import flatten, id_fields
from recondition.ledger.lines import LineKind

Row = dict[str, Any]


@cache
def _columns(table: Table) -> tuple[tuple[str, Callable[[Any], Any] | None], ...]:
    """Give a table's columns, each with what turns a plain text value into what it holds."""
    return tuple((column.name, _turning(column.type)) for column in table.columns)


def _turning(kind: TypeEngine[Any]) -> Callable[[Any], Any] | None:
    """Give what turns text into a column's kind of value; None where text stays as it is."""
    if isinstance(kind, Boolean):
        return bool
    return int if isinstance(kind, BigInteger | Integer) else None


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
    flat |= {name: written(value) for name, value in lists.items()}
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
    found = ((name, turned, values.get(name)) for name, turned in _columns(table))
    row = {
        name: value if turned is None or value is None else turned(value)
        for name, turned, value in found
    }
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
