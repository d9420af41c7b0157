"""What the machine interface reads: lists, reports, vehicles, records, plans, whole books."""

from __future__ import annotations

from dataclasses import asdict, replace
from datetime import datetime
from typing import TYPE_CHECKING, Any

from recondition.book.check import check
from recondition.book.questions import vehicle_of
from recondition.book.roles import Right
from recondition.intake import clocking
from recondition.intake.sheets import SHEETS
from recondition.reports.plain import to_json
from recondition.web import catalogue, permits
from recondition.web.api_call import Call, Operation, Parameter
from recondition.web.api_schemas import REF, STOCK, TABLES, answer, texts
from recondition.web.api_shapes import PERIOD, Schema, text
from recondition.web.record_view import Fact, Seen, view_of
from recondition.web.search import found, subjects
from recondition.web.visit import the_book, visit

if TYPE_CHECKING:
    from collections.abc import Iterable

    from recondition.book.one_record import Named
    from recondition.reports.table import Table
    from recondition.web.catalogue import Shown

_TEXT: Schema = {"type": "string"}
_COUNT: Schema = {"type": "integer"}
_TABLE: Schema = {"$ref": "#/components/schemas/Table"}
_MOMENT = r"^[12][0-9]{3}-[0-9]{2}-[0-9]{2}(T[0-9]{2}:[0-9]{2})?$"
SECONDS_MAX = 20
_SECONDS = 8


def table_of(table: Table) -> dict[str, Any]:
    """Give a table with its columns, its rows by the keys of these, and its total."""
    total = None
    if table.total is not None:
        (total,) = to_json(replace(table, rows=(table.total,), total=None))
    return {
        "title": table.title,
        "note": table.note,
        "columns": [
            {"key": c.key, "heading": c.heading, "kind": c.kind.value} for c in table.columns
        ],
        "rows": to_json(table),
        "total": total,
    }


def now_on_the_wall() -> datetime:
    """Give the moment on the shop's own wall clock, without its zone."""
    now = the_book().now().astimezone()
    return now.replace(tzinfo=None, second=0, microsecond=0)


def _moment(call: Call) -> datetime:
    """Give the moment that something is asked as of. Raises NotAMoment."""
    asked = call.one("on")
    if asked is None:
        return now_on_the_wall()
    try:
        return datetime.fromisoformat(asked)
    except ValueError:
        raise clocking.NotAMoment(asked) from None


def _named(rows: dict[str, Shown]) -> list[dict[str, Any]]:
    """List what whoever is asking may see."""
    rights = visit().rights
    return [
        {"name": row.name, "words": row.words, "takes": list(row.takes)}
        for row in rows.values()
        if rights & set(row.rights)
    ]


def _tables(rows: dict[str, Shown], name: str, asked: dict[str, list[str]], at: datetime) -> Any:  # noqa: ANN401 - JSON
    """Make the tables of a list or report."""
    row = catalogue.of_name(rows, name, visit().rights)
    with the_book().reading() as conn:
        made = catalogue.tables_of(conn, row, asked, visit().rights, at)
    return {"tables": [table_of(table) for table in made]}


def _lists(_call: Call) -> Any:  # noqa: ANN401 - JSON
    return {"lists": _named(catalogue.LISTS)}


def _list(call: Call) -> Any:  # noqa: ANN401 - JSON
    return _tables(catalogue.LISTS, call.path["name"], call.query, now_on_the_wall())


def _reports(_call: Call) -> Any:  # noqa: ANN401 - JSON
    return {"reports": _named(catalogue.REPORTS)}


def _report(call: Call) -> Any:  # noqa: ANN401 - JSON
    at = _moment(call)
    asked = {name: values for name, values in call.query.items() if name != "on"}
    return _tables(catalogue.REPORTS, call.path["name"], asked, at)


def _vehicle(call: Call) -> Any:  # noqa: ANN401 - JSON
    return _tables(
        catalogue.REPORTS, "vehicle", {"vehicle": [call.path["stock"]]}, now_on_the_wall()
    )


def _part(call: Call) -> Any:  # noqa: ANN401 - JSON
    stock, part = call.path["stock"], call.path["part"]
    if part in catalogue.LISTS:
        return _tables(catalogue.LISTS, part, {"vehicle": [stock], **call.query}, now_on_the_wall())
    row = catalogue.of_name(catalogue.REPORTS, part, visit().rights)
    asked = {row.parameters[0]: [stock], **call.query}
    return _tables(catalogue.REPORTS, part, asked, now_on_the_wall())


def _plan(call: Call) -> Any:  # noqa: ANN401 - JSON
    from recondition.reports.dealer import answer as planned  # noqa: PLC0415 - heavy

    seconds, seed = int(call.one("seconds") or _SECONDS), int(call.one("seed") or 0)
    with the_book().reading() as conn:
        vehicle = vehicle_of(conn, call.path["stock"])
        made = planned(conn, vehicle, _moment(call), seconds=float(seconds), seed=seed)
        return {"vehicle": vehicle.ref, "plan": dict(made.as_json())}


