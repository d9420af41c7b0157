"""What the machine interface enters at the bench: the clock, measured uses, counts by weight."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from recondition.book.roles import Right
from recondition.intake import bench, clocking
from recondition.intake.sheets import sheet_named
from recondition.ledger.clocks import Tick
from recondition.web.api_call import Call, Operation, Parameter
from recondition.web.api_schemas import ENTERED, KEY, REF, SAID, STOCK, WHY, values_of
from recondition.web.api_shapes import WORDS_MAX, Schema, day, several, text, thing
from recondition.web.api_write import result_of, the_day
from recondition.web.bench_use import WAYS, Measured
from recondition.web.blind import without_amounts
from recondition.web.permits import hold_fields, sees_money
from recondition.web.visit import the_book, visit

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from recondition.book.posting import Result

_BENCH = (Right.BENCH,)
_MOMENT = (
    r"^([12][0-9]{3}-[0-9]{2}-[0-9]{2}[T ])?[0-9]{2}:[0-9]{2}(:[0-9]{2})?"
    r"(Z|[+-][0-9]{2}:[0-9]{2})?$"
)
_AT = text("When, if not now: 17:30, or with its day and zone.", pattern=_MOMENT)
_OVERRIDE = text("Reason, for what film or a caution would stop.", length=WORDS_MAX)
# What a clock can be on: fields of the sheet labour.
_ON = ("vehicle", "words", "links", "unlinked", "candidate", "panel", "operation", "rework.of",
       "rework.cause", "rework.payer", "film_removal", "override")  # fmt: skip


def _said(words: str) -> dict[str, Any]:
    """Give lines that were said, without amounts to whoever may see no money."""
    shown = words if sees_money(visit().rights) else without_amounts(words)
    return {"said": [" ".join(line.split()) for line in shown.splitlines() if line.strip()]}


def _filled(body: Mapping[str, Any]) -> dict[str, str]:
    """Give the fields of a body that hold something."""
    return {name: text_ for name, text_ in body.get("values", {}).items() if text_.strip()}


def _start(call: Call) -> Any:  # noqa: ANN401 - JSON
    """Start the clock."""
    body = call.body
    values = _filled(body)
    hold_fields(sheet_named("labour"), values, visit().rights)
    return _said(clocking.start(
        the_book(), values, author_ref=visit().person, at=body.get("at"), key=body.get("key")
    ))  # fmt: skip


def _turned(tick: Tick) -> Callable[[Call], Any]:
    """Give what pauses the clock, or takes it up again."""

    def turn(call: Call) -> Any:  # noqa: ANN401 - JSON
        return _said(clocking.turn(
            the_book(), tick, author_ref=visit().person, at=call.body.get("at"),
            key=call.body.get("key"),
        ))  # fmt: skip

    return turn


def _stop(call: Call) -> Any:  # noqa: ANN401 - JSON
    """Stop the clock; its hours become a line."""
    words, _ = clocking.stop(
        the_book(), author_ref=visit().person, at=call.body.get("at"),
        override=call.body.get("override"), key=call.body.get("key"),
    )  # fmt: skip
    return _said(words)


def _drop(call: Call) -> Any:  # noqa: ANN401 - JSON
    """Drop the clock without a line."""
    body = call.body
    person = visit().person
    return _said(clocking.drop(the_book(), body["why"], author_ref=person, key=body.get("key")))


def _used(used: bench.Used) -> dict[str, Any]:
    """Give a use with what it comes to in words."""
    made: Result = used.result
    words = _said(used.words)["said"]
    return {**result_of(made), "told": [*words, *result_of(made)["told"]]}


def _use(way: Measured) -> Callable[[Call], Any]:
    """Give what enters a use of one way to measure."""

    def use(call: Call) -> Any:  # noqa: ANN401 - JSON
        values = _filled(call.body)
        if call.body.get("for_the_shop"):
            values["for_shop"] = "yes"
        real = {name: value for name, value in values.items() if name != "for_shop"}
        hold_fields(sheet_named("consumables"), real, visit().rights)
        values.setdefault("work_date", the_book().now().astimezone().date().isoformat())
        return _used(bench.use(
            the_book(), {**values, **dict(way.fixed)}, author_ref=visit().person,
            ref=values.get("ref"), key=call.body.get("key"),
            priced=sees_money(visit().rights),
        ))  # fmt: skip

    return use


def _scrap(call: Call) -> Any:  # noqa: ANN401 - JSON
    """Throw a container away."""
    values = _filled(call.body)
    hold_fields(sheet_named("consumables"), values, visit().rights)
    return _used(bench.scrap(
        the_book(), call.path["ref"], call.body["why"], rest=call.body.get("rest"),
        given=values, author_ref=visit().person, key=call.body.get("key"),
        priced=sees_money(visit().rights),
    ))  # fmt: skip


def _count(call: Call) -> Any:  # noqa: ANN401 - JSON
    """Count a product by weighing its containers."""
    body = call.body
    weights = [f"{each['container']}={each['grams']}" for each in body["weights"]]
    lines = bench.count_by_weight(
        the_book(), call.path["ref"], weights, why=body.get("why", ""), day=body.get("day"),
        author_ref=visit().person, key=body.get("key"),
    )  # fmt: skip
    return _said("\n".join(lines))


def _clock_body(*names: str, required: tuple[str, ...] = (), **more: Schema) -> Schema:
    """Give the body of a turn of the clock."""
    known: dict[str, Schema] = {"at": _AT, "key": KEY, "override": _OVERRIDE, "why": WHY}
    return thing({**{name: known[name] for name in names}, **more}, *required)


def _values(*needed: str, sheet: str, names: tuple[str, ...] = ()) -> Schema:
    """Give the schema of fields of a sheet, of which some have to be there."""
    whole = values_of(sheet_named(sheet), the_day())
    fields = {n: f for n, f in whole["properties"].items() if not names or n in names}
    return thing(fields, *needed)


def _clock(turn: str, words: str, run: Callable[[Call], Any], body: Schema) -> Operation:
    """Give the operation of a turn of the clock."""
    return Operation(
        id=f"clock{turn.capitalize()}", method="POST", path=f"/clock/{turn}", summary=words,
        tag="bench", run=run, answer=SAID, rights=_BENCH, body=body,
    )  # fmt: skip


def _operations() -> Iterator[Operation]:
    """Give every operation of this module."""
    work = _values("vehicle", "words", sheet="labour", names=_ON)
    body = _clock_body("at", "key", required=("values",), values=work)
    yield _clock("start", "Start your clock", _start, body)
    yield _clock("pause", "Pause your clock", _turned(Tick.PAUSE), _clock_body("at", "key"))
    yield _clock("resume", "Take your clock up again", _turned(Tick.RESUME),
                 _clock_body("at", "key"))  # fmt: skip
    yield _clock("stop", "Stop your clock; its hours become a line", _stop,
                 _clock_body("at", "key", "override"))  # fmt: skip
    yield _clock("drop", "Drop your clock without a line", _drop,
                 _clock_body("why", "key", required=("why",)))  # fmt: skip
    for name, way in WAYS.items():
        needed = [asked.name for asked in way.fields if asked.needed]
        shop: Schema = {"type": "boolean", "description": "For no vehicle."}
        fields = {"values": _values(*needed, sheet="consumables"), "for_the_shop": shop,
                  "key": KEY}  # fmt: skip
        yield Operation(
            id=f"use{name.capitalize()}", method="POST", path=f"/uses/{name}", tag="bench",
            summary=f"Enter a use: {way.words}", run=_use(way), answer=ENTERED, rights=_BENCH,
            body=thing(fields, "values"),
            words=f"{way.help} Without a vehicle it is for the work of your open clock.",
        )  # fmt: skip
    for_what = ("vehicle", "links", "unlinked", "loss", "work_date")
    yield Operation(
        id="scrap", method="POST", path="/containers/{ref}/scrap", tag="bench", run=_scrap,
        summary="Throw a container away early", answer=ENTERED, rights=_BENCH,
        parameters=(Parameter("ref", REF, "path", required=True),),
        body=thing({"why": WHY, "key": KEY, "rest": text("What was left in it, such as 12 ml."),
                    "values": _values(sheet="consumables", names=for_what)}, "why"),
    )  # fmt: skip
    weight = thing({"container": STOCK, "grams": text("Gross, such as 701.9.", minLength=1)},
                   "container", "grams")  # fmt: skip
    yield Operation(
        id="countByWeight", method="POST", path="/products/{ref}/counts", tag="bench", run=_count,
        summary="Count a product by weighing its containers", answer=SAID,
        rights=(Right.BENCH, Right.BOOKS), parameters=(Parameter("ref", REF, "path",
                                                                 required=True),),
        body=thing({"weights": several(weight, least=1), "why": text("Why stock and shelf differ."),
                    "day": day("Its day; else today."), "key": KEY}, "weights"),
    )  # fmt: skip


OPERATIONS = tuple(_operations())
