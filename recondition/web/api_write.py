"""What the machine interface enters and decides: rows, reversals, decisions, periods, sessions."""

from __future__ import annotations

import base64
import binascii
import io
from functools import partial
from typing import TYPE_CHECKING, Any

from flask import g
from werkzeug.datastructures import FileStorage

from recondition.book import closing, sessions, trail
from recondition.book.freezing import Freezing, freeze, worked_out
from recondition.book.roles import Right
from recondition.intake.sheets import SHEETS, sheet_named
from recondition.intake.spec import Parse
from recondition.web import rows, taking_back
from recondition.web.api_call import FILE_BODY_BYTES_MAX, Call, Operation, Parameter
from recondition.web.api_read import now_on_the_wall
from recondition.web.api_schemas import (
    ENTERED,
    KEY,
    REF,
    SAID,
    STOCK,
    WHY,
    answer,
    row_of,
    texts,
    values_of,
)
from recondition.web.api_shapes import (
    PERIOD,
    WORDS_MAX,
    NotThatShape,
    Schema,
    day,
    text,
    thing,
)
from recondition.web.permits import ENTER, TAKEN_BACK
from recondition.web.record_view import view_of
from recondition.web.visit import NotForThisRole, the_book, visit

if TYPE_CHECKING:
    from collections.abc import Iterator

    from recondition.amounts import Money
    from recondition.book.posting import Result
    from recondition.intake.spec import Sheet

_TEXT: Schema = {"type": "string"}


def result_of(result: Result) -> dict[str, Any]:
    """Give what became of a row, what the rules told of it and what to remember."""
    said = rows.said_of(result)
    return {
        "kind": str(result.draft.kind),
        "ref": result.draft.ref,
        "status": result.status.value,
        "told": [line.removeprefix("note: ") for line in said[1:] if line.startswith("note: ")],
        "reminders": list(result.reminders),
    }


def _file_of(body: dict[str, Any]) -> FileStorage | None:
    """Give the file that came with a row. Raises NotThatShape."""
    sent = body.get("file")
    if sent is None:
        return None
    try:
        content = base64.b64decode(sent["content"], validate=True)
    except (binascii.Error, ValueError):
        where = "file.content"
        raise NotThatShape(where, f"{where} is not base64") from None
    return FileStorage(io.BytesIO(content), filename=sent["name"])


def _enter(sheet: Sheet, call: Call) -> Any:  # noqa: ANN401 - JSON
    """Enter a row of a sheet."""
    values = {field: value for field, value in call.body["values"].items() if value.strip()}
    made = rows.enter(sheet, values, key=call.body.get("key"), file=_file_of(call.body))
    return result_of(made)


def _row_operation(sheet: Sheet) -> Operation:
    """Give the operation that enters a row of a sheet."""
    name = rows.address_of(sheet.name)
    takes_file = any(column.parse is Parse.FILE for column in sheet.columns)
    return Operation(
        id="enter" + "".join(word.capitalize() for word in sheet.name.split()), method="POST",
        path=f"/rows/{name}", summary=f"Enter a row of the sheet {sheet.name}", tag="enter",
        run=lambda call: _enter(sheet, call), answer=ENTERED, rights=ENTER[sheet.name],
        body=row_of(sheet, the_day()), words=sheet.explanation,
        body_bytes_max=FILE_BODY_BYTES_MAX if takes_file else 1024 * 1024,
    )  # fmt: skip


def _answer(call: Call) -> Any:  # noqa: ANN401 - JSON
    """Enter what an owner answered, and the consent with it."""
    values = {field: value for field, value in call.body["values"].items() if value.strip()}
    made = rows.answered(values, key=call.body.get("key"), agreed=call.body["agreed"])
    return {"entered": [result_of(each) for each in made]}


def the_day() -> Any:  # noqa: ANN401 - of the standard library
    """Give any moment: it only tells which fields a row may leave out."""
    from datetime import UTC, datetime  # noqa: PLC0415 - for this alone

    return datetime(2000, 1, 1, tzinfo=UTC)


