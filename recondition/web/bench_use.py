"""A measured use in three fields, for the work of the open clock or for chosen findings."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from flask import Blueprint, render_template, request, url_for

from recondition.book import reading
from recondition.book.roles import Right
from recondition.errors import Refused
from recondition.intake.bench import use
from recondition.ledger.lines import Unlinked
from recondition.materials.measuring import Way
from recondition.web.bench_shared import (
    car_of,
    chosen,
    day_pressed,
    finding_words,
    my_clock,
    sent_key,
    unpriced,
)
from recondition.web.entry import done, refused_page
from recondition.web.forms import said_of, sent
from recondition.web.visit import may, needs, the_book, visit

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from flask.typing import ResponseReturnValue

    from recondition.book import Connection
    from recondition.web.bench_shared import Car, MyClock

pages = Blueprint("bench_use", __name__)


@dataclass(frozen=True, slots=True)
class Asked:
    """One field of a way to measure. ``kind`` is container, product, mix, number or text."""

    name: str
    label: str
    kind: str
    unit: str = ""
    needed: bool = True


@dataclass(frozen=True, slots=True)
class Measured:
    """One way to measure a use: its words, its fields, and what goes with them unseen."""

    words: str
    help: str
    fields: tuple[Asked, ...]
    fixed: tuple[tuple[str, str], ...] = ()


CONTAINER = Asked("container", "Container label", "container")
_OUT_OF = Asked("container", "Container label, if it has one", "container", needed=False)
_PRODUCT = Asked("product", "Product", "product")

WAYS: Mapping[str, Measured] = {
    "weigh": Measured(
        "Weighed",
        "With the same cap or trigger before and after.",
        (
            CONTAINER,
            Asked("measure.gross_before", "Weight before", "number", "g"),
            Asked("measure.gross_after", "Weight after", "number", "g"),
        ),
    ),
    "pour": Measured(
        "Poured or drawn up",
        "Of concentrate, never of the mix. Another unit may follow the number.",
        (_PRODUCT, Asked("quantity", "Amount", "text", "its stock unit"), _OUT_OF),
    ),
    "spray": Measured(
        "Of a mixed batch",
        "What was used of the ready mix.",
        (
            Asked("mixed", "Mixed batch", "mix"),
            Asked("measure.sprayed", "Amount of the mix", "number", "ml"),
        ),
    ),
    "count": Measured(
        "Counted",
        "Discs, blades, pads, cloths: whole pieces or uses, or halves.",
        (_PRODUCT, Asked("quantity", "How many", "number"), _OUT_OF),
    ),
    "level": Measured(
        "By the level mark",
        "How full it was, in percent of full.",
        (
            CONTAINER,
            Asked("measure.level_before", "Before", "number", "%"),
            Asked("measure.level_after", "After", "number", "%"),
        ),
    ),
    "pump": Measured(
        "Pump strokes",
        "What one stroke gives is measured once.",
        (
            _PRODUCT,
            Asked("measure.strokes", "Strokes", "number"),
            Asked("measure.per_stroke", "Each gives", "number", "ml"),
        ),
    ),
    "standard": Measured(
        "The shop's standard amount",
        "It counts as assumed.",
        (_PRODUCT, Asked("operation", "Operation", "text")),
        (("measure.way", Way.STANDARD.value),),
    ),
}


class NotAWayToMeasure(Refused):
    """A page for a way of measuring that there is not."""

    exit_status = 2

    def __init__(self, found: str) -> None:
        """Name what was asked for and the ways there are."""
        super().__init__(
            f"{found!r} is no way to measure a use", todo=f"There are: {', '.join(WAYS)}."
        )


def way_of(name: str) -> Measured:
    """Give a way by its name. Raises NotAWayToMeasure."""
    if name not in WAYS:
        raise NotAWayToMeasure(name)
    return WAYS[name]


@pages.get("/bench/<path:stock>/use")
@needs(Right.BENCH)
def form(stock: str) -> ResponseReturnValue:
    """Show the form of a use."""
    return _page(stock, request.args.get("way", "weigh"), None)


def _page(stock: str, name: str, refused: Refused | None) -> str:
    """Draw the form, with what was typed where it was refused."""
    way = way_of(name)
    with the_book().reading() as conn:
        car, clock = car_of(conn, stock), my_clock(conn)
        near = near_of(conn, {"product", *(field.kind for field in way.fields)})
    mine = clock if clock is not None and clock.stock == stock else None
    return render_template(
        "web/bench_use.html.j2", car=car, clock=mine, way=way, name=name, ways=WAYS, near=near,
        work=_work_of(mine, car), given=request.form, finding_words=finding_words,
        refused=refused, lacks=lack_of(way, near),
    )  # fmt: skip


def lack_of(way: Measured, near: Mapping[str, Sequence[object]]) -> str:
    """Name what has to be on record before a way to measure can be used, '' where it is there."""
    kinds = [field.kind for field in way.fields if field.needed and field.kind in near]
    return next((kind for kind in ("product", *kinds) if not near[kind]), "")


def near_of(conn: Connection, kinds: set[str]) -> dict[str, list[tuple[str, str]]]:
    """Give what may be chosen, each with what it is: containers, products, mixed batches."""
    products = {each.id: each for each in reading.stored(conn, "product")}
    near = {}
    if "container" in kinds:
        held = (c for c in reading.stored(conn, "container") if c.entry.emptied_on is None)
        near["container"] = [(c.ref, products[c.entry.product].entry.name) for c in held]
    if "product" in kinds:
        near["product"] = [(p.ref, f"{p.entry.name}, in {p.entry.unit}") for p in products.values()]
    if "mix" in kinds:
        mixes = reading.stored(conn, "mixed batch")[::-1]
        near["mix"] = [
            (m.ref, f"{products[m.entry.product].entry.name}, {m.entry.mixed_on}") for m in mixes
        ]
    return near


def _work_of(clock: MyClock | None, car: Car) -> dict[str, str]:
    """Say as fields of the sheet what the clock is on, so that the entry stands by itself.

    It may wait on the device until the clock has stopped.
    """
    if clock is None:
        return {}
    entry = clock.entry
    findings = {each.id: each.ref for each in car.findings}
    with the_book().reading() as conn:
        candidate = reading.names_of(conn, [entry.candidate] if entry.candidate else [])
    said = {
        "links": "; ".join(f"{findings[link.finding]} {link.weight:f}" for link in entry.links),
        "unlinked": entry.unlinked.value if entry.unlinked else "",
        "candidate": next(iter(candidate.values()), ""),
        "panel": entry.panel or "",
        "operation": entry.operation or "",
    }
    return {field: text for field, text in said.items() if text}


@pages.post("/bench/<path:stock>/use")
@needs(Right.BENCH)
def entered(stock: str) -> ResponseReturnValue:
    """Enter a use."""
    name = sent("way", "weigh")
    try:
        used = use(
            the_book(), _row(stock, way_of(name)), author_ref=visit().person, key=sent_key(),
            priced=may(Right.MONEY),
        )  # fmt: skip
    except Refused as refused:
        shown = unpriced(refused)
        return refused_page(shown, _page(stock, name, shown))
    lines = said_of(used.result)
    return done([lines[0], used.words, *lines[1:]], url_for(".form", stock=stock, way=name))


def _row(stock: str, way: Measured) -> dict[str, str]:
    """Read the form as a row of the sheet consumables."""
    row = {"vehicle": stock, **measured_row(way)}
    with the_book().reading() as conn:
        links = chosen("finding", [each.ref for each in car_of(conn, stock).findings])
    if links:
        row["links"] = "; ".join(links)
    elif sent("for", "") == "clock":
        work = ("links", "unlinked", "candidate", "panel", "operation")
        row |= {field: sent(f"clock.{field}", "") for field in work if field not in row}
    else:
        row["unlinked"] = Unlinked.WHOLE_VEHICLE.value
    return {field: text.strip() for field, text in row.items() if text.strip()}


def measured_row(way: Measured) -> dict[str, str]:
    """Read what was measured, and when, as fields of the sheet consumables. Raises Missing."""
    row = {"work_date": day_pressed(), **dict(way.fixed)}
    for field in way.fields:
        row[field.name] = sent(field.name, None if field.needed else "", label=field.label)
    if sent("wasted", ""):
        row["use"] = "wasted"
    return {field: text.strip() for field, text in row.items() if text.strip()}
