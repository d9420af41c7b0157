"""The lines of the invented vehicle: all kinds, one spoiled, one reversed, some that never show."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any

from recondition.amounts import Money, Quantity
from recondition.fields import Id, Words
from recondition.ledger.drafts import Stored
from recondition.ledger.lines import (
    Charge,
    Consumable,
    Labour,
    Link,
    Origin,
    Part,
    PartState,
    Purpose,
    Reversal,
    Standing,
    Sublet,
    Unlinked,
)
from tests.history.storing import CAR, stored

USD = "USD"


def _line(day: date, words: str, *found: str, **more: Any) -> dict[str, Any]:
    """Give the fields that every line has."""
    more.setdefault("purpose", Purpose.RECONDITIONING)
    return {
        "vehicle": CAR,
        "work_date": day,
        "words": Words(words),
        "links": tuple(Link(Id(name)) for name in found),
        "standing": Standing.MEASURED,
        **more,
    }


def _hours(number: str, line: dict[str, Any]) -> Labour:
    """Make a labour line of the shop's own person."""
    return Labour(person=Id("p-1"), quantity=Quantity.of(number, "h"), **line)


def _decals(day: date, words: str, state: PartState, **more: Any) -> Part:
    """Make a pair of side decals."""
    return Part(
        quantity=Quantity(Decimal(1), "pair"),
        price=Money.of("185.00", USD),
        origin=Origin.REPRODUCTION,
        part_state=state,
        part_name=Words("side stripe decals"),
        supplier=Id("s-1"),
        invoice_number="7741",
        **_line(day, words, "f-stripe", **more),
    )


def lines() -> tuple[Stored[Any], ...]:
    """All kinds of line: work, a spoiled set and its replacement, one reversed, a charge."""
    polish = _line(date(2025, 4, 16), "", "f-bonnet", operation="machine polishing, two steps")
    told: tuple[tuple[str, Any, dict[str, Any]], ...] = (
        (
            "labour",
            _hours("3.5", polish | {"words": Words("Cut with a foam pad, then refined.")}),
            {},
        ),
        (
            "consumable",
            Consumable(
                product=Id("prod-1"),
                quantity=Quantity(Decimal(35), "g"),
                price=Money.of("24.00", USD),
                price_per=Quantity(Decimal(250), "g"),
                receipt=Id("rc-1"),
                **(polish | {"words": Words("second step only")}),
            ),
            {},
        ),
        (
            "labour",
            _hours("9", _line(date(2025, 4, 17), "Typed nine hours for one.", "f-wing")),
            {"reversed_by": "l-3"},
        ),
        (
            "reversal",
            Reversal(
                vehicle=CAR,
                reverses=Id("l-2"),
                work_date=date(2025, 4, 17),
                why=Words("Hours mistyped."),
            ),
            {"reverses": "l-2"},
        ),
        (
            "labour",
            _hours(
                "2",
                _line(date(2025, 4, 22), "Chips filled with a fine brush and cut flat.", "f-wing"),
            ),
            {"at": "2025-05-05T08:15:00+02:00"},
        ),
        (
            "sublet",
            Sublet(
                price=Money.of("140.00", USD),
                supplier=Id("s-2"),
                **_line(date(2025, 5, 2), "Seam sewn again through the old holes.", "f-seat"),
            ),
            {},
        ),
        (
            "part",
            _decals(
                date(2025, 5, 6),
                "First decal set tore at the door gap while being fitted",
                PartState.SPOILED,
                purpose=Purpose.SPOILAGE,
            ),
            {},
        ),
        (
            "labour",
            _hours(
                "1.5", _line(date(2025, 5, 9), "Second set laid wet, left then right.", "f-stripe")
            ),
            {},
        ),
        (
            "part",
            _decals(
                date(2025, 5, 9),
                "printed from a tracing of the old ones",
                PartState.FITTED,
                documents=(Id("d-tracing"), Id("d-invoice")),
                removed_part_kept=Words("flat in the document folder, with the car"),
            ),
            {},
        ),
        (
            "charge",
            Charge(
                price=Money.of("410.00", USD),
                **_line(
                    date(2025, 4, 2),
                    "Freight from the coast.",
                    unlinked=Unlinked.TRANSPORT,
                    purpose=Purpose.LANDED,
                ),
            ),
            {},
        ),
        (
            "labour",
            _hours(
                "1",
                _line(
                    date(2025, 6, 12),
                    "Photographs for the sale.",
                    unlinked=Unlinked.SALE,
                    purpose=Purpose.SELLING,
                ),
            ),
            {},
        ),
        (
            "labour",
            _hours(
                "2",
                _line(
                    date(2025, 4, 5), "Washed and decontaminated.", unlinked=Unlinked.WHOLE_VEHICLE
                ),
            ),
            {},
        ),
        (
            "labour",
            _hours("4", _line(date(2025, 4, 8), "Roof machine polished.", "f-roof")),
            {"reversed_by": "l-13"},
        ),
        (
            "reversal",
            Reversal(
                vehicle=CAR,
                reverses=Id("l-12"),
                work_date=date(2025, 4, 8),
                why=Words("Booked on the wrong car."),
                words=Words("The roof was not touched; the entry belongs elsewhere."),
            ),
            {"reverses": "l-12", "at": "2025-05-20T12:00:00+02:00"},
        ),
    )
    return tuple(
        stored(kind, f"l-{n}", entry, sequence=40 + n, **more)
        for n, (kind, entry, more) in enumerate(told)
    )