def _take_back(call: Call) -> Any:  # noqa: ANN401 - JSON
    """Post the negative of a record."""
    kind, ref = call.path["kind"], call.path["ref"]
    with the_book().reading() as conn:
        seen = view_of(conn, kind, ref, visit().rights)
    stored = seen.stored
    if seen.undo.way is not taking_back.Way.REVERSAL:
        raise taking_back.NotTakenBack(stored.kind, stored.ref, seen.undo.words)
    if not seen.undo.allowed:
        raise NotForThisRole(TAKEN_BACK[stored.kind][0])
    body = call.body
    made = taking_back.take_back(
        the_book(), stored.kind, stored.ref, body["why"], author_ref=visit().person,
        day=body.get("day"), period=body.get("period"), words=body.get("words"),
    )  # fmt: skip
    return {"kind": taking_back.reversal_kind(stored.kind), "ref": made}


def _decide(call: Call) -> Any:  # noqa: ANN401 - JSON
    """Freeze a decision."""
    stock, seed = call.path["stock"], int(call.body.get("seed", "0"))
    said = Freezing(
        stock=stock, author_ref=visit().person, note=call.body.get("note"),
        key=call.body.get("key"), seed=seed,
    )  # fmt: skip
    plan = partial(worked_out, the_book(), stock, now_on_the_wall(), seed=seed)
    made = freeze(the_book(), said, plan)
    return {"said": [line.strip() for line in made]}


def _noted(action: str, subject: str) -> None:
    """Note on the trail what was done."""
    asker = visit()
    trail.noted(the_book(), action=action, subject=subject,
                login_id=asker.signed_in.login.id, address=asker.address)  # fmt: skip


def _amount(amount: Money) -> dict[str, str]:
    """Write an amount of money."""
    return {"amount": str(amount), "currency": amount.currency}


def _close(call: Call) -> Any:  # noqa: ANN401 - JSON
    """Close a month."""
    period = call.path["period"]
    event = closing.close(the_book(), period, call.body["why"], author_ref=visit().person)
    _noted("period closed", period)
    return {
        "period": period,
        "debits": None if event.debits is None else _amount(event.debits),
        "accruals": [
            {"received_on": each.received_on.isoformat(), "amount": _amount(each.amount)}
            for each in event.accruals
        ],
    }  # fmt: skip


def _reopen(call: Call) -> Any:  # noqa: ANN401 - JSON
    """Reopen a month."""
    period = call.path["period"]
    closing.reopen(the_book(), period, call.body["why"], author_ref=visit().person)
    _noted("period reopened", period)
    return {"said": [f"Period {period}: reopened. The close before it stays on record."]}


def _sign_in(call: Call) -> Any:  # noqa: ANN401 - JSON
    """Begin a session."""
    name, password = call.body["name"], call.body["password"]
    token = sessions.sign_in(the_book(), name, password, address=visit().address)
    found = sessions.visiting(the_book(), token)
    if found is None:
        raise sessions.WrongNameOrPassword
    return {"token": token, **_who(found)}


def _who(session: sessions.Session) -> dict[str, Any]:
    """Say who a session is."""
    from recondition.book.roles import RIGHTS  # noqa: PLC0415 - for this alone

    role = session.login.role
    rights = sorted(right.name.lower() for right in RIGHTS[role])
    return {"login": session.login.name, "person": session.login.person, "role": role.value,
            "rights": rights}  # fmt: skip


def _session(_call: Call) -> Any:  # noqa: ANN401 - JSON
    """Say who is signed in."""
    return _who(visit().signed_in)


def _sign_out(_call: Call) -> Any:  # noqa: ANN401 - JSON
    """End the session that asks."""
    from flask import request  # noqa: PLC0415 - for this alone

    from recondition.web.app import cookie_name  # noqa: PLC0415 - the application imports this

    token = g.get("bearer") or request.cookies.get(cookie_name(), "")
    sessions.sign_out(the_book(), token, address=visit().address)
    return {"said": ["Signed out."]}


