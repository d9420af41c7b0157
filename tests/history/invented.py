"""An invented vehicle with enough history that every part of the sheet has something to say."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import Any

from recondition.amounts import Money, Quantity
from recondition.condition.findings import Ended, ExtentKind, Finding, Outcome, Stage
from recondition.condition.panels import Area, Finish, Originality, Panel, Substrate
from recondition.condition.vehicle import Holding, OdometerUnit, TrueDistance, Vehicle
from recondition.fields import Id, Words
from recondition.history.records import Consent, Shows
from recondition.history.sheet import Issue, Sheet, build
from recondition.history.source import Source
from recondition.ledger.chain import Head
from recondition.ledger.drafts import Stored
from recondition.ledger.people import Person, Supplier
from recondition.materials.products import Product
from recondition.materials.receiving import Receipt
from tests.history.invented_seen import (
    INSTRUMENT,
    documents,
    earlier_editions,
    issued,
    readings,
    sealed,
    withdrawn,
)
from tests.history.invented_work import lines
from tests.history.storing import CAR, MADE_ON, stored

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
    body_number="K 0731",
    trim="black leathercloth, code 12",
    odometer_shown="04237",
    odometer_unit=OdometerUnit.MILES,
    odometer_wheels=5,
    true_distance=TrueDistance.NOT_KNOWN,
    odometer_words=Words("Two test papers of 1988 and 1991 show 91 204 and 98 770 miles."),
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


def versions() -> dict[str, tuple[Stored[Any], ...]]:
    """One finding was put right three weeks after it was made: worse than first written."""
    now = next(each for each in findings() if each.id == "f-wing")
    first = replace(now.entry, severity=2, private_note=Words("Seemed less in the rain."))
    before = replace(now, entry=first, version=1)
    after = replace(now, version=2, recorded_at="2025-04-25T10:00:00+02:00")
    return {"f-wing": (before, after)}


PRODUCT = Product(name="Lumeska No. 3", material_type="fine polish", unit="g", supplier=Id("s-1"))
PREPARER = Person(name=Words("Marit Oxholm"), role="preparer", contact=Words("the yard, by bell"))
SUPPLIERS = {
    "s-1": Supplier(name=Words("Pellard Supplies")),
    "s-2": Supplier(name=Words("Vantongeren Trim")),
}
RECEIPT = Receipt(
    product=Id("prod-1"),
    received_on=date(2025, 1, 9),
    quantity=Quantity(Decimal(1000), "g"),
    price=Money.of("96.00", "USD"),
    batch_number="LB-2204",
)


def consent(shows: Shows, **more: Any) -> Stored[Consent]:
    """Give a consent to show one thing."""
    given = {"given_on": date(2025, 4, 2), "given_by": Words("Asked at the bench, nodded.")}
    entry = Consent(shows=shows, **(given | more))
    return stored("consent", f"c-{shows.name.lower()}", entry)


CONSENTS = (
    consent(Shows.HOURS),
    consent(Shows.PERSON, person=Id("p-1")),
    consent(Shows.FIRM, supplier=Id("s-2")),
    consent(Shows.PRODUCTS),
)
"""One of each sort; the sheet of the invented vehicle is made without any."""


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
        "readings": readings(),
        "instruments": {"g-1": stored("instrument", "g-1", INSTRUMENT)},
        "receipts": {"rc-1": stored("receipt", "rc-1", RECEIPT)},
        "people": {"p-1": stored("person", "p-1", PREPARER)},
        "suppliers": {each: stored("supplier", each, firm) for each, firm in SUPPLIERS.items()},
        "documents": documents(),
        "sealed": sealed(),
        "versions": versions(),
    }
    return Source(**(whole | changes))


EARLIER: dict[str, Any] = {"editions": earlier_editions(), "withdrawn": withdrawn()}
"""Changes that add two earlier editions; the sheet is the third then."""

NOTHING: dict[str, Any] = {
    **dict.fromkeys(("panels", "findings", "outcomes", "lines", "readings", "documents"), ()),
    "versions": {},
}
"""Changes that leave nothing on the sheet but the vehicle itself."""


def sheet(*, number: int | None = 1, locale: str = "en_GB", **changes: Any) -> Sheet:
    """Build the sheet of the invented vehicle, its first edition unless told otherwise."""
    whole = source(**changes)
    return build(whole, Issue(number, MADE_ON, locale), issued(whole.documents))
