"""Posted lines for tests of what is made from them, priced by the ledger's own rules.

The vehicles, people and firms are invented.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from hypothesis import strategies as st

from recondition.amounts import Money, Quantity
from recondition.condition.findings import Finding
from recondition.condition.panels import Area
from recondition.fields import Id, Words
from recondition.ledger.drafts import Stored
from recondition.ledger.lines import (
    Charge,
    Labour,
    Link,
    Purpose,
    Reversal,
    Standing,
    Unlinked,
)
from recondition.ledger.people import Rate
from recondition.ledger.pricing import price, reverse

if TYPE_CHECKING:
    from recondition.ledger.rollup import Line

OWN, CONSIGNED = Id("own"), Id("consigned")
DAY = date(2031, 3, 28)
RATE = Rate(
    person=Id("p1"),
    from_date=date(2031, 1, 1),
    cost_rate=Money.of("38.75", "USD"),
    charge_out_rate=Money.of("95.00", "USD"),
)
FINDINGS = {
    "f1": Finding(vehicle=OWN, area=Area.EXTERIOR, panel="bonnet", defect="swirls", found_on=DAY),
    "f2": Finding(
        vehicle=OWN, area=Area.WHEELS, panel="left front wheel", defect="kerbed", found_on=DAY
    ),
    "f3": Finding(
        vehicle=OWN, area=Area.EXTERIOR, panel="roof", defect="water marks", found_on=DAY
    ),
}


def common(vehicle: Id | None = OWN, links: tuple[str, ...] = (), **more: Any) -> dict[str, Any]:
    """Give the fields that every line has."""
    return {
        "vehicle": vehicle,
        "work_date": DAY,
        "words": Words("work"),
        "links": tuple(Link(Id(finding)) for finding in links),
        "unlinked": None if links else Unlinked.WHOLE_VEHICLE,
        "purpose": Purpose.RECONDITIONING,
        "standing": Standing.MEASURED,
        **more,
    }


def labour(hours: str, **more: Any) -> Labour:
    """Give an entry of hands-on hours."""
    return Labour(person=Id("p1"), quantity=Quantity.of(hours, "h"), **common(**more))


def charge(amount: str, currency: str = "USD", **more: Any) -> Charge:
    """Give an entry of one amount."""
    return Charge(price=Money.of(amount, currency), **common(**more))


def posted(place: int, entry: Labour | Charge) -> Line:
    """Post an entry as line ``place``."""
    kind = "labour" if isinstance(entry, Labour) else "charge"
    priced = price(entry, RATE, consigned=entry.vehicle == CONSIGNED)
    return _stored(place, kind, entry, priced)


def taken_back(place: int, line: Line, *, period: str | None = None) -> Line:
    """Post the reversal of a line as line ``place``."""
    entry = Reversal(
        vehicle=line.entry.vehicle,
        reverses=Id(line.id),
        work_date=DAY,
        why=Words("entered twice"),
        period=period,
    )
    assert line.priced is not None
    stored = _stored(place, "reversal", entry, reverse(line.priced))
    return replace(stored, reverses=line.id)


def _stored(place: int, kind: str, entry: Any, priced: Any) -> Line:
    subject = f"vehicle:{entry.vehicle}" if entry.vehicle else "shop"
    return Stored(
        id=f"line{place}",
        record=f"line{place}",
        ref=f"L{place:04d}",
        kind=kind,
        version=1,
        subject=subject,
        sequence=place,
        author="p1",
        recorded_at="2031-03-29T09:00:00+00:00",
        entry=entry,
        priced=priced,
    )


@st.composite
def line_sets(draw: st.DrawFn, most: int = 12) -> tuple[Line, ...]:
    """Lines of one book, some of them taken back, in the order they were posted."""
    made: list[Line] = []
    for place in range(1, draw(st.integers(1, most)) + 1):
        links = tuple(draw(st.sets(st.sampled_from(sorted(FINDINGS)), max_size=3)))
        more: dict[str, Any] = {
            "vehicle": draw(st.sampled_from([OWN, CONSIGNED, None])),
            "links": links,
            "purpose": draw(st.sampled_from(Purpose)),
            "period": draw(st.sampled_from(["2031-03", "2031-04", None])),
            "panel": draw(st.sampled_from(["bonnet", "tail fin", None])),
            "candidate": draw(st.sampled_from(["c1", "c2", None])),
        }
        minor = draw(st.integers(-(10**7), 10**9))
        hours = Decimal(draw(st.integers(1, 4000))) / 100
        entry = draw(
            st.sampled_from(
                [charge(str(Decimal(minor) / 100), **more), labour(f"{hours:f}", **more)]
            )
        )
        made.append(posted(place, entry))
    for line in draw(st.lists(st.sampled_from(made), unique_by=lambda line: line.id)):
        made.append(taken_back(len(made) + 1, line, period="2031-05"))
    return tuple(made)
