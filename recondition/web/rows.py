"""A row of any sheet as a login may enter it: its rights, its fields, and what it keeps."""

from __future__ import annotations

from contextlib import ExitStack
from dataclasses import replace
from datetime import date, datetime
from typing import TYPE_CHECKING

from werkzeug.datastructures import FileStorage

from recondition.book import reading
from recondition.book.kinds import KINDS
from recondition.book.one_record import found
from recondition.intake import owners
from recondition.intake.filling import filled
from recondition.intake.problems import ImportRefused
from recondition.intake.sheets import sheet_named
from recondition.intake.written import ids_named, texts_of
from recondition.web import forms
from recondition.web.blind import without_amounts
from recondition.web.permits import (
    hidden,
    hold_fields,
    hold_sheet,
    may_see_document,
    sees_money,
    shut,
)
from recondition.web.record_view import NothingThere
from recondition.web.visit import the_book, visit

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from recondition.book import Connection
    from recondition.book.one_record import KeptFile
    from recondition.book.posting import Result
    from recondition.errors import Refused
    from recondition.intake.spec import Sheet
    from recondition.web.forms import Field


def sheet_at(name: str) -> Sheet:
    """Give the sheet of a name as an address has it, ``film-readings``. Raises NoSuchSheet."""
    return sheet_named(" ".join(name.replace("-", " ").split()))


def address_of(name: str) -> str:
    """Write the name of a sheet or a kind as an address has it."""
    return name.replace(" ", "-")


def standing(conn: Connection, sheet: Sheet, ref: str) -> dict[str, str]:
    """Give the row of a record as it stands, as texts by field.

    Nothing where there is none, or none that whoever is asking may see.
    """
    own = reading.ids_by_ref(conn, sheet.kind, [ref]).get(ref)
    if own is None:
        return {}
    (stored,) = reading.stored(conn, sheet.kind, ids=[own])
    if sheet.kind == "document" and not may_see_document(stored.entry, visit().rights):
        return {}
    names = reading.names_of(conn, ids_named(sheet, stored.entry))
    return texts_of(sheet, ref, stored.entry, names, reading.settings_of(conn))


def _kept(sheet: Sheet, values: Mapping[str, str]) -> dict[str, str]:
    """Give what a new version keeps since whoever enters it may not see it."""
    out = hidden(sheet.kind, visit().rights)
    ref = values.get("ref", "").strip()
    if not out or not ref or KINDS[sheet.kind].once:
        return {}
    there = there_as(sheet, values)
    return {field: text for field, text in there.items() if field in out}


def enter(
    sheet: Sheet, values: Mapping[str, str], *, key: str | None = None,
    file: FileStorage | None = None,
) -> Result:  # fmt: skip
    """Post one row as whoever is asking, with the rights of the login.

    A new version keeps the fields that the login may not see. Raises SheetNotForThisRole,
    FieldNotForThisRole and what ``forms.post_row`` raises.
    """
    hold_sheet(sheet, visit().rights)
    hold_fields(sheet, values, visit().rights)
    _hold_seen(sheet, values.get("ref", "").strip())
    row = _kept(sheet, values) | dict(values)
    with ExitStack() as opened:
        if file is None and (kept := _kept_file(sheet, values)) is not None:
            stream = opened.enter_context(kept.path.open("rb"))
            file = FileStorage(stream, filename=there_as(sheet, values).get("file"))
        return forms.post_row(sheet.name, row, key=key, file=file)


def answered(values: Mapping[str, str], *, key: str | None, agreed: bool) -> list[Result]:
    """Enter what an owner answered about work and, where they ``agreed``, the consent with it.

    All of it or nothing. Raises SheetNotForThisRole, FieldNotForThisRole and what
    ``owners.answered`` raises.
    """
    sheet = sheet_named("approvals")
    hold_sheet(sheet, visit().rights)
    hold_fields(sheet, values, visit().rights)
    row = filled(values, sheet, person=visit().person, now=forms.made_at())
    return owners.answered(
        the_book(),
        row,
        author_ref=visit().person,
        ref=row.get("ref"),
        key=key,
        said=values,
        agreed=agreed,
    )


