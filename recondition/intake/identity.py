"""Whose row is it: refs to ids, refs that lead nowhere, and rows without a ref of their own."""

from __future__ import annotations

import difflib
import hashlib
import hmac
import json
import re
from typing import TYPE_CHECKING

from recondition.book.context import NotThere
from recondition.book.kinds import LINE_KINDS
from recondition.book.reading import SeveralLines, all_refs, ids_by_ref, line_id_of
from recondition.errors import Refused
from recondition.intake.problems import LISTED_MAX, Problem
from recondition.intake.sheets import sheet_of_kind

if TYPE_CHECKING:
    from recondition.book import Connection
    from recondition.intake.parse import Parsed
    from recondition.intake.staging import Loose, Staged, Staging

# Beyond this many refs looking for the nearest one would take longer than it helps.
SUGGESTED_FROM_MAX = 5_000
_HEX_DIGITS = 16
_LINE = "line"
# What rows may name and no sheet holds, and how it comes to be.
_MADE = {"owner invoice": "Correct it, or make the invoice with 'recondition owner invoice'."}


class UnknownRef(Refused):
    """A ref leads to no row that is known."""

    def __init__(self, kind: str, ref: str, near: str | None) -> None:
        """Name the ref and the nearest one there is."""
        meant = f"Did you mean {near!r}? " if near else ""
        if kind in _MADE:
            super().__init__(f"There is no {kind} {ref!r} in the book.", todo=meant + _MADE[kind])
            return
        sheet = "lines" if kind == _LINE else sheet_of_kind(kind).name
        super().__init__(
            f"{ref!r} is not on the sheet {sheet}, nor in the book.",
            todo=f"{meant}Correct it, or add that row.",
        )


def resolve(conn: Connection, parsed: Parsed) -> None:
    """Find the id for every ref of the staged rows; what leads nowhere becomes a problem."""
    staged = parsed.staging
    for kind, number, ref, before in staged.repeated():
        parsed.problems.add(_repeated(parsed, kind, number, ref, before))
    staged.refuse_repeated()
    for kind, refs in staged.asked():
        staged.know(kind, ids_of(conn, kind, refs))
    staged.mark_known()
    staged.know_lines(LINE_KINDS)
    refs_of: dict[str, list[str]] = {}
    for loose in staged.unresolved():
        if loose.target in parsed.unread:
            continue
        near = None
        if len(parsed.problems.listed) < LISTED_MAX:
            if loose.target not in refs_of:
                refs_of[loose.target] = staged.refs(loose.target) + refs_in(conn, loose.target)
            near = nearest(loose.ref, refs_of[loose.target])
        parsed.problems.add(_unknown(conn, parsed, loose, near))
    for loose in staged.astray():
        parsed.problems.add(_astray(parsed, loose))
    staged.hold()


def ids_of(conn: Connection, kind: str, refs: list[str]) -> dict[str, str]:
    """Give the ids that the book has for some refs; ``line`` stands for every kind of line."""
    if kind != _LINE:
        return ids_by_ref(conn, kind, refs)
    found = {}
    for ref in refs:
        try:
            found[ref] = line_id_of(conn, ref)
        except (NotThere, SeveralLines):
            continue
    return found


def refs_in(conn: Connection, kind: str) -> list[str]:
    """List the refs of a kind in the book; lines are too many to look through."""
    return [] if kind == _LINE else all_refs(conn, kind)


def nearest(ref: str, refs: list[str]) -> str | None:
    """Give the ref that was probably meant: the same with leading zeros, or a near one."""
    bare = ref.lstrip("0").casefold()
    for known in refs:
        if known.lstrip("0").casefold() == bare:
            return known
    if len(refs) > SUGGESTED_FROM_MAX:
        return None
    return next(iter(difflib.get_close_matches(ref, refs, n=1)), None)


def automatic_ref(key: bytes, staged: Staging, row: Staged) -> str:
    """Give a row without a ref one that follows from its content.

    The keyed hash cannot be worked out from outside the book; the number tells equal rows
    of one file apart.
    """
    text = json.dumps([row.kind, row.content], sort_keys=True).encode()
    digest = hmac.new(key, text, hashlib.sha256).hexdigest()[:_HEX_DIGITS]
    return f"auto-{digest}-{staged.ordinal(row.kind, digest)}"


def next_ref(prefix: str, refs: list[str]) -> str:
    """Give the next free ref of a sheet: F-012 after F-011."""
    numbers = [int(m[1]) for ref in refs if (m := re.fullmatch(re.escape(prefix) + r"(\d+)", ref))]
    return f"{prefix}{max(numbers, default=0) + 1:03d}"


def _repeated(parsed: Parsed, kind: str, number: int, ref: str, before: int) -> Problem:
    """Say that a ref stands twice."""
    sheet = sheet_of_kind(kind)
    return Problem(
        kind="ref used twice",
        sheet=sheet.name,
        row=number,
        column=parsed.headings[kind].place(sheet.ref),
        found=ref,
        what=f"This {sheet.ref.heading} stands in row {before} already.",
        todo="Give the row one of its own.",
    )


def _unknown(conn: Connection, parsed: Parsed, loose: Loose, near: str | None) -> Problem:
    """Say that a ref leads nowhere."""
    refused: Refused = UnknownRef(loose.target, loose.ref, near)
    if loose.target == _LINE:
        try:
            line_id_of(conn, loose.ref)
        except Refused as several:
            refused = several
    return _loose(parsed, loose, "ref leads nowhere", refused.what, refused.todo)


def _astray(parsed: Parsed, loose: Loose) -> Problem:
    """Say that a ref leads to another vehicle."""
    what = f"{loose.ref} belongs to another vehicle than this row."
    return _loose(parsed, loose, "ref of another vehicle", what, "Name one of the same vehicle.")


def _loose(parsed: Parsed, loose: Loose, kind: str, what: str, todo: str) -> Problem:
    """Place a problem with a ref."""
    sheet = sheet_of_kind(loose.kind)
    column = parsed.headings[loose.kind].place(sheet.column(loose.field))
    return Problem(kind, sheet.name, loose.number, column, loose.ref, what, todo)
