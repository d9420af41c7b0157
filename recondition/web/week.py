"""Several vehicles and the days of the shop: which work, in which bay, when, by whom."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, Any

from flask import Blueprint, redirect, render_template, request, url_for

from recondition.book import Connection, reading
from recondition.book.open_work import standing_of_all
from recondition.book.roles import Right
from recondition.errors import Refused
from recondition.intake.numbers import amount
from recondition.reports.bays import BAYS, CURES, grid
from recondition.web import jobs
from recondition.web.answers import shop_clock
from recondition.web.entry import refused_page, scripted
from recondition.web.forms import sent
from recondition.web.opened import Links, Opened
from recondition.web.running import NoSuchJob
from recondition.web.visit import needs, the_book, visit
from recondition.worth.several import hold_purse

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from flask.typing import ResponseReturnValue

    from recondition.reports.table import Table
    from recondition.web.long_work import Outcome
    from recondition.web.running import Job

pages = Blueprint("week", __name__)
_BY_VEHICLE = "Which vehicle when"  # the table of bays says the same, and where


class NothingPicked(Refused):
    """Vehicles are to be planned, and none was picked."""

    exit_status = 2

    def __init__(self) -> None:
        """Say what to do."""
        super().__init__("no vehicle was picked", todo="Tick at least one vehicle.")


@dataclass(frozen=True, slots=True)
class Pick:
    """A vehicle that can be planned. ``why_not`` says what it still needs, else it is empty."""

    ref: str
    name: str
    work: int
    why_not: str


@pages.get("/week")
@needs(Right.DECIDE)
def first() -> ResponseReturnValue:
    """Show the vehicles to pick from, and the days of the plan that was asked for."""
    job_id = request.args.get("job", "")
    try:
        job = jobs.mine(job_id) if job_id else None
    except NoSuchJob:
        job = None
    return _page(job=job, gone=bool(job_id) and job is None)


def _page(*, job: Job | None = None, gone: bool = False, refused: Refused | None = None) -> str:
    """Lay the page out; ``job`` is the plan that is shown, or is being worked out."""
    with the_book().reading() as conn:
        picks = _picks(conn)
        currency = reading.settings_of(conn).currency
        candidates = reading.stored(conn, "candidate") if job and job.outcome else []
    works = {each.ref: str(each.entry.name) for each in candidates}
    asked: Mapping[str, Any] = job.arguments if job is not None else {}
    picked = request.form.getlist("vehicles") or asked.get("vehicles")
    outcome: Outcome | None = job.outcome if job is not None else None
    tables = {table.title: table for table in outcome.tables} if outcome else {}
    bays = tables.pop(BAYS, None)
    days, by_bay = grid(bays) if bays else ([], {})
    return render_template(
        "web/week.html.j2", picks=picks, picked=picked, currency=currency, job=job, gone=gone,
        outcome=outcome, days=days, by_bay=by_bay, refused=refused,
        cash=request.form.get("cash") or asked.get("cash") or "",
        bays=_opened(bays, picks, works) if bays else None,
        named=partial(_named, works),
        opened=[
            _opened(table, picks, works)
            for title, table in tables.items()
            if title != _BY_VEHICLE
        ],
    )  # fmt: skip


def _picks(conn: Connection) -> list[Pick]:
    """Give the vehicles that are here, and what those that cannot be planned still need."""
    priced = {terms.entry.vehicle for terms in reading.stored(conn, "terms")}
    with_terms = set(reading.names_of(conn, priced).values())
    found = standing_of_all(conn, reading.settings_of(conn).currency)
    return [
        Pick(
            each.ref,
            each.designation,
            each.work,
            "" if each.ref in with_terms else "it has no sale terms yet",
        )
        for each in found
        if not each.sold
    ]


def _named(works: Mapping[str, str], shown: str) -> str:
    """Give a piece of work of a bay, or its cure, with the name of the work behind its ref."""
    ref = shown.removesuffix(CURES)
    return f"{ref} {works.get(ref, '')}".rstrip() + shown[len(ref) :]


def _opened(table: Table, picks: list[Pick], works: Iterable[str]) -> Opened:
    """Open a table up: a vehicle leads to its plan, and work to its record."""
    places = {pick.ref: url_for("decision.plan", stock=pick.ref) for pick in picks}
    keys = [column.key for column in table.columns]
    place = keys.index("vehicle") if "vehicle" in keys else None

    def leads(_title: str, row: tuple[str, ...]) -> Mapping[str, str]:
        return {} if place is None else {"vehicle": places.get(row[place], "")}

    return Opened(table, Links(dict.fromkeys(works, "candidate")), leads)


@pages.post("/week")
@needs(Right.DECIDE)
def planned() -> ResponseReturnValue:
    """Have the picked vehicles planned together; the page shows how far it is."""
    vehicles = request.form.getlist("vehicles")
    try:
        if not vehicles:
            raise NothingPicked
        job_id = plan_of(vehicles, sent("cash", "").strip() or None)
    except Refused as refused:
        return refused_page(refused, _page(refused=refused))
    if scripted():
        return jobs.begun(job_id)
    return redirect(url_for("week.first", job=job_id), 303)


def plan_of(vehicles: list[str], cash: str | None) -> str:
    """Have vehicles planned together with what cash there is; give the id of the work.

    Raises BelowZero, NotAnAmount and its like where the cash is no purse.
    """
    if cash is not None:
        _hold_cash(cash)
    arguments = {
        "vehicles": vehicles, "cash": cash, "at": shop_clock().isoformat(timespec="minutes"),
    }  # fmt: skip
    return jobs.start("plan", arguments, visit().signed_in.login)


def _hold_cash(cash: str) -> None:
    """Hold that a text is a purse, before long work begins with it. Raises BelowZero and others."""
    with the_book().reading() as conn:
        settings = reading.settings_of(conn)
    try:
        hold_purse(amount(cash, settings, "cash"))
    except Refused as refused:
        refused.where = refused.where or "cash"
        raise
