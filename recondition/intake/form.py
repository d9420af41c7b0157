"""One row typed as a command, through the same columns and parsers as a workbook."""

from __future__ import annotations

import uuid
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from recondition.book.again import again
from recondition.book.engine import Book, RollBack
from recondition.book.posting import Poster, Result
from recondition.book.reading import UnknownAuthor, all_refs, author_of, made_with, settings_of
from recondition.intake.cells import Cell
from recondition.intake.helping import help_out
from recondition.intake.identity import UnknownRef, ids_of, nearest, next_ref, refs_in
from recondition.intake.plans import JUDGED, asked, contradictions_in
from recondition.intake.problems import ImportRefused, Problem, Problems
from recondition.intake.rows import Fault, Row, entry_of, parse_row
from recondition.intake.sheets import sheet_named
from recondition.ledger.drafts import Draft

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping

    from recondition.book import Connection
    from recondition.errors import Refused
    from recondition.intake.spec import Sheet


@again
def one_row(  # noqa: PLR0913 - each is a separate choice of the caller
    book: Book,
    sheet_name: str,
    values: Mapping[str, str],
    *,
    author_ref: str,
    ref: str | None = None,
    key: str | None = None,
    said: Collection[str] = (),
) -> Result:
    """Post one row of a sheet; ``values`` are texts by field, ``cash.low`` for a part of one.

    Without ``ref`` the row takes the next free one of its sheet. A document's ``file`` may
    lie anywhere. The same row again under the same ``key`` is there already; ``said`` names the
    fields by which that is told, where others were taken for granted at the time. Gives what
    became of the row, the book's own refusal in it. Raises a CellRefused, ImportRefused where
    several values are wrong, UnknownRef, UnknownAuthor, NoSuchSheet; KeyError for a field
    that the sheet does not have.
    """
    with book.writing() as conn:
        if sheet_named(sheet_name).kind != "person":
            author_of(conn, author_ref)  # told first, since a row is filled with who acts
        draft = draft_of(conn, sheet_name, values, ref=ref, key=key)
        if key is not None:
            draft = replace(draft, said=frozenset(field.partition(".")[0] for field in said))
        result = Poster(book, conn, author_id(conn, draft, author_ref)).post_many([draft])[0]
        if result.refused is not None:
            raise RollBack
    return result


def draft_of(
    conn: Connection,
    sheet_name: str,
    values: Mapping[str, str],
    *,
    ref: str | None = None,
    key: str | None = None,
) -> Draft:
    """Read one row of a sheet as a draft; see ``one_row`` for what is given and raised."""
    sheet = sheet_named(sheet_name)
    for field in values:
        sheet.column(field)
    cells = {field: Cell(text) for field, text in values.items()}
    name = ref or values.get("ref") or _free_ref(conn, sheet)
    cells["ref"] = Cell(name)
    help_out(conn, sheet, cells)
    if "file" in values:
        cells["file"] = Cell(Path(values["file"]).name)
    row = parse_row(sheet, cells, settings_of(conn))
    if row.faults:
        raise _refused(sheet, row.faults)
    draft = Draft(
        id=uuid.uuid4().hex,
        kind=sheet.kind,
        ref=row.ref,
        entry=_entry(conn, sheet, row),
        key=key,
        file=Path(values["file"]) if "file" in values else None,
        place=f"{sheet.name} {row.ref}",
    )
    if key is None or made_with(conn, key) is None:
        _judge(conn, sheet, row)
    return draft


def _free_ref(conn: Connection, sheet: Sheet) -> str | None:
    """Give the next free ref of a sheet that numbers its rows."""
    return next_ref(sheet.ref_prefix, all_refs(conn, sheet.kind)) if sheet.ref_prefix else None


def author_id(conn: Connection, draft: Draft, ref: str) -> str:
    """Give the id of who acts; the first person of a book may enter themself."""
    try:
        return author_of(conn, ref)
    except UnknownAuthor:
        if draft.kind == "person" and draft.ref == ref:
            return draft.id
        raise


def _entry(conn: Connection, sheet: Sheet, row: Row) -> object:
    """Build the entry with ids in the place of refs. Raises UnknownRef, SeveralLines."""
    known: dict[tuple[str, str], str] = {}
    for need in row.needs:
        found = ids_of(conn, need.kind, [need.ref])
        if need.ref not in found:
            near = nearest(need.ref, refs_in(conn, need.kind))
            refused = UnknownRef(need.kind, need.ref, near)
            refused.where = sheet.column(need.field).heading
            raise refused
        known[need.kind, need.ref] = found[need.ref]
    return entry_of(sheet, row.plain, row.words, lambda kind, ref: known[kind, ref])


def _judge(conn: Connection, sheet: Sheet, row: Row) -> None:
    """Raise what contradicts itself in candidate work."""
    if sheet.kind in JUDGED:
        judged = asked(row.ref, sheet.kind, row.ref, row.plain, row.words)
        for found in contradictions_in(conn, iter([judged]), {}):
            found.refused.where = sheet.column(found.field).heading
            raise found.refused


def _refused(sheet: Sheet, faults: list[Fault]) -> Refused:
    """Give the one refusal, or all of them together."""
    if len(faults) == 1:
        (fault,) = faults
        fault.refused.where = fault.column.heading
        return fault.refused
    problems = Problems()
    for fault in faults:
        refused = fault.refused
        place = fault.column.heading
        found = fault.cell.found
        problem = Problem(refused.kind, sheet.name, 0, place, found, refused.what, refused.todo)
        problems.add(problem)
    return ImportRefused(sheet.name, problems, again="enter it again")
