"""The vehicles: all of them with what stands open, and each with its parts under its name."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from flask import Blueprint, current_app, render_template, request, url_for

from recondition.book import Connection, reading
from recondition.book.open_work import Standing, kinds_by_ref, standing_of_all, state_of
from recondition.book.questions import vehicle_of
from recondition.book.roles import Right
from recondition.book.settings import Settings
from recondition.condition.vehicle import Vehicle
from recondition.errors import Refused
from recondition.ledger.drafts import Stored
from recondition.reports import lists
from recondition.reports.pages import REPORTS, Part
from recondition.reports.table import CellKind, Column, Table
from recondition.reports.worth_time import timeline as drawn_in_time
from recondition.reports.worth_time import timetable
from recondition.web.answers import shop_clock, the_answers
from recondition.web.blind import without_amounts, without_money
from recondition.web.kept import Kept
from recondition.web.opened import Links, Opened, Shown, nowhere, shown
from recondition.web.permits import may_enter, may_see, sees_money
from recondition.web.record_view import documents_seen
from recondition.web.visit import may, needs, the_book, visit
from recondition.worth.progress import Bought

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from flask.blueprints import BlueprintSetupState
    from flask.typing import ResponseReturnValue

    from recondition.reports.drawing import Figure

pages = Blueprint("vehicles", __name__)
KEPT = "recondition-parts"
_NUMBER = CellKind.INTEGER
_VIEWS = {"now": "condition", "arrival": "arrival", "changes": "changes"}


class WorkElsewhere(Refused):
    """Candidate work on the page of another vehicle than its own."""

    def __init__(self, ref: str, where: str, stock: str) -> None:
        """Name the work, the vehicle that it is on, and the one that it was looked for on."""
        super().__init__(
            f"candidate work {ref} is on vehicle {where}, not on {stock}",
            todo=f"Do it from the pages of vehicle {where}.",
        )


@pages.record
def _prepared(state: BlueprintSetupState) -> None:
    """Give the application a place for what was worked out for its pages."""
    state.app.extensions[KEPT] = Kept()


@dataclass(frozen=True, slots=True)
class Seen:
    """One vehicle as whoever is asking sees it: its record and where its refs lead."""

    vehicle: Stored[Vehicle]
    links: Links
    settings: Settings
    count: int

    @property
    def ref(self) -> str:
        """The stock number."""
        return self.vehicle.ref

    @property
    def name(self) -> str:
        """What it is: year, make and model as on the documents."""
        return str(self.vehicle.entry.designation)


def seen(conn: Connection, stock: str) -> Seen:
    """Give a vehicle for a page. Raises NotThere."""
    vehicle = vehicle_of(conn, stock)
    kinds = kinds_by_ref(conn, vehicle.id)
    rights = visit().rights
    shut = {kind for kind in set(kinds.values()) if not may_see(kind, rights)}
    open_ = {ref: kind for ref, kind in kinds.items() if kind not in shut}
    if not sees_money(rights):
        papers = {ref for ref, kind in open_.items() if kind == "document"}
        hidden = papers - documents_seen(conn, papers, rights)
        open_ = {ref: kind for ref, kind in open_.items() if ref not in hidden}
    links = Links(open_)
    head = reading.head_of(conn, vehicle.subject)
    return Seen(vehicle, links, reading.settings_of(conn), head.count if head else 0)


def kept_part(conn: Connection, car: Seen, report: str) -> Part:
    """Give one vehicle's part of a report, drawn; kept as long as nothing moves that it shows."""
    now = shop_clock()
    key = (report, car.ref, state_of(conn, car.vehicle.id), now.date())
    kept: Kept = current_app.extensions[KEPT]

    def made() -> Part:
        (part,) = REPORTS[report](conn, (car.ref,), now)
        drawn = {place: draw() for place, draw in part.pictures.items()}
        return replace(part, pictures={place: _again(each) for place, each in drawn.items()})

    return kept.get(key, made)