def _hold_seen(sheet: Sheet, ref: str) -> None:
    """Hold that nobody changes a kept file that is shut to them. Raises NothingThere."""
    if sheet.kind != "document" or not ref:
        return
    with the_book().reading() as conn:
        there = reading.ids_by_ref(conn, sheet.kind, [ref])
        if there and not standing(conn, sheet, ref):
            raise NothingThere(sheet.kind, ref)


def there_as(sheet: Sheet, values: Mapping[str, str]) -> dict[str, str]:
    """Give the row of the record that a row names by its ref, nothing where there is none."""
    with the_book().reading() as conn:
        return standing(conn, sheet, values.get("ref", "").strip())


def _kept_file(sheet: Sheet, values: Mapping[str, str]) -> KeptFile | None:
    """Give the file that a new version of a document keeps where none was sent with it."""
    ref = values.get("ref", "").strip()
    if sheet.kind != "document" or not ref:
        return None
    with the_book().reading() as conn:
        if not reading.ids_by_ref(conn, sheet.kind, [ref]):
            return None
        whole = found(conn, sheet.kind, ref)
    seen = may_see_document(whole.stored.entry, visit().rights)
    return whole.file if seen and whole.file and whole.file.path.exists() else None


# The day on which something happened: none lies ahead, but by a slip of the pen.
_HAPPENED = (
    "work_date", "found_on", "read_on", "tested_on", "estimated_on", "sold_on", "asked_on",
    "answered_on", "quoted_on", "ordered_on", "invoice_on", "received_on", "returned_on",
    "opened_on", "emptied_on", "mixed_on", "billed_on", "ended_on", "paid_on", "given_on",
    "arrived_on",
)  # fmt: skip


def _ahead(result: Result) -> Iterator[str]:
    """Say which day of an entry lies ahead; it is kept all the same."""
    entry, today = result.draft.entry, the_book().now().astimezone().date()
    for field in _HAPPENED:
        day = getattr(entry, field, None)
        if isinstance(day, date) and not isinstance(day, datetime) and day > today:
            name = field.removesuffix("_on").replace("_", " ")
            yield f"note: {name} {day.isoformat()} lies ahead of today. Was another day meant?"


def said_of(result: Result) -> list[str]:
    """Say in lines what became of a row, without amounts to whoever may see no money."""
    lines = [*forms.said_of(result), *_ahead(result)]
    return lines if sees_money(visit().rights) else [without_amounts(line) for line in lines]


def fields_of(
    conn: Connection, sheet: Sheet, given: Mapping[str, str], *, vehicle: str | None = None
) -> list[Field]:
    """Give the fields of a sheet that the login may fill, filled with what is ``given``."""
    there = reading.ids_by_ref(conn, sheet.kind, [given.get("ref", "").strip()])
    out = (hidden if there else shut)(sheet.kind, visit().rights)
    fields = forms.fields_of(conn, sheet, given, vehicle=vehicle)
    taken = [field for field in fields if field.name not in out]
    if KINDS[sheet.kind].once or not given.get("ref"):
        return taken
    return [_of_version(field) for field in taken]


def _of_version(field: Field) -> Field:
    """Give a field of a form that changes what is there already."""
    if field.kind == "file":
        words = f"{field.value} stays, unless you choose another"
        return replace(field, required=False, value=field.value or " ", help=words)
    if field.name == "ref":
        return replace(field, help="another ref makes another record")
    return field


def faults_of(sheet: Sheet, refused: Refused) -> dict[str, str]:
    """Say by field what is wrong in a row that was refused."""
    by_heading = {column.heading: column.field for column in sheet.columns}
    if isinstance(refused, ImportRefused):
        problems = refused.problems.listed
        return {
            by_heading[p.column]: f"{p.what} {p.todo}".strip()
            for p in problems
            if p.column in by_heading
        }
    field = by_heading.get(refused.where, refused.where)
    known = {column.field for column in sheet.columns}
    return {field: f"{refused.what} {refused.todo}".strip()} if field in known else {}
