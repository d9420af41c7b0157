"""Taking a filled workbook in: sent, checked without writing, then entered whole or not at all."""

from __future__ import annotations

import shutil
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

from flask import Blueprint, render_template, request

from recondition.book.roles import Right
from recondition.errors import Refused
from recondition.reports.exporting import SPREADSHEET
from recondition.web import jobs
from recondition.web.downloads import handed_out
from recondition.web.entry import refused_page
from recondition.web.permits import may_enter
from recondition.web.visit import needs, the_book, visit

if TYPE_CHECKING:
    from collections.abc import Callable

    from flask.typing import ResponseReturnValue
    from werkzeug.datastructures import FileStorage

pages = Blueprint("importing", __name__)

BLANK = "recondition-blank.xlsx"
_NAME_MAX = 100
_XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
_ENTERS = (Right.BOOKS, Right.DECIDE)


class NoWorkbookSent(Refused):
    """A form that is to bring a workbook and brings none, or another kind of file."""

    exit_status = 2

    def __init__(self, name: str) -> None:
        """Name what came instead."""
        super().__init__(
            f"{name} is no workbook" if name else "no file was chosen",
            where="workbook",
            todo=f"Nothing was written. Choose a filled workbook; its name ends in {SPREADSHEET}.",
        )


class NotChecked(Refused):
    """A workbook is to be entered that was not checked, or whose check found something."""

    def __init__(self) -> None:
        """Say what comes first."""
        super().__init__(
            "this file was not checked, or its check found something",
            todo="Nothing was written. Send the mended file, and look at its check first.",
        )


def _page(refused: Refused | None) -> str:
    """Draw the page that asks for a workbook."""
    sets = may_enter("settings", visit().rights)
    return render_template("web/import.html.j2", refused=refused, settings_on_it=sets)


@pages.get("/import")
@needs(*_ENTERS)
def ask() -> ResponseReturnValue:
    """Ask for a filled workbook."""
    return _page(None)


@pages.get("/import/blank.xlsx")
@needs(*_ENTERS)
def blank() -> ResponseReturnValue:
    """Hand out the empty workbook, with this book's settings for whoever may enter them."""
    from recondition.intake.blank import write_blank_for  # noqa: PLC0415 - heavy, and only here

    with TemporaryDirectory() as folder:
        place = Path(folder) / BLANK
        sets = may_enter("settings", visit().rights)
        write_blank_for(the_book(), place, settings_on_it=sets)
        return handed_out(place.read_bytes(), BLANK, _XLSX)


@pages.post("/import")
@needs(*_ENTERS)
def check() -> ResponseReturnValue:
    """Have a workbook checked: every problem at once, nothing written."""
    try:
        job = check_of(request.files.get("workbook"))
    except Refused as refused:
        return refused_page(refused, _page(refused))
    return jobs.begun(job)


def check_of(sent: FileStorage | None) -> str:
    """Have a workbook that was sent checked; give the id of the work. Raises NoWorkbookSent."""
    name = name_of(sent)
    if sent is None:
        raise NoWorkbookSent(name)
    return _begun("check", name, lambda folder: sent.save(folder / name))


def name_of(sent: FileStorage | None) -> str:
    """Give the name of a workbook that was sent, without its folders. Raises NoWorkbookSent."""
    name = Path((sent.filename or "").replace("\\", "/")).name if sent else ""
    name = "".join(sign if sign.isprintable() else "-" for sign in name)[-_NAME_MAX:].lstrip(".")
    if not name.lower().endswith(SPREADSHEET):
        raise NoWorkbookSent(name)
    return name


def _begun(kind: str, name: str, lay: Callable[[Path], object]) -> str:
    """Put a check or an import in line; give its id."""
    asker, login = visit(), visit().signed_in.login
    arguments = {
        "file": name, "person": asker.person, "role": login.role.value, "login": login.id,
        "address": asker.address,
    }  # fmt: skip
    return jobs.start(kind, arguments, login, lay)


@pages.post("/import/<job_id>/enter")
@needs(*_ENTERS)
def enter(job_id: str) -> ResponseReturnValue:
    """Enter a workbook whose check found nothing. Raises NoSuchJob, NotChecked."""
    return jobs.begun(import_of(job_id))


def import_of(job_id: str) -> str:
    """Have a workbook entered that was checked by some work; give the id of the new work.

    Raises NoSuchJob, NotChecked.
    """
    checked = jobs.mine(job_id)
    if checked.kind != "check" or checked.outcome is None:
        raise NotChecked
    name = checked.arguments["file"]
    place = checked.folder / name
    return _begun("import", name, lambda folder: shutil.copy(place, folder / name))