_WHO = {"login": _TEXT, "person": _TEXT, "role": _TEXT, "rights": texts()}
_MONEY: Schema = {"$ref": "#/components/schemas/Money"}
_PERIOD = Parameter("period", text("A month, YYYY-MM.", pattern=PERIOD), "path", required=True)
_RECORD = (
    Parameter("kind", text("Its kind, or 'line' for any line item.", minLength=1), "path",
              required=True),
    Parameter("ref", REF, "path", required=True),
)  # fmt: skip
_BACK = thing(
    {
        "why": WHY,
        "day": day("Its day; else today."),
        "period": text("Its month; else that of its day, or the first open one.", pattern=PERIOD),
        "words": text("The reason of a line in words that a buyer may read.", length=WORDS_MAX),
    },
    "why",
)  # fmt: skip
_SIGNING = thing(
    {"name": text("The login.", minLength=1), "password": text("Its password.", length=1000)},
    "name", "password",
)  # fmt: skip


def _operations() -> Iterator[Operation]:
    """Give every operation of this module."""
    yield Operation(
        id="signIn", method="POST", path="/session", summary="Begin a session", tag="session",
        run=_sign_in, answer=answer(token=_TEXT, **_WHO), body=_SIGNING, open=True,
        words="Send the token with each call: Authorization: Bearer TOKEN.",
    )  # fmt: skip
    yield Operation(
        id="session", method="GET", path="/session", summary="Say who is signed in",
        tag="session", run=_session, answer=answer(**_WHO),
    )  # fmt: skip
    yield Operation(
        id="signOut", method="DELETE", path="/session", summary="End the session", tag="session",
        run=_sign_out, answer=SAID,
    )  # fmt: skip
    yield from map(_row_operation, SHEETS)
    yield Operation(
        id="takeBack", method="POST", path="/reversals/{kind}/{ref}", tag="enter",
        summary="Take back what was posted, by its exact negative", run=_take_back,
        answer=answer(kind=_TEXT, ref=_TEXT), parameters=_RECORD, body=_BACK,
        words="Of lines, receipts, freight and returns, invoices, payments, sales, value tests.",
    )  # fmt: skip
    yield Operation(
        id="decide", method="POST", path="/vehicles/{stock}/decisions", tag="decide", run=_decide,
        summary="Plan a vehicle and keep the plan", answer=SAID, rights=(Right.DECIDE,),
        parameters=(Parameter("stock", STOCK, "path", required=True),),
        body=thing({"note": text("Why, in your own words.", length=WORDS_MAX),
                    "seed": text("Seed of the draws, a whole number.", pattern="^[0-9]{1,6}$"),
                    "key": KEY}),
    )  # fmt: skip
    approvals = sheet_named("approvals")
    yield Operation(
        id="answer", method="POST", path="/answers", tag="decide", run=_answer,
        summary="Enter an owner's answer, and with it the consent to what cannot be undone",
        rights=ENTER[approvals.name], answer=answer(entered={"type": "array", "items": ENTERED}),
        words="Both are entered, or neither. A row of the sheet approvals sets no consent.",
        body=thing({"values": values_of(approvals, the_day()), "key": KEY,
                    "agreed": {"type": "boolean", "description": "They agree to that as well."}},
                   "values", "agreed"),
    )  # fmt: skip
    yield Operation(
        id="closePeriod", method="POST", path="/periods/{period}/close", tag="books", run=_close,
        summary="Close a month", rights=(Right.BOOKS,), parameters=(_PERIOD,),
        body=thing({"why": WHY}, "why"),
        answer=answer(period=_TEXT, debits={"anyOf": [_MONEY, {"type": "null"}]}, accruals={
            "type": "array", "items": answer(received_on=_TEXT, amount=_MONEY)}),
    )  # fmt: skip
    yield Operation(
        id="reopenPeriod", method="POST", path="/periods/{period}/reopen", tag="books",
        summary="Reopen the last closed month", run=_reopen, answer=SAID, rights=(Right.BOOKS,),
        parameters=(_PERIOD,), body=thing({"why": WHY}, "why"),
    )  # fmt: skip


OPERATIONS = tuple(_operations())
