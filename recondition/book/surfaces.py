"""Surfaces: what a book knows of a vehicle's panels and work, read once and kept up to date."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from sqlalchemy import Connection, select

from recondition.book import reading
from recondition.book.context import Context
from recondition.book.kinds import LINE_KINDS
from recondition.book.tables import entity, record, vehicle
from recondition.condition.bodies import Body, PanelNotOnBody, body_of
from recondition.condition.film import FilmReading, Instrument, check_reading, um
from recondition.condition.order import WorkRule, in_force
from recondition.condition.panels import Panel, Substrate
from recondition.condition.vehicle import Vehicle
from recondition.ledger.documents import Document, DocumentKind
from recondition.ledger.drafts import Stored
from recondition.ledger.jobsheet import JobSheet, Verdict, concerns
from recondition.ledger.lines import LineEntry, Reversal
from recondition.ledger.planned import stops_of
from recondition.worth.estimates import Candidate

_OF_SHOP = ("instrument", "product", "work rule")
# Job sheets of so many records are at hand at a time (about 1 KB each): memory stays bounded, and
# a sheet is seldom read twice while work goes round the vehicles of a shop.
RECORDS_MAX = 100_000
# What changes no job sheet, or is noted in it as it comes.
_FOLLOWED = ("movement", "document")
_NOTED = (
    "panel",
    "finding",
    "film reading",
    "gloss reading",
    "drop reading",
    "surface test",
    "document",
    *LINE_KINDS,
)
SHEET_KINDS = ("vehicle", "candidate", *_NOTED)
"""What a vehicle's own records bring to its job sheet."""


def body_style(conn: Connection, vehicle_id: str) -> Body:
    """Give what a vehicle's body style says; everything is on where it has none."""
    query = (
        select(vehicle.c.body_style)
        .join(entity, entity.c.current == vehicle.c.record_id)
        .where(entity.c.id == vehicle_id)
    )
    return body_of(conn.execute(query).scalar())


Shop = Mapping[str, list[Any]]


def _shop_of(conn: Connection) -> Shop:
    """Read what holds for the surfaces of every vehicle: instruments, products, own rules."""
    return reading.by_kind(reading.stored(conn, *_OF_SHOP), _OF_SHOP)


def job_sheet(
    conn: Connection,
    vehicle_id: str,
    shop: Shop | None = None,
    records: Sequence[Stored[Any]] | None = None,
) -> JobSheet:
    """Read what is known of one vehicle's surfaces and of the work on them.

    Records count in the order of their recording; a line that was taken back does not count.
    ``shop`` is what holds for every vehicle, and ``records`` are the vehicle's, of SHEET_KINDS
    and perhaps of others, where they are at hand.
    """
    if records is None:
        records = reading.stored(conn, *SHEET_KINDS, vehicle=vehicle_id)
    own = reading.by_kind(records, SHEET_KINDS)
    entry: Vehicle | None = own["vehicle"][0].entry if own["vehicle"] else None
    floor = reading.settings_of(conn).film_floor_um
    if entry is not None and entry.film_floor is not None:
        floor = um(entry.film_floor)
    if shop is None:
        shop = _shop_of(conn)
    sheet = JobSheet(
        body=body_of(entry.body_style if entry else None),
        floor_um=floor,
        rules=in_force({item.ref: item.entry for item in shop["work rule"]}),
        instruments=_by_id(shop["instrument"]),
        candidates=_by_id(own["candidate"]),
        products=_by_id(shop["product"]),
        names={item.id: item.ref for item in shop["product"]},
    )
    noted = (item for item in records if item.kind in _NOTED)
    for item in sorted(noted, key=lambda each: each.sequence):
        if item.reversed_by is None and not isinstance(item.entry, Reversal):
            sheet.note(item.ref, item.entry, item.sequence)
    return sheet


def _by_id(found: list[Any]) -> dict[str, Any]:
    """Give entries by their records' ids."""
    return {item.id: item.entry for item in found}


