"""New lines that say the same as another one under another ref: probably entered twice.

That is a notice, never a refusal: two equal charges on one day can both be real.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from recondition.book.alike import Likeness, has_lines, lines_on_days
from recondition.book.reading import stored
from recondition.intake.rows import entry_of
from recondition.intake.sheets_lines import LINE_SHEETS

if TYPE_CHECKING:
    from collections.abc import Iterator

    from recondition.book import Connection
    from recondition.intake.parse import Parsed
    from recondition.intake.spec import Sheet
    from recondition.intake.staging import Staged

NAMED_MAX = 20
_CHUNK = 500
_COMPARED_MAX = 20


def entered_twice(conn: Connection, parsed: Parsed) -> list[str]:
    """Name pairs of equal lines, sheet by sheet: the first twenty, then how many more."""
    notices = []
    for sheet in LINE_SHEETS:
        named, more = dict[str, str](), 0
        for other, ref in _pairs(conn, parsed, sheet):
            if ref in named:
                continue
            if len(named) < NAMED_MAX:
                named[ref] = other
            else:
                more += 1
        notices += [
            f"{sheet.name}: {ref} says the same as {other}; probably entered twice"
            for ref, other in named.items()
        ]
        if more:
            notices.append(f"{sheet.name}: and {more:,} more that were probably entered twice")
    return notices


def _pairs(conn: Connection, parsed: Parsed, sheet: Sheet) -> Iterator[tuple[str, str]]:
    """Give the ref that was there first and the new one, in the file and then in the book."""
    yield from parsed.staging.entered_twice(sheet.kind)
    if not has_lines(conn):
        return
    for rows in parsed.staging.chunks(sheet.kind, _CHUNK):
        new = [row for row in rows if not row.in_book and row.given]
        if new:
            yield from _in_book(conn, parsed, sheet, new)


def _in_book(
    conn: Connection, parsed: Parsed, sheet: Sheet, rows: list[Staged]
) -> Iterator[tuple[str, str]]:
    """Compare new rows with the lines of the book that lie on the same days."""
    like = [_likeness(parsed, row) for row in rows]
    days, vehicles = {day for _, day, *_ in like}, {vehicle for vehicle, *_ in like}
    there = lines_on_days(conn, sheet.kind, days, vehicles)
    # Of lines alike in every figure a few tell enough; the rest need not be read.
    near = [
        (row, there[likeness][:_COMPARED_MAX])
        for row, likeness in zip(rows, like, strict=True)
        if likeness in there
    ]
    wanted = sorted({line for _, lines in near for line in lines})
    posted = {line.id: line for line in stored(conn, sheet.kind, ids=wanted)} if wanted else {}
    for row, lines in near:
        content = row.content
        entry = entry_of(sheet, content["plain"], content["words"], parsed.staging.id_of)
        same = [posted[line].ref for line in lines if posted[line].entry == entry]
        if same:
            yield min(same), row.ref


def _likeness(parsed: Parsed, row: Staged) -> Likeness:
    """Give what a row must share with a posted line before the two are compared."""
    plain = row.content["plain"]
    vehicle = parsed.staging.id_of("vehicle", row.vehicle) if row.vehicle else ""
    quantity = plain.get("quantity", {"number": "", "unit": ""})
    price = plain.get("price", {"minor": ""})
    return vehicle, plain["work_date"], price["minor"], quantity["number"], quantity["unit"]
