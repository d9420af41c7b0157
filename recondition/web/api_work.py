"""Long work over the machine interface: begun, asked after, cancelled; and a vehicle's day."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from flask import url_for

from recondition.book.roles import Right
from recondition.book.today import today_of
from recondition.reports.exporting import MAP_MAX_BYTES
from recondition.web import importing, jobs
from recondition.web.api_call import FILE_BODY_BYTES_MAX, Call, Operation, Parameter
from recondition.web.api_read import table_of
from recondition.web.api_schemas import SAID, STOCK, TABLES, answer, texts
from recondition.web.api_shapes import PERIOD, Schema, several, text, thing
from recondition.web.bench import clock_row, is_ready
from recondition.web.blind import without_amounts, without_money
from recondition.web.downloads import writing_of
from recondition.web.histories import trial_of
from recondition.web.long_work import KINDS, Outcome
from recondition.web.permits import sees_money
from recondition.web.releasing import release_of
from recondition.web.running import State
from recondition.web.visit import the_book, visit
from recondition.web.week import plan_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from recondition.book.today import Today
    from recondition.web.running import Job
    from recondition.worth.estimates import ThreeNumbers
    from recondition.worth.today import Todo

_FILES = (
    "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet", "text/csv", "text/html",
)  # fmt: skip


def _plan(call: Call) -> Any:  # noqa: ANN401 - JSON
    """Have several vehicles planned together."""
    return _begun(plan_of(call.body["vehicles"], call.body.get("cash", "").strip() or None))


def _export(call: Call, what: str) -> Any:  # noqa: ANN401 - JSON
    """Have a file of the books written."""
    body = call.body
    return _begun(writing_of(
        what, period=body.get("period"), vehicle=body.get("vehicle"), columns=body.get("columns")
    ))  # fmt: skip


def _check(call: Call) -> Any:  # noqa: ANN401 - JSON
    """Have a workbook checked."""
    return _begun(importing.check_of(call.upload))


def _import(call: Call) -> Any:  # noqa: ANN401 - JSON
    """Have a checked workbook entered."""
    return _begun(importing.import_of(call.body["checked"]))


def _trial(call: Call) -> Any:  # noqa: ANN401 - JSON
    """Have a trial copy made of a work history. Raises NotThere, PassphraseNeeded."""
    return _begun(trial_of(call.body["vehicle"], call.body.get("passphrase", "")))


def _release(call: Call) -> Any:  # noqa: ANN401 - JSON
    """Have a work history released that was looked at. Raises NotThere, NotAsLookedAt."""
    body = call.body
    return _begun(release_of(body["vehicle"], body["seen"], body.get("passphrase", "")))


def _begun(job_id: str) -> dict[str, Any]:
    """Say how work stands that was just begun."""
    return work_of(jobs.mine(job_id))


def work_of(job: Job) -> dict[str, Any]:
    """Give how some work stands and what came of it, without amounts to who may see no money."""
    money = sees_money(visit().rights)
    outcome = job.outcome or Outcome()
    refused = job.refused

    def said(words: str) -> str:
        return words if money else without_amounts(words)

    tables = (table if money else without_money(table) for table in outcome.tables)
    return {
        "id": job.id, "kind": job.kind, "state": job.state.value, "ended": job.state.ended,
        "words": said(job.words), "done": job.done, "total": job.total,
        "ahead": jobs.ahead_of(job),
        "said": [said(line) for line in outcome.said],
        "tables": [table_of(table) for table in tables],
        "result": dict(outcome.answer) if money or job.of.bare else {},
        "file": {"name": job.file.name, "address": url_for("api.workFile", id=job.id)}
        if job.file else None,
        "refused": None if refused is None else {
            **{name: said(refused[name]) for name in ("what", "where", "todo")},
            "more": [said(line) for line in refused["more"]],
        },
        "left": said(job.left),
    }  # fmt: skip


def _every(_call: Call) -> Any:  # noqa: ANN401 - JSON
    """List long work."""
    return {"work": [work_of(job) for job in jobs.seen_now()]}


def _one(call: Call) -> Any:  # noqa: ANN401 - JSON
    """Say how some work stands."""
    return work_of(jobs.mine(call.path["id"]))


def _cancel(call: Call) -> Any:  # noqa: ANN401 - JSON
    """Cancel some work."""
    return {"said": [jobs.cancelled(jobs.mine(call.path["id"]))]}


def _file(call: Call) -> Any:  # noqa: ANN401 - a file
    """Hand out the file of some work."""
    return jobs.handed_out(jobs.mine(call.path["id"]))


def _today(call: Call) -> Any:  # noqa: ANN401 - JSON
    """Give the day's list of a vehicle."""
    with the_book().reading() as conn:
        today = today_of(conn, call.path["stock"], the_book().now().astimezone())
    return {
        "vehicle": today.vehicle.ref,
        "decision": today.decision.ref if today.decision else None,
        "todo": [_todo(today, each) for each in today.todos],
        "not_chosen": list(today.others),
    }


def _todo(today: Today, todo: Todo) -> dict[str, Any]:
    """Give one piece of work of the day."""
    return {
        "ref": todo.ref, "name": todo.name, "state": todo.state.value, "ready": is_ready(todo),
        "stopped": todo.stopped,
        "waits": [{"words": why.words, "stops": why.stops} for why in todo.waits],
        "cautions": list(todo.cautions), "panels": list(todo.panels),
        "findings": [today.findings[f].ref for f in todo.findings if f in today.findings],
        "hours": _hours(todo.hours), "worked_min": round(todo.worked_h * 60),
        "clock": clock_row(today, todo),
    }  # fmt: skip


