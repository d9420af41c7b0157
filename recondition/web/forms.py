"""A sheet of the workbook as a form, and a sent form as a row: there is no second way in."""

from __future__ import annotations

import hashlib
import re
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

from flask import request

from recondition.book import reading
from recondition.errors import Refused
from recondition.intake.beside import told_of
from recondition.intake.filling import filled
from recondition.intake.form import one_row
from recondition.intake.sheets import sheet_named
from recondition.intake.spec import POINTS, ColumnSpec, Parse
from recondition.web.visit import the_book, visit

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from werkzeug.datastructures import FileStorage

    from recondition.book import Connection
    from recondition.book.posting import Result
    from recondition.intake.spec import Sheet

# Where so many rows are there to choose from, their names are typed.
CHOICES_MAX = 400
# In what a device kept: when the entry was made, ISO 8601 with zone.
PRESSED = "pressed"
# Signs of a file's name that are kept; each may take four bytes.
NAME_MAX = 60
_KINDS = {
    Parse.DATE: "date", Parse.WORDS: "words", Parse.FILE: "file", Parse.CHOICE: "choice",
    Parse.YES_NO: "choice", Parse.SEVERITY: "choice", Parse.MONTH: "month",
}  # fmt: skip
_NUMBERS = (
    Parse.MONEY, Parse.FOREIGN, Parse.NUMBER, Parse.WHOLE, Parse.QUANTITY, Parse.PERCENT,
    Parse.SHARE, Parse.NUMBERS,
)  # fmt: skip