def _record(call: Call) -> Any:  # noqa: ANN401 - JSON
    with the_book().reading() as conn:
        return record_of(view_of(conn, call.path["kind"], call.path["ref"], visit().rights))


def _facts(facts: Iterable[Fact]) -> list[dict[str, str]]:
    """Write facts."""
    return [{"field": f.field, "heading": f.heading, "text": f.text} for f in facts]


def _links(named: Iterable[Named]) -> list[dict[str, str]]:
    """Write records that are named, or name."""
    return [{"field": n.field, "kind": n.kind, "ref": n.ref} for n in named]


def record_of(seen: Seen) -> dict[str, Any]:
    """Give a record as whoever is asking may see it."""
    file = seen.whole.file if seen.shows_file else None
    return {
        "kind": seen.stored.kind,
        "ref": seen.stored.ref,
        "subject": seen.whole.subject,
        "sheet": seen.sheet,
        "fields": _facts(seen.facts),
        "money": _facts(seen.money),
        "shares": None if seen.shares is None else table_of(seen.shares),
        "versions": [
            {"version": v.version, "number": v.sequence, "hash": v.hash, "previous": v.previous,
             "recorded_at": v.recorded_at, "author": v.author,
             "changed": [asdict(each) for each in seen.changes.get(v.version, ())]}
            for v in seen.whole.versions
        ],
        "names": _links(seen.names),
        "named_by": _links(seen.named_by),
        "undo": {"way": seen.undo.way.value, "words": seen.undo.words,
                 "allowed": seen.undo.allowed},
        "file": None if file is None else {
            "sha256": file.sha256, "media_type": file.media_type, "size_bytes": file.size_bytes,
            "address": f"/files/{file.sha256}",
        },
    }  # fmt: skip


def _search(call: Call) -> Any:  # noqa: ANN401 - JSON
    with the_book().reading() as conn:
        groups = found(conn, call.one("q") or "", visit().rights)
        about = subjects(conn, groups)
    return {
        "groups": [
            {
                "kind": group.kind,
                "count": group.count,
                "more": group.more,
                "hits": [
                    {"ref": hit.ref, "about": about.get(hit.subject, ""), "where": hit.where,
                     "text": hit.text}
                    for hit in group.hits
                ],
            }
            for group in groups
        ]
    }  # fmt: skip


def _sheets(_call: Call) -> Any:  # noqa: ANN401 - JSON
    rights = visit().rights
    return {
        "sheets": [
            {
                "name": sheet.name,
                "kind": sheet.kind,
                "explanation": sheet.explanation,
                "fields": [
                    {"field": c.field, "heading": c.heading, "help": c.help}
                    for c in sheet.columns
                    if c.field not in permits.shut(sheet.kind, rights)
                ],
            }
            for sheet in SHEETS
            if permits.may_enter(sheet.name, rights)
        ]
    }


def _clocks(_call: Call) -> Any:  # noqa: ANN401 - JSON
    names = ("clock", "person", "vehicle", "on", "stands")
    return {"clocks": [dict(zip(names, row, strict=True)) for row in clocking.shown(the_book())]}


def _check(_call: Call) -> Any:  # noqa: ANN401 - JSON
    examined = check(the_book())
    return {
        "whole": not examined.damages,
        "looked_at": examined.looked_at(),
        "damage": [
            {"what": d.what, "where": d.where, "touches": d.touches, "todo": d.todo}
            for d in examined.damages
        ],
        "more_damage": examined.more,
        "notes": [{"what": n.what, "where": n.where, "todo": n.todo} for n in examined.notes],
    }


def _rows(**properties: Schema) -> Schema:
    """Give the schema of several objects in which every name is there."""
    return {"type": "array", "items": answer(**properties)}


_NAMED = _rows(name=_TEXT, words=_TEXT, takes=texts())
_FACTS = _rows(field=_TEXT, heading=_TEXT, text=_TEXT)
_LINKS = _rows(field=_TEXT, kind=_TEXT, ref=_TEXT)
_FOUND = _rows(what=_TEXT, where=_TEXT, todo=_TEXT)
_FILE = answer(sha256=_TEXT, media_type=_TEXT, size_bytes=_COUNT, address=_TEXT)
_RECORD = answer(
    kind=_TEXT, ref=_TEXT, subject=_TEXT, sheet=_TEXT, fields=_FACTS, money=_FACTS,
    shares={"anyOf": [_TABLE, {"type": "null"}]},
    versions=_rows(version=_COUNT, changed=_rows(field=_TEXT, heading=_TEXT, before=_TEXT,
                                                 after=_TEXT),
                   number=_COUNT, hash=_TEXT, previous=_TEXT, recorded_at=_TEXT,
                   author=_TEXT),
    names=_LINKS, named_by=_LINKS,
    undo=answer(way=_TEXT, words=_TEXT, allowed={"type": "boolean"}),
    file={"anyOf": [_FILE, {"type": "null"}]},
)  # fmt: skip
_GROUPS = _rows(
    kind=_TEXT, count=_COUNT, more={"type": "boolean"},
    hits=_rows(ref=_TEXT, about=_TEXT, where=_TEXT, text=_TEXT),
)  # fmt: skip

