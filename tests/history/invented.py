"""An invented vehicle with enough history that every part of the sheet has something to say."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any

from recondition.amounts import Money, Quantity
from recondition.condition.findings import Ended, ExtentKind, Finding, Outcome, Stage
from recondition.condition.panels import Area, Finish, Originality, Panel, Substrate
from recondition.condition.vehicle import Holding, OdometerUnit, TrueDistance, Vehicle
from recondition.fields import Id, Words
from recondition.history.sheet import Sheet, build
from recondition.history.source import Source
from recondition.ledger.chain import Head
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
from recondition.materials.products import Product

CAR = Id("v-1")
MADE_ON = date(2025, 6, 20)
USD = "USD"


def stored(
    kind: str, entity: str, entry: Any, *, sequence: int = 1, at: str = "", **more: Any
) -> Stored[Any]:
    """Wrap an entry as the book would hand it over; recorded the day it happened."""
    days = ("work_date", "found_on", "ended_on", "arrived_on")
    happened = next((getattr(entry, day) for day in days if getattr(entry, day, None)), MADE_ON)
    return Stored(
        id=entity,
        record=f"r-{entity}",
        ref=f"row {entity}",
        kind=kind,
        version=1,
        subject=f"vehicle:{CAR}",
        sequence=sequence,
        author="p-1",
        recorded_at=at or f"{happened.isoformat()}T17:30:00+02:00",
        entry=entry,
        **more,
    )


VEHICLE = Vehicle(
    designation="Aldane Corriva 1600 S",
    holding=Holding.CONSIGNED,
    owner=Id("p-owner"),
    body_style="two-door coupé",
    model_year=1971,
    colour="reed green, code 41",
    chassis_stamped="AC16 S 004 217",
    chassis_documents="AC16S04217",
    engine_number="16S-00388 B",
    odometer_shown="04237",
    odometer_unit=OdometerUnit.MILES,
    odometer_wheels=5,
    true_distance=TrueDistance.NOT_KNOWN,
    arrived_on=date(2025, 4, 2),
    private_note=Words("The owner wants it gone by summer."),
)


def panels() -> tuple[Stored[Panel], ...]:
    """Four panels: believed original with evidence, repainted, unknown, and one not to touch."""
    told = (
        Panel(
            vehicle=CAR,
            panel="bonnet",
            substrate=Substrate.STEEL,
            finish=Finish.SINGLE_STAGE,
            originality=Originality.BELIEVED_ORIGINAL,
            evidence=Words("Measured 96 µm mean of nine readings; maker's stencil under the lip."),
        ),
        Panel(
            vehicle=CAR,
            panel="right front wing",
            substrate=Substrate.STEEL,
            finish=Finish.BASE_CLEAR,
            originality=Originality.REPAINTED,
            evidence=Words("Measured 310 µm mean of six readings; tape edge behind the lamp."),
        ),
        Panel(
            vehicle=CAR,
            panel="boot lid",
            substrate=Substrate.ALUMINIUM,
            finish=Finish.SINGLE_STAGE,
            originality=Originality.BELIEVED_ORIGINAL,
        ),
        Panel(vehicle=CAR, panel="door jambs", no_touch=True),
    )
    return tuple(stored("panel", f"pan-{n}", panel) for n, panel in enumerate(told))


def _finding(area: Area, panel: str, defect: str, severity: int | None, **more: Any) -> Finding:
    """Make a finding of the day of arrival unless told otherwise."""
    more.setdefault("found_on", date(2025, 4, 3))
    return Finding(vehicle=CAR, area=area, panel=panel, defect=defect, severity=severity, **more)


FINDINGS: dict[str, Finding] = {
    "f-bonnet": _finding(
        Area.EXTERIOR,
        "bonnet",
        "swirls",
        2,
        material="single-stage paint",
        words=Words("Fine circles over the whole panel, deeper towards the leading edge."),
        extent_kind=ExtentKind.WHOLE_PANEL,
        lamp="point light, 4000 K",
        private_note=Words("Could be worth 900 on the day."),
    ),
    "f-wing": _finding(
        Area.EXTERIOR,
        "right front wing",
        "stone chips",
        3,
        spot=Words("behind the wheel arch, up to 120 mm above the sill"),
        extent=Quantity(Decimal(14), "piece"),
        extent_kind=ExtentKind.COUNT,
        lamp="daylight",
    ),
    "f-stripe": _finding(
        Area.EXTERIOR,
        "left side stripe",
        "decal lifting",
        3,
        material="printed film",
        extent=Quantity(Decimal(180), "mm"),
        extent_kind=ExtentKind.LENGTH,
    ),
    "f-roof": _finding(
        Area.EXTERIOR,
        "roof",
        "fading",
        2,
        words=Words("Chalky towards the gutter, colour comes off on a white cloth."),
        extent=Quantity(Decimal(40), "percent"),
        extent_kind=ExtentKind.PART_OF_PANEL,
    ),
    "f-seat": _finding(
        Area.INTERIOR,
        "left front seat",
        "split seam",
        2,
        words=Words("Outer bolster, thread gone, cover itself whole."),
        extent=Quantity(Decimal(6), "cm"),
        extent_kind=ExtentKind.LENGTH,
    ),
    "f-dash": _finding(Area.INTERIOR, "dash", "cracks", 0, words=Words("Looked for, none seen.")),
    "f-tank": _finding(
        Area.UNDERSIDE, "fuel tank", "corrosion inside", None, words=Words("Tank not opened.")
    ),
    "f-floor": _finding(Area.UNDERSIDE, "floor", "underseal flaking", 3, found_on=date(2025, 4, 4)),
    "f-trace": _finding(
        Area.EXTERIOR,
        "bonnet",
        "sanding marks",
        1,
        stage=Stage.DURING_WORK,
        found_on=date(2025, 4, 16),
        lamp="point light, 4000 K",
    ),
}


def findings() -> tuple[Stored[Finding], ...]:
    """Give the findings as stored; one was written down three weeks after it was made."""
    late = {"f-floor": "2025-04-28T09:00:00+02:00"}
    return tuple(
        stored("finding", name, entry, sequence=n, at=late.get(name, ""))
        for n, (name, entry) in enumerate(FINDINGS.items(), start=1)
    )


def _outcome(finding: str, ended: Ended, day: date, after: int | None, **more: Any) -> Outcome:
    """Make an outcome of one of the findings."""
    return Outcome(
        vehicle=CAR,
        finding=Id(finding),
        ended=ended,
        ended_on=day,
        severity_after=after,
        **more,
    )


def outcomes() -> tuple[Stored[Outcome], ...]:
    """Every way of ending; the stripe ended twice; the floor and the trace stay open."""
    told = (
        _outcome(
            "f-bonnet",
            Ended.RESOLVED,
            date(2025, 4, 18),
            0,
            words=Words("Mean film 93 µm afterwards, nine readings on the same spots."),
        ),
        _outcome("f-wing", Ended.PARTLY_RESOLVED, date(2025, 4, 22), 1),
        _outcome(
            "f-stripe",
            Ended.PARTLY_RESOLVED,
            date(2025, 4, 24),
            2,
            words=Words("Edge laid down again, 20 mm still lifts."),
        ),
        _outcome(
            "f-stripe",
            Ended.RESOLVED,
            date(2025, 5, 9),
            0,
            words=Words("New decals on both sides."),
        ),
        _outcome(
            "f-roof",
            Ended.LEFT_ALONE,
            date(2025, 4, 10),
            None,
            reason=Words("Thin film: polishing would show the primer. Kept as the car wears it."),
        ),
        _outcome("f-seat", Ended.RESOLVED, date(2025, 5, 2), 0),
        _outcome(
            "f-tank",
            Ended.NOT_INSPECTED,
            date(2025, 4, 4),
            None,
            reason=Words("No boroscope in the shop."),
        ),
    )
    return tuple(
        stored("outcome", f"o-{n}", entry, sequence=20 + n) for n, entry in enumerate(told)
    )


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
    )
    return tuple(
        stored(kind, f"l-{n}", entry, sequence=40 + n, **more)
        for n, (kind, entry, more) in enumerate(told)
    )


PRODUCT = Product(name="Lumeska No. 3", material_type="fine polish", unit="g", supplier=Id("s-1"))


def source(**changes: Any) -> Source:
    """Give the whole of it, with changes where a test wants them."""
    whole: dict[str, Any] = {
        "vehicle": stored("vehicle", CAR, VEHICLE),
        "shop_name": "Tessel & Rowe Preparation",
        "panels": panels(),
        "findings": findings(),
        "outcomes": outcomes(),
        "lines": lines(),
        "products": {"prod-1": stored("product", "prod-1", PRODUCT)},
        "head": Head(f"vehicle:{CAR}", 41, "9c1f" * 16),
    }
    return Source(**(whole | changes))


def sheet(**changes: Any) -> Sheet:
    """Build the sheet of the invented vehicle."""
    return build(source(**changes), MADE_ON)
