"""What the bookkeeper's workbook is made from, read from the book in one consistent state."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from recondition.accounts.summary import Summary, summarise
from recondition.book import Connection, reading
from recondition.book.kinds import KINDS
from recondition.book.settings import Settings
from recondition.condition.vehicle import Holding
from recondition.ledger.chain import Head
from recondition.ledger.drafts import Stored
from recondition.ledger.rollup import Piece, pieces


@dataclass(frozen=True, slots=True, kw_only=True)
class BooksData:
    """Records for the workbook. ``refs`` gives the user's name of any record by its id.

    ``hashes`` gives each record's hash by its id; ``made_at`` has its zone.
    """

    settings: Settings
    vehicles: tuple[Stored[Any], ...]
    findings: tuple[Stored[Any], ...]
    outcomes: tuple[Stored[Any], ...]
    lines: tuple[Stored[Any], ...]
    products: tuple[Stored[Any], ...]
    movements: tuple[Stored[Any], ...]
    pieces: tuple[Piece, ...]
    summaries: tuple[Summary, ...]
    heads: tuple[Head, ...]
    refs: Mapping[str, str]
    hashes: Mapping[str, str]
    made_at: datetime


def books_data(conn: Connection, *, made_at: datetime) -> BooksData:
    """Read what the workbook shows of the whole book."""
    settings = reading.settings_of(conn)
    vehicles = tuple(sorted(reading.stored(conn, "vehicle"), key=lambda item: item.ref))
    findings = tuple(reading.stored(conn, "finding"))
    stock = {item.subject: item.ref for item in vehicles}
    lines = tuple(
        sorted(
            reading.lines(conn),
            key=lambda line: (line.subject not in stock, stock.get(line.subject), line.sequence),
        )
    )
    cut = pieces(lines, {item.id: item.entry for item in findings})
    consigned = {item.id: item.entry.holding is Holding.CONSIGNED for item in vehicles}

    products = tuple(sorted(reading.stored(conn, "product"), key=lambda item: item.ref))
    place = {item.id: number for number, item in enumerate(products)}
    return BooksData(
        settings=settings,
        vehicles=vehicles,
        findings=findings,
        outcomes=tuple(reading.stored(conn, "outcome")),
        lines=lines,
        products=products,
        movements=tuple(
            sorted(
                reading.stored(conn, "movement"),
                key=lambda item: (place[item.entry.product], item.sequence),
            )
        ),
        pieces=cut,
        summaries=summarise(cut, consigned, settings.currency),
        heads=tuple(reading.heads(conn)),
        refs=reading.refs_by_id(conn, tuple(KINDS)),
        hashes=reading.hashes(conn),
        made_at=made_at,
    )
