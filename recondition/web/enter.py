"""A row of any sheet, entered on a page: the same columns, parsers and checks as a workbook's."""

from __future__ import annotations

import uuid
from typing import TYPE_CHECKING, Any

from flask import Blueprint, render_template, request, url_for

from recondition.book.kinds import KINDS
from recondition.book.roles import Right
from recondition.errors import Refused
from recondition.intake.filling import filled
from recondition.intake.sheets import sheet_named
from recondition.web import bench_sheets, rows
from recondition.web.blind import blinded
from recondition.web.entry import done, refused_page
from recondition.web.forms import sent, sent_row, split
from recondition.web.inside import inside
from recondition.web.permits import hold_sheet, may_enter, sees_money
from recondition.web.visit import needs, the_book, visit

if TYPE_CHECKING:
    from collections.abc import Mapping

    from flask.typing import ResponseReturnValue

    from recondition.book.posting import Result
    from recondition.intake.spec import Sheet

pages = Blueprint("enter", __name__)

_ANYBODY = (Right.BENCH, Right.DECIDE, Right.BOOKS, Right.RELEASE, Right.MANAGE)

# What people look for a sheet under; the workbook has them in the order of reference.
GROUPS: dict[str, tuple[str, ...]] = {
    "The vehicle": (
        "vehicles", "panels", "findings", "film readings", "gloss readings", "water drops",
        "surface tests", "documents", "custody items", "custody moves", "outcomes",
    ),
    "What is worth doing": ("candidates", "interactions", "test first", "terms", "comparables"),
    "Asked and ordered": ("change requests", "approvals", "orders"),
    "Work and what it used": (
        "labour", "consumables", "mixed batches", "parts", "sublets", "charges",
    ),
    "Stock": (
        "receipts", "containers", "counts", "supplier returns", "late freight",
        "standard amounts",
    ),
    "The books": (
        "supplier invoices", "shared charges", "sales", "payments", "value tests", "paid hours",
    ),
    "The work history": ("consents", "redactions"),
    "Told once": (
        "settings", "people", "rates", "suppliers", "products", "tax codes", "accounts",
        "instruments", "water hardness", "work rules",
    ),
}  # fmt: skip


@pages.get("/enter")
@needs(*_ANYBODY)
def every() -> ResponseReturnValue:
    """List the sheets that whoever is asking may enter rows of."""
    grouped = {
        group: [sheet_named(name) for name in names if may_enter(name, visit().rights)]
        for group, names in GROUPS.items()
    }
    return render_template("web/enter.html.j2", groups=grouped, address_of=rows.address_of)


@pages.get("/enter/<name>")
@needs(*_ANYBODY)
def form(name: str) -> ResponseReturnValue:
    """Show the form of a sheet; fields in the address are filled in, a ``ref`` with its row."""
    sheet = rows.sheet_at(name)
    hold_sheet(sheet, visit().rights)
    known = {column.field for column in sheet.columns} - {"to"}  # in an address the next page
    asked = {field: text for field, text in request.args.items() if field in known and text}
    page = _Page(sheet, inside(request.args.get("to", ""), ""))
    return page.shown(asked, uuid.uuid4().hex, None)


@pages.post("/enter/<name>")
@needs(*_ANYBODY)
def entered(name: str) -> ResponseReturnValue:
    """Post the row, and go on; a refusal shows the form again with what was typed."""
    sheet = rows.sheet_at(name)
    page = _Page(sheet, inside(sent("onward", ""), ""))
    values, key = sent_row(sheet), sent("key", "").strip()
    file = request.files.get("file")
    values.pop("file", None)
    try:
        result = rows.enter(sheet, values, key=key or None, file=file or None)
    except Refused as refused:
        if not sees_money(visit().rights):
            blinded(refused)
        if getattr(refused, "http_status", 0):
            raise
        return refused_page(refused, page.shown(values, key or uuid.uuid4().hex, refused))
    return done(rows.said_of(result), page.onward(result, values))


class _Page:
    """The page of one sheet's form: what it shows, and where it goes on to."""

    def __init__(self, sheet: Sheet, to: str) -> None:
        """Remember the sheet and the page that was asked for afterwards."""
        self.sheet = sheet
        self.to = to

    def shown(self, given: Mapping[str, str], key: str, refused: Refused | None) -> str:
        """Write the page with what is given; what a record has already where it names one."""
        book, sheet = the_book(), self.sheet
        now = book.now().astimezone()
        with book.reading() as conn:
            ref = given.get("ref", "")
            there = rows.standing(conn, sheet, ref) if ref and refused is None else {}
            values = filled(there | dict(given), sheet, person=visit().person, now=now)
            left = bench_sheets.left_open(sheet, there | dict(given))
            found = rows.fields_of(conn, sheet, values, vehicle=given.get("vehicle"))
            fields = bench_sheets.opened(found, left)
        first, more = split(fields)
        return render_template(
            "web/enter_form.html.j2", sheet=sheet, first=first, more=more, key=key, to=self.to,
            refused=refused, there=bool(there), once=KINDS[sheet.kind].once,
            files=any(field.kind == "file" for field in fields),
            wrong=rows.faults_of(sheet, refused) if refused else {},
            kept=sheet.name in bench_sheets.KEPT,
        )  # fmt: skip

    def onward(self, result: Result, values: Mapping[str, str]) -> str:
        """Say which page comes next: another row, the page asked for, or the record."""
        if sent("another", ""):
            kept: dict[str, Any] = {k: values[k] for k in ("vehicle", "panel") if k in values}
            name = rows.address_of(self.sheet.name)
            return url_for("enter.form", name=name, to=self.to or None, **kept)
        kind, ref = rows.address_of(result.draft.kind), result.draft.ref
        return self.to or url_for("records.one", kind=kind, ref=ref)
