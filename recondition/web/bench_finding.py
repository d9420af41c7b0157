"""A finding by tapping a panel on the map, with photographs straight from the camera."""

from __future__ import annotations

from typing import TYPE_CHECKING

from flask import Blueprint, render_template, request, url_for

from recondition.book import reading
from recondition.book.roles import Right
from recondition.condition.defects import MATERIALS
from recondition.condition.findings import SEVERITY_WORDS, Stage
from recondition.condition.panels import PANELS, Finish, area_of
from recondition.errors import Refused
from recondition.web import bench_photographs as shots
from recondition.web.bench_shared import car_of, day_pressed, sent_key
from recondition.web.entry import done, refused_page
from recondition.web.forms import Missing, post_row, said_of, sent
from recondition.web.visit import needs, the_book

if TYPE_CHECKING:
    from flask.typing import ResponseReturnValue

    from recondition.book import Connection
    from recondition.condition.defects import Material
    from recondition.web.bench_shared import Car

pages = Blueprint("bench_finding", __name__)

_PAINT = {
    Finish.SINGLE_STAGE: "single-stage paint",
    Finish.LACQUER: "lacquer or cellulose paint",
    Finish.BASE_CLEAR: "clear-coat paint",
}
_USUAL = "clear-coat paint"
_UNSAID = "paint"
"""What stands before a word of the first block: paint of a system that nobody has named."""
_NUMBERED = {str(number): material for number, material in enumerate(MATERIALS)}
_OF_PAINT = {word for each in MATERIALS if each.name in _PAINT.values() for word in each.defects}
_OWN = ("spot", "extent", "words", "lamp", "private_note", "distance")


@pages.get("/bench/<path:stock>/finding")
@needs(Right.BENCH)
def form(stock: str) -> ResponseReturnValue:
    """Show the map to tap, the words of the trade and the scale of severity."""
    return _page(stock, None)


def _page(stock: str, refused: Refused | None) -> str:
    """Draw the form, with what was chosen where it was refused."""
    with the_book().reading() as conn:
        car = car_of(conn, stock)
        paint = _paint_of(conn, car)
        begun = bool(reading.stored(conn, "labour", vehicle=car.stored.id))
    ordered = sorted(MATERIALS, key=lambda material: material.name != paint)
    return render_template(
        "web/bench_finding.html.j2", car=car, materials=ordered, severities=SEVERITY_WORDS,
        stages=tuple(Stage), stage=Stage.DURING_WORK if begun else Stage.ARRIVAL,
        areas=tuple(PANELS), number_of=MATERIALS.index, paint=_UNSAID, given=request.form,
        refused=refused,
    )  # fmt: skip


def _paint_of(conn: Connection, car: Car) -> str:
    """Say which paint the car mostly has, as far as its panels are on record."""
    panels = reading.stored(conn, "panel", vehicle=car.stored.id)
    known = [_PAINT[p.entry.finish] for p in panels if p.entry.finish in _PAINT]
    return max(set(known), key=known.count) if known else _USUAL


@pages.post("/bench/<path:stock>/finding")
@needs(Right.BENCH)
def entered(stock: str) -> ResponseReturnValue:
    """Enter a finding and its photographs; nothing where one of the pictures is none."""
    try:
        with shots.laid_out() as taken:
            with the_book().reading() as conn:
                car = car_of(conn, stock)
                row = _row(conn, car)
            result = post_row("findings", row, key=sent_key())
            entry = result.draft.entry
            given = {
                "vehicle": stock, "finding": result.draft.ref, "panel": entry.panel,
                "title": shots.title_of(f"{entry.panel}: {entry.defect}"),
            }  # fmt: skip
            kept = shots.post(taken, given, sent_key())
    except Refused as refused:
        return refused_page(refused, _page(stock, refused))
    lines = said_of(result)
    lines += [line for each in kept for line in said_of(each)]
    return done(lines, url_for(".form", stock=stock))


def _row(conn: Connection, car: Car) -> dict[str, str]:
    """Read the form as a row of the sheet findings. Raises Missing."""
    panel = sent("panel_typed", "").strip() or sent("panel", "")
    if not panel:
        raise Missing(name="panel", label="Panel")
    material, defect = _defect()
    row = {"vehicle": car.stock, "panel": panel, "defect": defect, "found_on": day_pressed()}
    row |= {field: sent(field, "").strip() for field in ("severity", "stage", *_OWN)}
    if area_of(panel) is None:
        row["area"] = sent("area", "")
    if material is not None and not _finish_known(conn, car, panel):
        row["material"] = material.name
    return {field: text for field, text in row.items() if text}


def _defect() -> tuple[Material | None, str]:
    """Give the defect, and the material where one was chosen with it. Raises Missing."""
    typed = sent("defect_typed", "").strip()
    number, _, word = sent("defect", "").partition(" ")
    material = _NUMBERED.get(number)
    known = material.defects if material else _OF_PAINT if number == _UNSAID else ()
    if word not in known:
        material, word = None, ""
    if not typed and not word:
        raise Missing(name="defect", label="What is wrong")
    return material, typed or word


def _finish_known(conn: Connection, car: Car, panel: str) -> bool:
    """Tell whether a panel's own finish is on record, from which its material follows."""
    panels = reading.stored(conn, "panel", vehicle=car.stored.id)
    return any(p.entry.panel == panel and p.entry.finish is not Finish.UNKNOWN for p in panels)