class Surfaces:
    """Job sheets of the vehicles that one transaction writes about."""

    def __init__(self, conn: Connection, context: Context, flush: Callable[[], None]) -> None:
        """Read through one connection; ``flush`` brings what waits into the book first."""
        self._conn = conn
        self._context = context
        self._flush = flush
        self._sheets: dict[str, JobSheet] = {}
        self._orders: dict[str, int] = {}
        self._rules: Mapping[str, WorkRule] | None = None
        self._shop: Shop | None = None

    def judge(self, entry: Any) -> Verdict:  # noqa: ANN401 - any entry class
        """Refuse a panel that the body has not, or a film reading that cannot be; judge the rest.

        Raises PanelNotOnBody and what ``condition.film`` names.
        """
        vehicle_id = getattr(entry, "vehicle", None)
        if not vehicle_id:
            return Verdict()
        if isinstance(entry, LineEntry):
            return self._line(str(vehicle_id), entry)
        panel = getattr(entry, "panel", None)
        if panel:
            body = body_style(self._conn, str(vehicle_id))
            if not body.has(panel):
                raise PanelNotOnBody(panel, self._style(str(vehicle_id)))
        if isinstance(entry, Candidate) and (entry.film_removal or entry.products):
            return Verdict(told=tuple(stops_of(self._sheet(str(vehicle_id)), "", entry)))
        if isinstance(entry, Document) and entry.kind is DocumentKind.PHOTOGRAPH:
            return self._sheet(str(vehicle_id)).judge_photograph(entry)
        if isinstance(entry, FilmReading):
            self._flush()
            instrument: Instrument = self._context.entry("instrument", entry.instrument)
            check_reading(entry, instrument, self._substrate(entry))
        return Verdict()

    def _line(self, vehicle_id: str, entry: LineEntry) -> Verdict:
        """Judge a line against its vehicle's job sheet, where that has anything to say."""
        product_id = getattr(entry, "product", None)
        product = self._context.product(product_id) if product_id else None
        if not concerns(entry, self._in_force(), product):
            return Verdict()
        sheet = self._sheet(vehicle_id)
        return sheet.judge(entry, self._orders[vehicle_id])

    def note(self, ref: str, entry: Any) -> None:  # noqa: ANN401 - any entry class
        """Keep a job sheet true while a batch is posted."""
        if isinstance(entry, Reversal):
            self._sheets.clear()
            return
        sheet = self._sheets.get(str(getattr(entry, "vehicle", "")))
        if sheet is not None and isinstance(entry, LineEntry | Document):
            vehicle_id = str(entry.vehicle)
            sheet.note(ref, entry, self._orders[vehicle_id])
            self._orders[vehicle_id] += 1

    def forget(self, kind: str) -> None:
        """Forget all job sheets where something other than a line may have changed them."""
        if kind not in (*LINE_KINDS, *_FOLLOWED):
            self._sheets.clear()
        if kind in _OF_SHOP:
            self._rules = self._shop = None

    def _sheet(self, vehicle_id: str) -> JobSheet:
        """Give a vehicle's job sheet, read where it is not at hand."""
        if vehicle_id in self._sheets:
            self._sheets[vehicle_id] = self._sheets.pop(vehicle_id)  # the last one to go
        else:
            self._flush()
            if self._shop is None:
                self._shop = _shop_of(self._conn)
            self._make_room()
            self._sheets[vehicle_id] = job_sheet(self._conn, vehicle_id, self._shop)
            last = select(record.c.sequence).where(record.c.subject == f"vehicle:{vehicle_id}")
            newest = self._conn.execute(last.order_by(record.c.sequence.desc()).limit(1)).scalar()
            self._orders[vehicle_id] = int(newest or 0) + 1
        return self._sheets[vehicle_id]

    def _make_room(self) -> None:
        """Let go of the job sheets that were asked for least lately where there are too many."""
        records = sum(self._orders[each] for each in self._sheets)
        while records > RECORDS_MAX:
            oldest = next(iter(self._sheets))
            records -= self._orders[oldest]
            del self._sheets[oldest]

    def _in_force(self) -> Mapping[str, WorkRule]:
        """Give the rules of the order of work, read once."""
        if self._rules is None:
            self._flush()
            own = {item.ref: item.entry for item in reading.stored(self._conn, "work rule")}
            self._rules = in_force(own)
        return self._rules

    def _style(self, vehicle_id: str) -> str:
        """Give the vehicle's own words for its body style."""
        entry: Vehicle = self._context.entry("vehicle", vehicle_id)
        return entry.body_style or "body of this style"

    def _substrate(self, entry: FilmReading) -> Substrate:
        """Give what a panel is made of, unknown where nobody recorded it."""
        panels: Mapping[str, Panel] = {
            item.entry.panel: item.entry
            for item in reading.stored(self._conn, "panel", vehicle=entry.vehicle)
        }
        found = panels.get(entry.panel)
        return found.substrate if found else Substrate.UNKNOWN