def _again(figure: Figure | None) -> Callable[[], Figure | None]:
    """Give a drawing that is made already as one to be drawn."""
    return lambda: figure


@pages.get("/vehicles")
@needs(Right.MONEY, Right.BENCH)
def every() -> ResponseReturnValue:
    """List the vehicles that are here, then those that were sold."""
    with the_book().reading() as conn:
        found = standing_of_all(conn, reading.settings_of(conn).currency)
        anybody, rates = (bool(reading.all_refs(conn, kind)) for kind in ("person", "rate"))
    here = [each for each in found if not each.sold]
    sold = [each for each in found if each.sold]
    return render_template(
        "web/vehicles.html.j2", here=_listed("Here", here), sold=_listed("Sold", sold),
        anybody=anybody, rates=rates, may_enter=may_enter("vehicles", visit().rights),
    )  # fmt: skip


def _listed(title: str, found: list[Standing]) -> Opened | None:
    """Write vehicles as a table that opens up; None where there are none."""
    if not found:
        return None
    columns = (
        Column("stock", "Stock"),
        Column("designation", "Vehicle"),
        Column("holding", "Whose"),
        Column("findings", "Open findings", _NUMBER),
        Column("work", "Open work", _NUMBER),
        Column("orders", "On order", _NUMBER),
        Column("clocks", "Clocks running", _NUMBER),
        Column("cost", "Posted cost", CellKind.MONEY),
    )
    rows = tuple(
        (each.ref, each.designation, each.holding, each.findings, each.work, each.orders,
         each.clocks, each.cost)
        for each in found
    )  # fmt: skip
    table = Table(title, columns, rows)
    money = may(Right.MONEY)
    return Opened(table if money else without_money(table), Links({}), _leads_of_list)


def _leads_of_list(_title: str, row: tuple[str, ...]) -> Mapping[str, str]:
    """Say where the cells of one vehicle lead."""
    stock = row[0]
    found = {"stock": url_for("vehicles.one", stock=stock)}
    found["findings"] = url_for("vehicles.findings", stock=stock)
    if may(Right.MONEY):
        found["work"] = url_for("decision.plan", stock=stock)
        found["cost"] = url_for("ledger.lines", stock=stock)
    return found


@pages.get("/vehicles/<path:stock>")
@needs(Right.MONEY, Right.BENCH)
def one(stock: str) -> ResponseReturnValue:
    """Show what a vehicle is, and what can be entered for it."""
    with the_book().reading() as conn:
        car = seen(conn, stock)
        table = lists.identity(conn, car.vehicle)
        made = [each.ref for each in reading.stored(conn, "document", vehicle=car.vehicle.id)]
        documents = len(documents_seen(conn, made, visit().rights))
    if not may(Right.MONEY):
        table = without_money(table)
    sheets = [sheet for sheet in _ENTERED if may_enter(sheet, visit().rights)]
    return render_template(
        "web/vehicle.html.j2", car=car, identity=Opened(table, car.links), sheets=sheets,
        entered=_ENTERED, documents=documents,
    )  # fmt: skip


_ENTERED = {
    "findings": "a finding", "panels": "a panel", "documents": "a document or photograph",
    "film readings": "film readings", "candidates": "candidate work", "terms": "sale terms",
    "labour": "hours", "consumables": "a consumable", "parts": "a part",
    "sublets": "work sent out", "charges": "a charge", "orders": "an order",
    "outcomes": "how a finding ended",
}  # fmt: skip


@pages.get("/vehicles/<path:stock>/findings")
@needs(Right.MONEY, Right.BENCH)
def findings(stock: str) -> ResponseReturnValue:
    """Show the condition: now, on arrival, or what changed, with maps and photographs."""
    view = request.args.get("view", "now")
    report = _VIEWS.get(view, "condition")
    with the_book().reading() as conn:
        car = seen(conn, stock)
        part = part_seen(kept_part(conn, car, report), car)
        looked = any(reading.stored(conn, kind, vehicle=car.vehicle.id) for kind in _LOOKED)
    if not looked:
        part = replace(part, tables=tuple(each for each in part.tables if each.table.rows))
    left = part.tables[0].table if looked and report == "condition" else None
    return render_template(
        "web/vehicle_findings.html.j2", car=car, view=view if view in _VIEWS else "now",
        part=part, looked=looked, open_now=_open_in(left) if left else 0,
        sheets=[sheet for sheet in _FIRST if may_enter(sheet, visit().rights)], entered=_ENTERED,
    )  # fmt: skip


