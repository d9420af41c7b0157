"""What a record of the condition bench must satisfy against the book before it is chained."""

from __future__ import annotations

from typing import Any

from recondition.book.context import Context, NotThere
from recondition.condition.custody import CustodyMove, check_move
from recondition.condition.film import FilmReading, Instrument, check_floor
from recondition.condition.findings import Ended, Finding, NothingMovedIt, Outcome
from recondition.condition.gloss import GlossReading
from recondition.condition.identification import SurfaceTest
from recondition.condition.panels import Panel, check_one
from recondition.condition.vehicle import Vehicle
from recondition.condition.water import DropReading, WaterHardness
from recondition.ledger.documents import Document, check_pair

_BY_WORK = (Ended.RESOLVED, Ended.PARTLY_RESOLVED)


def admit(context: Context, entry: Any) -> None:  # noqa: ANN401 - any entry class
    """Refuse a reading, test, picture, movement or outcome that cannot be.

    Raises what the entries' own checks name, NotAPair, what ``check_move`` names and
    NothingMovedIt.
    """
    if isinstance(entry, FilmReading | GlossReading | DropReading):
        check_one(entry.panel)
    match entry:
        case Vehicle():
            check_floor(entry.film_floor)
        case Panel():
            entry.check()
            check_floor(entry.film_floor)
        case Finding() | Instrument() | GlossReading() | DropReading():
            entry.check()
        case WaterHardness() | SurfaceTest():
            entry.check()
        case Document():
            _check_document(context, entry)
        case CustodyMove():
            check_move(*context.custody(entry.item), entry)
        case Outcome() if entry.ended in _BY_WORK and not entry.decided:
            if not context.worked_on(entry.finding, entry.ended_on):
                raise NothingMovedIt(entry.ended)


def _check_document(context: Context, entry: Document) -> None:
    """Refuse an offset that is no time; hold two pictures of a pair against each other."""
    if entry.camera_ahead is not None:
        entry.camera_ahead.to("min")
    if entry.before is None:
        return
    try:
        before: Document = context.entry("document", str(entry.before))
    except NotThere:  # it stands further down in the same import
        return
    check_pair(entry, before)
