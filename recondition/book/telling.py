"""What is said about a record at once, because whoever enters it still stands at the car."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from recondition.amounts import Quantity
from recondition.book.booking import day_booked
from recondition.condition.custody import STOP, STOP_WORDS, CustodyItem
from recondition.condition.defects import material_named
from recondition.condition.film import FilmReading, figures, in_mil, shown
from recondition.condition.findings import Finding
from recondition.condition.gloss import GlossReading, asks_for_20
from recondition.condition.water import (
    DropReading,
    WaterHardness,
    drops,
    hardness_class,
    meaning,
    names,
    spot_risk,
)
from recondition.ledger.codec import PlainDict, encode_fields, words_of
from recondition.ledger.lines import Count, Entered, Reversal, document_day
from recondition.ledger.periods import month_of
from recondition.materials.counts import Verdict, less, verdict
from recondition.materials.stock import Flow, Movement


def late_of(entry: Any, priced: PlainDict) -> tuple[str, ...]:  # noqa: ANN401 - any entry class
    """Say that something went to a later period than its own day's, which is closed."""
    period = priced.get("period")
    if not isinstance(period, str) or getattr(entry, "period", None) is not None:
        return ()
    lines = isinstance(entry, Entered | Reversal)
    day = document_day(entry) if lines else day_booked(entry)
    own = month_of(day)
    return (f"period {own} is closed: booked in {period}",) if own < period else ()


def counted_of(entry: Any, movement: Movement, unit: str) -> tuple[str, ...]:  # noqa: ANN401 - as above
    """Say that a count found more than twice what the book had, which may be a slip.

    ``unit`` is the product's. What is within the tolerance of a count is no slip.
    """
    if not isinstance(entry, Count) or movement.flow is not Flow.COUNT_GAIN:
        return ()
    before, found = less(movement.on_hand, movement.quantity), movement.on_hand
    if found <= before + before:
        return ()
    if verdict(before, found, unit) is not Verdict.LOOK_INTO:
        return ()
    had, there = Quantity(before, unit), Quantity(found, unit)
    return (f"the book had {had}, and {there} were found: was it counted in that unit?",)


def left_out_of(before: Mapping[str, Any], entry: Any) -> tuple[str, ...]:  # noqa: ANN401 - as above
    """Say which fields a new version leaves empty that the version before has filled.

    ``before`` is that version's payload. Somebody may have meant another record.
    """
    now = {*encode_fields(entry), *words_of(entry)}
    there = [
        *before["entry"],
        *(field for field in before["texts"] if field not in ("ref", "file")),
    ]
    gone = [field.replace("_", " ") for field in there if field not in now]
    if not gone:
        return ()
    return (f"the version before also had: {', '.join(gone)}. It stays on record.",)


def said_of(entry: Any) -> tuple[str, ...]:  # noqa: ANN401, PLR0911 - one arm a kind of entry
    """Say what follows from a reading, a finding or a thing in custody."""
    match entry:
        case FilmReading():
            return (film_words(entry),)
        case GlossReading():
            return (gloss_words(entry),)
        case DropReading():
            return (drop_words(entry),)
        case WaterHardness():
            found = hardness_class(entry.mg_l)
            return (f"{entry.mg_l:.1f} mg/l as CaCO3, {found} (USGS): {spot_risk(entry.mg_l)}.",)
        case Finding():
            material = material_named(entry.material)
            return (f"{material.name}: {material.do_not}.",) if material else ()
        case CustodyItem() if entry.item_class in STOP:
            return (STOP_WORDS,)
    return ()


def film_words(reading: FilmReading) -> str:
    """Give the figures of a set of film readings in both units."""
    found = figures(reading.in_um)
    spread = f", sd {shown(found.deviation_um)}" if found.deviation_um is not None else ""
    few = "" if found.count >= 5 else "; five readings or more are usual"  # noqa: PLR2004
    return (
        f"total film: lowest {shown(found.lowest_um)} um ({in_mil(found.lowest_um)} mil), mean "
        f"{shown(found.mean_um)} um ({in_mil(found.mean_um)} mil){spread}, {found.count} "
        f"readings{few}."
    )


def gloss_words(reading: GlossReading) -> str:
    """Give the mean gloss with its angle, and ask for 20 degrees where that tells more."""
    ask = (
        " Read it at 20 degrees too: above 70 units, 60 degrees no longer tells surfaces apart."
        if asks_for_20(reading)
        else ""
    )
    return f"gloss: mean {reading.mean:.1f} {reading.unit}, {len(reading.readings)} readings.{ask}"


def drop_words(reading: DropReading) -> str:
    """Give the angle of drops, its names in both conventions, and what it means."""
    found = drops(reading.heights, reading.widths)
    named = "; ".join(f"{name} {how}" for how, name in names(found.mean_deg).items())
    return (
        f"{found.mean_deg:.1f} degrees, spread {found.margin_deg:.1f}, {found.count} drops "
        f"({named}): {meaning(found)}"
    )