_FIRST = ("findings", "panels", "film readings")
_LOOKED = ("finding", "panel", "film reading", "gloss reading", "surface test")


def _open_in(left: Table) -> int:
    """Count those of the findings still there that no outcome is entered for."""
    place = [column.key for column in left.columns].index("ended")
    return sum(row[place] == "open" for row in left.rows)


def part_seen(part: Part, car: Seen) -> Shown:
    """Open a part up, without money for whoever may see none."""
    if may(Right.MONEY):
        return shown(part, car.links)
    made = shown(part, car.links, cut=without_money)
    return replace(made, words=without_amounts(made.words))


@pages.get("/vehicles/<path:stock>/timeline")
@needs(Right.MONEY, Right.BENCH)
def timeline(stock: str) -> ResponseReturnValue:
    """Show the plan in time: who, when, and what sets the end."""
    look = the_answers().look(stock, shop_clock(), wait=0.4)
    with the_book().reading() as conn:
        car = seen(conn, stock)
        terms = bool(reading.stored(conn, "terms", vehicle=car.vehicle.id))
    opened = None
    known = look.known
    if known is not None and known.advice.chosen:
        table = without_money(timetable(known.advice, known.question))
        figure = drawn_in_time(known.advice, known.question, f"time-{car.ref}")
        opened = Opened(table, car.links, nowhere, figure)
    blind = look.refused if may(Right.MONEY) and terms else None
    return render_template(
        "web/vehicle_timeline.html.j2", car=car, look=look, known=known, opened=opened,
        refused=blind, terms=terms, may_enter=may_enter("terms", visit().rights),
    )  # fmt: skip


@pages.get("/vehicles/<path:stock>/cost")
@needs(Right.MONEY)
def cost(stock: str) -> ResponseReturnValue:
    """Show what the work was to cost, what it has cost, and what it may bring."""
    with the_book().reading() as conn:
        car = seen(conn, stock)
        terms = bool(reading.stored(conn, "terms", vehicle=car.vehicle.id))
        part = kept_part(conn, car, "cost-and-uplift") if terms else None

    tables = {table.title: table for table in part.tables} if part else {}

    def leads(title: str, row: tuple[str, ...]) -> Mapping[str, str]:
        return _totals(stock, tables[title], row)

    made = shown(part, car.links, leads=leads) if part else None
    return render_template("web/vehicle_cost.html.j2", car=car, part=made)


_BY = {"Candidate work": "work", "By finding": "finding", "By area": "area",
       "By kind of cost": "bought"}  # fmt: skip


def _totals(stock: str, table: Table, row: tuple[str, ...]) -> Mapping[str, str]:
    """Say where the totals of one row of cost and uplift lead: to the lines behind each."""

    def behind(**narrow: Any) -> str:  # noqa: ANN401 - texts, as url_for types them
        return url_for("ledger.lines", stock=stock, **narrow)

    every_one = row[0] == "all"
    if table.title.endswith(", by kind of line and area"):
        kind = {} if every_one else {"kind": row[0]}
        areas = [column.key for column in table.columns[1:-1]]
        return {"all": behind(**kind)} | {area: behind(**kind, area=area) for area in areas}
    axis = _BY.get(table.title)
    if axis is None or (axis == "bought" and row[0] == Bought.WAITING):
        return {}
    narrow = {} if every_one else {axis: row[0]}
    if axis == "work":
        return {"actual": behind(**narrow, **({"outside": "no"} if every_one else {}))}
    return {"actual": behind(**narrow), "outside": behind(**narrow, outside="yes")}
