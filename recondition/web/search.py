"""Finding things by a word: stock numbers, chassis, panels, documents, products, lines."""

from __future__ import annotations

from typing import TYPE_CHECKING

from flask import Blueprint, redirect, render_template, request

from recondition.book import finding_names, reading
from recondition.book.kinds import KINDS
from recondition.web import permits
from recondition.web.linked import vehicle_at
from recondition.web.record_view import documents_seen
from recondition.web.rows import address_of
from recondition.web.visit import needs, the_book, visit

if TYPE_CHECKING:
    from collections.abc import Iterable

    from flask.typing import ResponseReturnValue

    from recondition.book import Connection
    from recondition.book.finding_names import Group
    from recondition.book.roles import Right

pages = Blueprint("search", __name__)

# Those that people look for come first.
_FIRST = ("vehicle", "finding", "candidate", "product", "document", "labour", "part", "consumable")


def order_of_kinds(rights: Iterable[Right]) -> list[str]:
    """Give the kinds that some rights are enough to see, those looked for most at first."""
    held = set(rights)
    names = [*_FIRST, *(name for name in KINDS if name not in _FIRST)]
    return [str(name) for name in names if permits.may_see(name, held)]


def found(conn: Connection, typed: str, rights: Iterable[Right]) -> list[Group]:
    """Look a text up for whoever has some rights; nothing else comes up."""
    held = frozenset(rights)
    words = permits.words_seen(held)
    groups = finding_names.search(conn, typed, words, order_of_kinds(held))
    seen = [_seen(conn, group, held) for group in groups]
    return [group for group in seen if group.hits]


def _seen(conn: Connection, group: Group, held: frozenset[Right]) -> Group:
    """Keep of kept files those that may be seen."""
    if group.kind != "document":
        return group
    seen = documents_seen(conn, {hit.ref for hit in group.hits}, held)
    hits = tuple(hit for hit in group.hits if hit.ref in seen)
    if len(hits) == len(group.hits):
        return group
    return finding_names.Group(group.kind, hits, len(hits))


def subjects(conn: Connection, groups: Iterable[Group]) -> dict[str, str]:
    """Name the vehicle or product that each hit is about, by its chain."""
    chains = {hit.subject for group in groups for hit in group.hits if ":" in hit.subject}
    ids = {chain.partition(":")[2]: chain for chain in chains}
    names = reading.names_of(conn, ids)
    return {chain: f"{chain.partition(':')[0]} {names.get(own, '')}" for own, chain in ids.items()}


@pages.get("/search")
@needs()
def search() -> ResponseReturnValue:
    """Show what was found; one vehicle by its whole stock number is opened at once.

    With ``all=1`` it is listed instead, with the documents that are kept of it.
    """
    typed = finding_names.tidied(request.args.get("q", ""))
    whole = request.args.get("all") == "1"
    with the_book().reading() as conn:
        groups = found(conn, typed, visit().rights)
        stock = reading.ids_by_ref(conn, "vehicle", [typed]) if typed else {}
        if whole and stock:
            groups += _papers(conn, stock[typed], groups)
        about = subjects(conn, groups)
    if stock and len(groups) == 1 and not whole:
        return redirect(vehicle_at(typed))
    return render_template(
        "web/search.html.j2", typed=typed, groups=groups, about=about, address_of=address_of,
        vehicle_at=vehicle_at,
    )  # fmt: skip


def _papers(conn: Connection, vehicle: str, groups: Iterable[Group]) -> list[Group]:
    """Give the documents kept of a vehicle that may be seen, those left out that are listed."""
    there = {hit.ref for group in groups if group.kind == "document" for hit in group.hits}
    made = reading.stored(conn, "document", vehicle=vehicle)
    seen = documents_seen(conn, [each.ref for each in made], visit().rights)
    hits = tuple(
        finding_names.Hit("document", each.ref, each.subject, "title", each.entry.title)
        for each in made
        if each.ref in seen - there
    )
    return [finding_names.Group("document", hits, len(hits))] if hits else []