class Missing(Refused):
    """A field of a form that has to be filled and is empty."""

    exit_status = 2

    def __init__(self, name: str, label: str = "") -> None:
        """Name the field: by the label that stands on its page, else by its own name."""
        where = "" if label else name
        super().__init__(
            f"{label or name} is empty", where=where, todo="Fill it in and send it again."
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Field:
    """One field of a form. ``kind`` is text, number, date, month, words, choice or file.

    ``near`` are names that may be typed, as the book has them; ``choices`` the only ones.
    """

    name: str
    label: str
    help: str
    kind: str
    required: bool
    value: str = ""
    unit: str = ""
    choices: tuple[str, ...] = ()
    near: tuple[str, ...] = ()


def fields_of(
    conn: Connection, sheet: Sheet, given: Mapping[str, str], *, vehicle: str | None = None
) -> list[Field]:
    """Give the fields of a sheet in its order, filled with what is ``given`` by field."""
    known: dict[str, tuple[str, ...]] = {}
    made, currency = [], reading.settings_of(conn).currency
    for column in sheet.columns:
        if column.target and column.target not in known:
            known[column.target] = _names(conn, column.target, vehicle)
        each = _field(column, given.get(column.field, ""), known.get(column.target, ()))
        made.append(replace(each, unit=_unit(column, currency)))
    return made


def _unit(column: ColumnSpec, currency: str) -> str:
    """Say in what a field is filled: money in the book's currency; nothing that its label says."""
    said = re.search(rf"\b{re.escape(column.unit)}\b", column.heading) is not None
    if column.parse is Parse.MONEY:
        per = "" if said or column.unit == "money" else column.unit
        return f"{currency} {per}".strip()
    return "" if said else column.unit


def _names(conn: Connection, kind: str, vehicle: str | None) -> tuple[str, ...]:
    """Give the refs of a kind that may stand in a field; of one vehicle where one is named."""
    if kind == "line":
        return ()
    refs = reading.all_refs(conn, kind)
    if vehicle is not None and kind in ("finding", "candidate", "document"):
        by_id = reading.refs_by_id(conn, ("vehicle",))
        refs = [
            each.ref
            for each in reading.stored(conn, kind)
            if by_id.get(getattr(each.entry, "vehicle", None) or "") == vehicle
        ]
    return tuple(sorted(refs)) if len(refs) <= CHOICES_MAX else ()


def _field(column: ColumnSpec, value: str, near: tuple[str, ...]) -> Field:
    """Turn a column into a field."""
    choices = column.choices
    if column.parse is Parse.YES_NO:
        choices = ("yes", "no")
    elif column.parse is Parse.SEVERITY:
        choices = ("0", "1", "2", "3", "4")
    return Field(
        name=column.field,
        label=column.heading,
        help=column.help,
        kind=_KINDS.get(column.parse, "number" if column.parse in _NUMBERS else "text"),
        required=column.required and not column.default,
        value=value or column.default,
        choices=choices,
        near=near,
    )


_ASKED_FOR = frozenset({"vehicle", "quantity", "price", "amount", "total", "cash", "uplift",
                        "findings", "links", "unlinked"})  # fmt: skip
"""What a row is mostly about: it stands among what has to be filled, though it may be empty."""


def split(fields: Iterable[Field]) -> tuple[list[Field], list[Field]]:
    """Part a form into what is filled as a rule (or is filled already) and what may be left."""
    first, more = list[Field](), list[Field]()
    for each in fields:
        asked = each.required or each.value or each.name.partition(".")[0] in _ASKED_FOR
        (first if asked and each.name != "ref" else more).append(each)
    return first, more


def sent(name: str, default: str | None = None, *, label: str = "") -> str:
    """Give one field of the form that was sent.

    Raises Missing, by the field's ``label`` on the page, where it is empty and needed.
    """
    value = request.form.get(name, "")
    if not value.strip():
        if default is None:
            raise Missing(name, label)
        return default
    return value


def sent_row(sheet: Sheet) -> dict[str, str]:
    """Give the fields of a sheet that a form filled, as texts by field."""
    named = {column.field: request.form.get(column.field, "") for column in sheet.columns}
    return {field: text for field, text in named.items() if text.strip()}


def key_of(row: Mapping[str, str]) -> str | None:
    """Give the key under which the same row of the same page is entered once.

    It stays the key of the page, with what the row says: gone back to and put right, the page
    enters another one.
    """
    said = "\n".join(f"{field}={row[field]}" for field in sorted(row))
    key = sent("key", "")
    return f"{key}:{hashlib.sha256(said.encode()).hexdigest()[:16]}" if key else None


def post_row(
    sheet_name: str,
    values: Mapping[str, str],
    *,
    key: str | None = None,
    file: FileStorage | None = None,
) -> Result:
    """Post one row as whoever is asking; ``values`` are texts by field of the sheet.

    What a row leaves out is taken for granted as by a command (the day on which the entry was
    made, who acts), and is not looked at where the same is sent again under its ``key``.
    ``file`` is what was sent with it. Raises what ``intake.form.one_row`` raises, and the row's
    own refusal.
    """
    book, sheet = the_book(), sheet_named(sheet_name)
    person = visit().person
    now = made_at()
    row = filled(values, sheet, person=person, now=now)
    with TemporaryDirectory() as folder:
        if file is not None:
            row["file"] = str(_laid(file, Path(folder)))
        result = one_row(
            book, sheet.name, row, author_ref=person, ref=row.get("ref"), key=key or None,
            said=[*values, "file"],
        )  # fmt: skip
    if result.refused is not None:
        raise result.refused
    return result


def made_at(field: str = PRESSED) -> datetime:
    """Give when the entry that was sent was made: a device that kept it says so, else now.

    A device's own clock that runs ahead says nothing. ``field`` is where it says so.
    """
    now = the_book().now().astimezone()
    try:
        made = datetime.fromisoformat(request.form.get(field, "").strip())
    except ValueError:
        return now
    return made if made.tzinfo is not None and made < now else now


def _laid(file: FileStorage, folder: Path) -> Path:
    """Lay a sent file into a folder under its own last name."""
    last = (file.filename or "").replace("\\", "/").rpartition("/")[2]
    name = "".join(sign for sign in last if sign.isprintable()).strip(". ") or "file"
    place = folder / name[-NAME_MAX:]
    file.save(place)
    return place


def said_of(result: Result) -> list[str]:
    """Say in lines what became of a row, what the rules told of it and what to remember."""
    first = f"{result.draft.kind} {result.draft.ref}: {result.status.value}"
    told = [f"note: {text}" for text in result.told]
    return [first, *told, *(f"caution: {text}" for text in result.reminders)]


__all__ = [
    "POINTS", "PRESSED", "Field", "Missing", "fields_of", "made_at", "post_row", "said_of", "sent",
    "sent_row", "split", "told_of",
]  # fmt: skip
