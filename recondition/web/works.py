"""The long work itself, each a function of a task; see ``long_work`` for what they are."""

from __future__ import annotations

from datetime import datetime
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from recondition.web.long_work import Outcome

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from fractions import Fraction

    from recondition.book import Connection
    from recondition.book.roles import Right
    from recondition.intake.report import SheetCount
    from recondition.web.long_work import Task, Told

PLAN_SECONDS = 60.0


def planned(task: Task) -> Outcome:
    """Plan several vehicles together.

    ``vehicles`` are stock numbers, ``cash`` an amount or None, ``seconds`` how long to search at
    most, ``at`` the moment on the shop's clock (ISO 8601). Raises what the command raises.
    """
    from recondition.book.questions import question_of, vehicle_of  # noqa: PLC0415 - heavy
    from recondition.book.reading import settings_of  # noqa: PLC0415 - heavy, and only here
    from recondition.intake.numbers import amount  # noqa: PLC0415 - as above
    from recondition.reports import together as report  # noqa: PLC0415 - as above
    from recondition.reports.bays import bays  # noqa: PLC0415 - as above
    from recondition.worth.several import together  # noqa: PLC0415 - as above

    given = task.arguments
    at = datetime.fromisoformat(given["at"])
    task.told("reading the vehicles", 0, None)
    with task.book.reading() as conn:
        cars = [vehicle_of(conn, ref) for ref in dict.fromkeys(given["vehicles"])]
        questions = {car.ref: question_of(conn, car, at) for car in cars}
        settings = settings_of(conn)
    purse = amount(given["cash"], settings, "cash") if given.get("cash") else None
    seconds = float(given.get("seconds") or PLAN_SECONDS)
    task.told("searching", 0, None)
    found = together(questions, purse=purse, seconds=seconds, closing=_closing(task.told))
    names = {car.ref: car.entry.designation for car in cars}
    return Outcome(
        said=(report.words(found),),
        tables=(*report.tables(found, questions, names), bays(found, questions)),
        answer=dict(report.as_json(found, questions)),
        to=given.get("to") or "",
    )


def _closing(told: Told) -> Any:  # noqa: ANN401 - what the search takes
    """Tell how far the plan found and the bound are apart."""

    def closing(net: Fraction, bound: Fraction) -> None:
        gap = max(bound - net, bound * 0) / bound * 100 if bound > 0 else bound * 0
        words = f"searching: net {round(net):,}, at most {round(bound):,}"
        told(words, 100 - min(round(gap), 100), 100)

    return closing


def exported(task: Task) -> Outcome:
    """Write workbook, journal or lines into the folder, and mark the batch.

    ``what`` is the kind, ``period`` and ``vehicle`` narrow it, ``person`` is who hands it out,
    ``columns`` the text of a map of columns or None, ``file`` the name of the file.
    """
    from recondition.reports import exporting  # noqa: PLC0415 - heavy, and only here

    given = task.arguments
    path = task.folder / given["file"]
    export = exporting.Export(
        what=given["what"], period=given.get("period"), stock=given.get("vehicle"),
        author_ref=given["person"],
    )  # fmt: skip
    if export.what == exporting.WORKBOOK:
        said = exporting.workbook(task.book, path, export, task.told)
    else:
        task.told(f"writing the {export.what}", 0, None)
        said = exporting.plain_file(task.book, path, export, _map(given, task.folder))
    said = [line.replace(f" at {path}", f" in {path.name}") for line in said]
    return Outcome(said=tuple(said), file=path.name)


def _map(given: Mapping[str, Any], folder: Path) -> Path | None:
    """Lay the map of columns down that was sent, where one was."""
    if not given.get("columns"):
        return None
    path = folder / "columns.csv"
    path.write_text(given["columns"], encoding="utf-8", newline="")
    return path


def batches(conn: Connection, arguments: Mapping[str, Any]) -> set[str]:
    """Name the batches like the one that is being made, as ``Batch EX-001``."""
    from recondition.book import reading  # noqa: PLC0415 - heavy, and only here

    scope = (arguments["what"], arguments.get("period"), arguments.get("vehicle"))
    return {
        f"Batch {item.ref}"
        for item in reading.stored(conn, "export batch")
        if (item.entry.what, item.entry.period, item.entry.vehicle) == scope
        and item.author == reading.author_of(conn, arguments["person"])
    }


def checked(task: Task) -> Outcome:
    """Check a workbook that was sent: every problem at once, nothing written. See ``imported``."""
    return _taken_in(task, check_only=True)


def imported(task: Task) -> Outcome:
    """Take a workbook in, all or nothing: ``file`` is its name in the folder, ``person`` who acts.

    Raises ImportRefused and its like.
    """
    return _taken_in(task, check_only=False)


_LINES = ("labour", "parts", "consumables", "sublets", "charges")


def _hold(rights: Iterable[Right], counts: Sequence[SheetCount]) -> None:
    """Hold that what is new belongs to sheets that some rights are enough for."""
    from recondition.intake.sheets import sheet_named  # noqa: PLC0415 - heavy, and only here
    from recondition.web.permits import hold_sheet  # noqa: PLC0415 - as above

    for count in counts:
        if count.new or count.version:
            hold_sheet(sheet_named(count.sheet), rights)


def _taken_in(task: Task, *, check_only: bool) -> Outcome:
    """Take a workbook in, or try it; ``login`` and ``address`` are for the trail.

    A role enters the sheets of its forms and no others; rows that are there already may stand in
    any. Raises SheetNotForThisRole.
    """
    from recondition.book import trail  # noqa: PLC0415 - heavy, and only here
    from recondition.book.roles import RIGHTS, Role  # noqa: PLC0415 - as above
    from recondition.book.stopping import stops_beside  # noqa: PLC0415 - as above
    from recondition.intake.load import load  # noqa: PLC0415 - as above

    given = task.arguments
    path = task.folder / given["file"]
    report = load(
        task.book, path, author_ref=given["person"], check_only=check_only,
        progress=task.told, hold=partial(_hold, RIGHTS[Role(given["role"])]),
    )  # fmt: skip
    if not check_only:
        trail.noted(
            task.book, action="workbook taken in", login_id=given["login"], subject=path.name,
            detail=f"{report.changed} of {report.rows} rows were new", address=given["address"],
        )  # fmt: skip
    said = report.words()
    if not check_only and any(count.new for count in report.counts if count.sheet in _LINES):
        at = task.book.now().astimezone().replace(tzinfo=None, second=0, microsecond=0)
        with task.book.reading() as conn:
            said += stops_beside(conn, None, at)
    answer = {"rows": str(report.rows), "changed": str(report.changed)}
    return Outcome(said=tuple(said), answer=answer)


def tried(task: Task) -> Outcome:
    """Make a trial copy of the work history of a vehicle; see ``previews.tried``."""
    from recondition.web import previews  # noqa: PLC0415 - heavy, and only here

    return previews.tried(task)


def released(task: Task) -> Outcome:
    """Make, search, sign and note the work history of a vehicle; see ``previews.released``."""
    from recondition.web import previews  # noqa: PLC0415 - heavy, and only here

    return previews.released(task)


def editions(conn: Connection, arguments: Mapping[str, Any]) -> set[str]:
    """Name the editions of a vehicle, as ``Edition 1``."""
    from recondition.book.editions import editions_of  # noqa: PLC0415 - heavy, and only here
    from recondition.book.questions import vehicle_of  # noqa: PLC0415 - as above

    vehicle = vehicle_of(conn, arguments["vehicle"])
    return {f"Edition {item.entry.number}" for item in editions_of(conn, vehicle.id)}