NAME = text("The name of a list or report.", minLength=1)
_STOCK = Parameter("stock", STOCK, "path", required=True)
_PART = {
    "type": "string", "description": "A list or report of one vehicle.",
    "enum": [*(row.name for row in catalogue.LISTS.values() if "vehicle" in row.takes),
             *(row.name for row in catalogue.REPORTS.values()
               if row.parameters[:1] in (("vehicle",), ("vehicles",)) and row.name != "vehicle")],
}  # fmt: skip
_HAMMERS = Parameter("hammers", text("A hammer to be tried.", minLength=1), several=True)
_ON = Parameter("on", text("As of this day or moment, on the shop's own clock; else now.",
                           pattern=_MOMENT))  # fmt: skip
_ASKED = (
    Parameter("vehicle", STOCK),
    Parameter("vehicles", STOCK, several=True),
    Parameter("period", text("A month, YYYY-MM.", pattern=PERIOD)),
    Parameter("which", text("A product, or a batch.", minLength=1)),
    _HAMMERS,
    Parameter("range", text("A range of film, such as 100-150.", minLength=1)),
    _ON,
)


def _whole(least: int, most: int, words: str) -> Schema:
    """Give the schema of a whole number."""
    return {"type": "integer", "description": words, "minimum": least, "maximum": most}


_SHOP = (Right.BENCH, Right.MONEY, Right.DECIDE, Right.BOOKS, Right.RELEASE)

OPERATIONS = (
    Operation(id="lists", method="GET", path="/lists", summary="Name the lists", tag="read",
              run=_lists, answer=answer(lists=_NAMED)),
    Operation(id="list", method="GET", path="/lists/{name}", summary="List records of a kind",
              tag="read", run=_list, answer=TABLES,
              parameters=(Parameter("name", NAME, "path", required=True),
                          Parameter("vehicle", STOCK))),
    Operation(id="reports", method="GET", path="/reports", summary="Name the reports",
              tag="read", run=_reports, answer=answer(reports=_NAMED)),
    Operation(id="report", method="GET", path="/reports/{name}", summary="Make a report",
              tag="read", run=_report, answer=TABLES,
              parameters=(Parameter("name", NAME, "path", required=True), *_ASKED)),
    Operation(id="vehicle", method="GET", path="/vehicles/{stock}", summary="Show a vehicle",
              tag="read", run=_vehicle, answer=TABLES, parameters=(_STOCK,),
              rights=catalogue.SHOP),
    Operation(id="vehiclePart", method="GET", path="/vehicles/{stock}/{part}",
              summary="Show a list or report of a vehicle", tag="read", run=_part, answer=TABLES,
              parameters=(_STOCK, Parameter("part", _PART, "path", required=True), _HAMMERS)),
    Operation(id="plan", method="GET", path="/vehicles/{stock}/plan", tag="decide", run=_plan,
              summary="Say what is worth doing to a vehicle", rights=(Right.DECIDE,),
              answer=answer(vehicle=_TEXT, plan={"type": "object"}),
              parameters=(_STOCK, _ON,
                          Parameter("seconds", _whole(1, SECONDS_MAX, "How long to search.")),
                          Parameter("seed", _whole(0, 1_000_000, "Seed of the draws.")))),
    Operation(id="record", method="GET", path="/records/{kind}/{ref}", tag="read", run=_record,
              summary="Show one record with its chain and what it hangs together with",
              answer=_RECORD,
              parameters=(Parameter("kind", text("Its kind, or 'line' for any line item.",
                                                 minLength=1), "path", required=True),
                          Parameter("ref", REF, "path", required=True))),
    Operation(id="search", method="GET", path="/search", summary="Find records by a word",
              tag="read", run=_search, answer=answer(groups=_GROUPS),
              parameters=(Parameter("q", text("What to look for."), required=True),)),
    Operation(id="sheets", method="GET", path="/sheets", tag="enter", run=_sheets,
              summary="Name the sheets that this login may enter rows of",
              answer=answer(sheets=_rows(name=_TEXT, kind=_TEXT, explanation=_TEXT,
                                         fields=_rows(field=_TEXT, heading=_TEXT, help=_TEXT)))),
    Operation(id="clocks", method="GET", path="/clocks", summary="Show every open clock",
              tag="bench", run=_clocks, rights=_SHOP[:4],
              answer=answer(clocks=_rows(clock=_TEXT, person=_TEXT, vehicle=_TEXT, on=_TEXT,
                                         stands=_TEXT))),
    Operation(id="check", method="GET", path="/check", summary="Check that the book is whole",
              tag="books", run=_check, rights=(Right.MANAGE, Right.BOOKS),
              answer=answer(whole={"type": "boolean"},
                            looked_at={"type": "object", "additionalProperties": _COUNT},
                            damage=_rows(what=_TEXT, where=_TEXT, touches=_TEXT, todo=_TEXT),
                            more_damage=_COUNT, notes=_FOUND)),
)  # fmt: skip

__all__ = ["OPERATIONS", "now_on_the_wall", "record_of", "table_of"]
