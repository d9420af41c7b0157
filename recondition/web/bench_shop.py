"""At the bench and for no car: a use for the shop itself, and a container that is thrown away."""

from __future__ import annotations

from typing import TYPE_CHECKING

from flask import Blueprint, render_template, request, url_for

from recondition.book.roles import Right
from recondition.errors import Refused
from recondition.intake.bench import scrap, use
from recondition.web.bench_shared import day_pressed, sent_key, unpriced
from recondition.web.bench_use import CONTAINER, WAYS, lack_of, measured_row, near_of, way_of
from recondition.web.entry import done, refused_page
from recondition.web.forms import said_of, sent
from recondition.web.visit import may, needs, the_book, visit

if TYPE_CHECKING:
    from flask.typing import ResponseReturnValue

    from recondition.intake.bench import Used

pages = Blueprint("bench_shop", __name__)

FOR_SHOP = "shop"


@pages.get("/bench/use")
@needs(Right.BENCH)
def form() -> ResponseReturnValue:
    """Show the form of a use for no car, and that of a container which is thrown away."""
    return _page(request.args.get("way", "weigh"))


def _page(name: str, refused: Refused | None = None, *, thrown: bool = False) -> str:
    """Draw both forms, with what was typed in the one that was refused."""
    way = way_of(name)
    with the_book().reading() as conn:
        near = near_of(conn, {"container", "product", *(field.kind for field in way.fields)})
    return render_template(
        "web/bench_shop.html.j2", way=way, name=name, ways=WAYS, near=near, refused=refused,
        given={} if thrown else request.form, scrapped=request.form if thrown else {},
        thrown=thrown, container=CONTAINER, lacks=lack_of(way, near),
    )  # fmt: skip


@pages.post("/bench/use")
@needs(Right.BENCH)
def entered() -> ResponseReturnValue:
    """Enter a use for no car."""
    name = sent("way", "weigh")
    try:
        used = use(
            the_book(), {**measured_row(way_of(name)), "for_shop": "yes"},
            author_ref=visit().person, key=sent_key(), priced=may(Right.MONEY),
        )  # fmt: skip
    except Refused as refused:
        shown = unpriced(refused)
        return refused_page(shown, _page(name, shown))
    return done(_told(used), url_for(".form", way=name))


@pages.post("/bench/scrap")
@needs(Right.BENCH)
def thrown_away() -> ResponseReturnValue:
    """Throw a container away; what was left in it is wasted, on the car of its last use or none."""
    given = {"work_date": day_pressed()}
    if sent("for", "") == FOR_SHOP:
        given["for_shop"] = "yes"
    try:
        label, why = sent("container", label=CONTAINER.label), sent("why", label="Why")
        label = label.strip()
        used = scrap(
            the_book(), label, why.strip(), rest=sent("rest", "").strip() or None,
            given=given, author_ref=visit().person, key=sent_key(), priced=may(Right.MONEY),
        )  # fmt: skip
    except Refused as refused:
        shown = unpriced(refused)
        return refused_page(shown, _page("weigh", shown, thrown=True))
    return done([*_told(used), f"container {label}: emptied"], url_for(".form"))


def _told(used: Used) -> list[str]:
    """Say what was entered, and what it comes to."""
    lines = said_of(used.result)
    return [lines[0], used.words, *lines[1:]]
