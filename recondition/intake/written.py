"""A record written back as the row that it came from: the inverse of parsing.

So that a form can show what stands, and a new version keeps what it does not change.
"""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from recondition.amounts import Money, Quantity
from recondition.intake.spec import ColumnSpec, Parse, Sheet
from recondition.ledger.codec import plain_number
from recondition.worth.terms import Slice

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from recondition.book.settings import Settings
    from recondition.ledger.lines import Link

_REFERRING = (Parse.TO, Parse.TO_MANY, Parse.LINKS)
# Typed in percent and kept as a fraction; every other percent is kept as it was typed.
_AS_FRACTION = ("basis.on_cost", "measure.level_before", "measure.level_after")


def ids_named(sheet: Sheet, entry: Any) -> set[str]:  # noqa: ANN401 - any entry class
    """Give the ids of all records that an entry names in columns of its sheet."""
    found: set[str] = set()
    for column in sheet.columns:
        value = _value(entry, column) if column.parse in _REFERRING else None
        if isinstance(value, str):
            found.add(value)
        elif value:
            found |= {item if isinstance(item, str) else item.finding for item in value}
    return found


def texts_of(
    sheet: Sheet,
    ref: str,
    entry: Any,  # noqa: ANN401 - any entry class
    names: Mapping[str, str],
    settings: Settings,
) -> dict[str, str]:
    """Write an entry as texts by field of its sheet, empty ones left out.

    ``names`` are the refs of ``ids_named``, by id. Numbers have the book's decimal mark, days
    are ISO 8601. Entered again, the texts give the same record.
    """
    mark = "," if settings.decimal_mark == "comma" else "."
    made = {}
    for column in sheet.columns:
        value = ref if column.field == "ref" else _value(entry, column)
        text = _text(value, column, names).replace("\0", mark)
        if text:
            made[column.field] = text
    return made


def _value(entry: Any, column: ColumnSpec) -> Any:  # noqa: ANN401 - any entry class
    """Give what an entry holds for a column; None where it holds nothing."""
    if column.parse is Parse.PAIRS:
        return tuple(zip(entry.heights, entry.widths, strict=True))
    value = entry
    for part in ("file_name" if column.field == "file" else column.field).split("."):
        value = getattr(value, part, None)
    if column.field in _AS_FRACTION and value is not None:
        return value.scaleb(2)
    return value


def _number(value: Decimal | int) -> str:
    """Write a number, with a sign in the place of its decimal mark."""
    return plain_number(value).replace(".", "\0")


def _money(value: Money) -> str:
    """Write an amount as ``_number`` does."""
    return str(value).replace(".", "\0")


def _text(value: Any, column: ColumnSpec, names: Mapping[str, str]) -> str:  # noqa: ANN401, PLR0911 - one arm a kind of value
    """Write one value as its column is typed."""
    match value:
        case None | ():
            return ""
        case bool():
            return "yes" if value else "no"
        case Money():
            foreign = f" {value.currency}" if column.parse is Parse.FOREIGN else ""
            return _money(value) + foreign
        case Quantity():
            return f"{_number(value.number)} {value.unit}"
        case Decimal() | int():
            return _number(value)
        case date():
            return value.isoformat()
        case tuple():
            return _several(value, column, names)
    return names.get(value, "") if column.parse is Parse.TO else str(value)


def _several(value: tuple[Any, ...], column: ColumnSpec, names: Mapping[str, str]) -> str:
    """Write several values in one text."""
    match column.parse:
        case Parse.LINKS:
            return _links(value, names)
        case Parse.TO_MANY:
            return "; ".join(names.get(item, "") for item in value)
        case Parse.PAIRS:
            return "; ".join(f"{_number(high)}x{_number(wide)}" for high, wide in value)
        case Parse.TIERS:
            return "; ".join(map(_slice, value))
        case Parse.NUMBERS:
            return "; ".join(map(_number, value))
    return "; ".join(map(str, value))


def _links(links: Iterable[Link], names: Mapping[str, str]) -> str:
    """Write findings with their weights; equal shares without any."""
    found = [(names.get(link.finding, ""), link.weight) for link in links]
    if all(weight == 1 for _, weight in found):
        return "; ".join(ref for ref, _ in found)
    return "; ".join(f"{ref} {_number(weight)}" for ref, weight in found)


def _slice(piece: Slice) -> str:
    """Write one slice of a rate."""
    upto = f" to {_money(piece.upto)}" if piece.upto else ""
    return f"{_number(piece.rate * 100)}%{upto}"