def _hours(hours: ThreeNumbers) -> dict[str, str]:
    """Write three numbers as texts."""
    return {"low": f"{hours.low:f}", "likely": f"{hours.likely:f}", "high": f"{hours.high:f}"}


_TEXT: Schema = {"type": "string"}
_COUNT: Schema = {"type": "integer"}
_TRUE: Schema = {"type": "boolean"}
_NOTHING: Schema = {"type": "null"}


def _or_nothing(schema: Schema) -> Schema:
    """Give the schema of something that may be missing."""
    return {"anyOf": [schema, _NOTHING]}


def _list(**properties: Schema) -> Schema:
    """Give the schema of several objects in which every name is there."""
    return {"type": "array", "items": answer(**properties)}


_WORK = answer(
    id=_TEXT, kind={"type": "string", "enum": list(KINDS)},
    state={"type": "string", "enum": [state.value for state in State]}, ended=_TRUE, words=_TEXT,
    done=_COUNT, total=_or_nothing(_COUNT), ahead=_COUNT, said=texts(),
    tables=TABLES["properties"]["tables"], result={"type": "object"},
    file=_or_nothing(answer(name=_TEXT, address=_TEXT)),
    refused=_or_nothing(answer(what=_TEXT, where=_TEXT, todo=_TEXT, more=texts())), left=_TEXT,
)  # fmt: skip
_TODAY = answer(
    vehicle=_TEXT, decision=_or_nothing(_TEXT), not_chosen=texts(),
    todo=_list(
        ref=_TEXT, name=_TEXT, state=_TEXT, ready=_TRUE, stopped=_TRUE,
        waits=_list(words=_TEXT, stops=_TRUE), cautions=texts(), panels=texts(), findings=texts(),
        hours=answer(low=_TEXT, likely=_TEXT, high=_TEXT), worked_min=_COUNT,
        clock={"type": "object", "additionalProperties": _TEXT},
    ),
)  # fmt: skip
_ID = Parameter("id", text("What beginning the work gave.", minLength=1), "path", required=True)
_PASSPHRASE = text("Of the signing key where it is locked; it is kept nowhere.", length=1000)
_SCOPE = {"period": text("One month, YYYY-MM.", pattern=PERIOD), "vehicle": STOCK}
_COLUMNS = {"columns": text("A map of columns (CSV) as the page of the downloads hands out.",
                            length=MAP_MAX_BYTES)}  # fmt: skip
_LATER = "Ask after it with GET /jobs/{id}; results are kept for an hour."


def _start(kind: str, run: Any, body: Schema | None, **more: Any) -> Operation:  # noqa: ANN401 - of Operation
    """Give the operation that begins a kind of work."""
    of, words = KINDS[kind], more.pop("words", "")
    name = "".join(word.capitalize() for word in kind.split())
    return Operation(
        id=f"begin{name}", method="POST", path=f"/jobs/{kind.replace(' ', '-')}", run=run,
        summary=of.title, tag="work", answer=_WORK, rights=of.rights, body=body, status=202,
        refusals=(429,), words=f"{words} {_LATER}".strip(), **more,
    )  # fmt: skip


def _beginnings() -> Iterator[Operation]:
    """Give the operations that begin long work, one a kind."""
    cash = text("How much may be spent in all; else there is no bound.", minLength=1)
    cars = {**several(STOCK, least=1), "description": "Which vehicles."}
    yield _start("plan", _plan, thing({"vehicles": cars, "cash": cash}, "vehicles"))
    yield _start("workbook", lambda call: _export(call, "workbook"), thing(_SCOPE))
    for what in ("journal", "lines"):
        scope = thing(_SCOPE | _COLUMNS)
        yield _start(what, lambda call, what=what: _export(call, what), scope)
    yield _start("check", _check, None, upload="workbook", body_bytes_max=FILE_BODY_BYTES_MAX,
                 words="A filled workbook; nothing is written.")  # fmt: skip
    checked = text("The work that checked it and found nothing.", minLength=1)
    yield _start("import", _import, thing({"checked": checked}, "checked"))
    seen = text("The mark of the trial copy that was looked at: 'seen' in the result of that work.")
    car = {"vehicle": STOCK, "passphrase": _PASSPHRASE}
    yield _start("trial copy", _trial, thing(car, "vehicle"),
                 words="Its file is the page that a buyer would see.")  # fmt: skip
    yield _start("work history", _release, thing(car | {"seen": seen}, "vehicle", "seen"),
                 words="Nothing is released that was not looked at.")  # fmt: skip


OPERATIONS = (
    *_beginnings(),
    Operation(id="works", method="GET", path="/jobs", summary="List long work", tag="work",
              run=_every, answer=answer(work={"type": "array", "items": _WORK}),
              words="Your own; all of it to whoever manages the logins."),
    Operation(id="workOne", method="GET", path="/jobs/{id}", tag="work", run=_one, answer=_WORK,
              summary="Say how far long work is, or what came of it", parameters=(_ID,)),
    Operation(id="workCancel", method="POST", path="/jobs/{id}/cancel", tag="work", run=_cancel,
              summary="Cancel long work", answer=SAID, parameters=(_ID,)),
    Operation(id="workFile", method="GET", path="/jobs/{id}/file", tag="work", run=_file,
              summary="Hand out the finished file", answer={"type": "string"}, media=_FILES,
              parameters=(_ID,)),
    Operation(id="today", method="GET", path="/vehicles/{stock}/today", tag="bench", run=_today,
              summary="Say what is to be done on a vehicle today, and what waits for what",
              answer=_TODAY, rights=(Right.BENCH,),
              parameters=(Parameter("stock", STOCK, "path", required=True),),
              words="Each piece of work brings the values with which its clock is started."),
)  # fmt: skip
