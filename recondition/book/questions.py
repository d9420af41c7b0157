"""What the pure rooms ask for, put together from a book: one function a question."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import Connection

from recondition.book import reading
from recondition.book.context import NotThere
from recondition.book.planning import owner_facts, shop_of, used_of
from recondition.book.surfaces import SHEET_KINDS, job_sheet
from recondition.condition.bodies import completed
from recondition.condition.film import Headroom
from recondition.condition.vehicle import Vehicle
from recondition.errors import Refused
from recondition.ledger.drafts import Stored
from recondition.ledger.planned import film_of, stops_of
from recondition.worth.question import Question
from recondition.worth.sales import Comparable, PriceIs, feature_values


class NoTerms(Refused):
    """A vehicle has no sale terms, so nothing can be weighed."""

    def __init__(self, ref: str) -> None:
        """Name the vehicle."""
        super().__init__(
            f"vehicle {ref} has no sale terms, so its work cannot be weighed",
            todo="Fill the sheet 'terms' for it, or use 'recondition terms set'.",
        )


class MixedPrices(Refused):
    """Comparables speak of the hammer and of all-in prices."""

    def __init__(self, ref: str, found: str, others: str) -> None:
        """Name the row and the two prices."""
        super().__init__(
            f"comparable {ref} is an {found} price and others are {others} prices",
            todo="Enter all of them on one price; the premium lies between them.",
        )


def vehicle_of(conn: Connection, ref: str) -> Stored[Vehicle]:
    """Give a vehicle by its stock number. Raises NotThere."""
    return reading.one(conn, "vehicle", ref)


def question_of(conn: Connection, vehicle: Stored[Vehicle], at: datetime | None = None) -> Question:
    """Give what bears on the decision for one vehicle. Raises NoTerms.

    ``at`` is the moment of the shop's wall clock from which work can be laid out in time;
    without one the cut-off is no wall.
    """
    kinds = (*SHEET_KINDS, "interaction", "terms")
    everything = reading.stored(conn, *kinds, vehicle=vehicle.id)
    records = reading.by_kind(everything, kinds)
    if not records["terms"]:
        raise NoTerms(vehicle.ref)
    settings = reading.settings_of(conn)
    sheet = job_sheet(conn, vehicle.id, records=everything)
    candidates = {item.id: item.entry for item in records["candidate"]}
    stops = {item: next(iter(stops_of(sheet, item, each)), "") for item, each in candidates.items()}
    room, takes = film_of(sheet, candidates)
    refs = {item.id: item.ref for item in records["candidate"]}
    return Question(
        candidates=candidates,
        refs=refs,
        interactions=tuple(item.entry for item in records["interaction"]),
        terms=records["terms"][-1].entry,
        holding=vehicle.entry.holding,
        mean_rule=settings.mean_rule,
        indifference=settings.indifference,
        no_touch_panels=frozenset(p.entry.panel for p in records["panel"] if p.entry.no_touch),
        stopped={item: why for item, why in stops.items() if why},
        film_room=room,
        film_takes=takes,
        shop=shop_of(conn, settings),
        begin=at,
        used=used_of(reading.lines_among(everything), vehicle.entry.holding),
        irreversible_bar=settings.irreversible_bar,
        **owner_facts(conn, vehicle, refs),
    )


def comparables_of(
    conn: Connection, vehicle: Stored[Vehicle]
) -> tuple[list[Comparable], dict[str, str], list[tuple[str, Comparable]]]:
    """Give the sales to fit, the vehicle's own features, and every row by its ref.

    Prices on the other basis than that of the newest terms, or the first row's, are refused.
    Raises MixedPrices.
    """
    rows = [(each.ref, each.entry) for each in reading.stored(conn, "comparable",
                                                              vehicle=vehicle.id)]  # fmt: skip
    own: dict[str, str] = {}
    for _, row in rows:
        if row.price_is is PriceIs.THIS:
            own |= feature_values(row.features)
    sales = [(ref, row) for ref, row in rows if row.price_is is PriceIs.SALE and row.price]
    for ref, row in sales:
        if row.basis is not sales[0][1].basis:
            raise MixedPrices(ref, row.basis.value, sales[0][1].basis.value)
    return [row for _, row in sales], own, rows


def headroom_of(conn: Connection, vehicle_ref: str, panel: str) -> Headroom | str:
    """Give a panel's headroom now, or in words why nobody knows it. Raises NotThere."""
    sheet = job_sheet(conn, vehicle_of(conn, vehicle_ref).id)
    named = completed(panel, sheet.body)
    return sheet.room(named) or sheet.unknown_room(named)


def vehicles(conn: Connection, refs: tuple[str, ...] = ()) -> list[Stored[Vehicle]]:
    """List the vehicles named, or all of them by stock number. Raises NotThere."""
    ids = list(reading.ids_by_ref(conn, "vehicle", refs).values()) if refs else None
    found = {item.ref: item for item in reading.stored(conn, "vehicle", ids=ids)}
    absent = [ref for ref in refs if ref not in found]
    if absent:
        raise NotThere(what="vehicle", name=absent[0])
    return [found[ref] for ref in (refs or sorted(found))]
