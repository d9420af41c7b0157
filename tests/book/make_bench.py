"""A record of every kind of the condition bench."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING

from recondition.amounts import Quantity
from recondition.condition.custody import CustodyItem, CustodyMove, ItemClass
from recondition.condition.film import FilmReading, Instrument, Principle
from recondition.condition.findings import When
from recondition.condition.gloss import GlossReading
from recondition.condition.identification import IdentificationTest, SurfaceTest
from recondition.condition.order import RuleKind, Scope, WorkRule
from recondition.condition.water import DropReading, WaterHardness
from recondition.fields import Id, Words
from tests.book.make import DAY, draft, post

if TYPE_CHECKING:
    from recondition.book.engine import Book
    from tests.book.make import Shop


def um(text: str) -> Quantity:
    return Quantity.of(text, "um")


def instrument(principle: Principle = Principle.BOTH, uncertainty: str = "2.5") -> Instrument:
    return Instrument(name="film gauge", principle=principle, uncertainty=um(uncertainty))


def film(vehicle: Id, gauge: Id, values: str, **more: object) -> FilmReading:
    """Give readings in micrometres on the bonnet."""
    given = {"panel": "bonnet", "read_on": DAY, "unit": "um", "place": "centre"} | more
    readings = tuple(Decimal(value) for value in values.split())
    return FilmReading(vehicle=vehicle, instrument=gauge, readings=readings, **given)  # type: ignore[arg-type]


def bench_records(book: Book, made: Shop) -> dict[str, Id]:
    """Post one record of every kind of the bench."""
    gauge = draft("instrument", "G1", instrument())
    item = draft(
        "custody item",
        "CU-1",
        CustodyItem(
            vehicle=made.own,
            item=Words("ring, yellow metal"),
            item_class=ItemClass.PERSONAL,
            found_at="2031-03-04T09:42+00:00",
            place=Words("behind the boot lining"),
            kept_at=Words("safe"),
            found_by=made.person,
            witness=Words("Otto Wend"),
            bag="00317",
        ),
    )
    move = CustodyMove(
        vehicle=made.own,
        item=Id(item.id),
        to=Words("the keeper before"),
        moved_at="2031-03-05T10:00+00:00",
        moved_by=made.person,
        reason=Words("came for it"),
        seal_intact=True,
        released_to=Words("the keeper before"),
        identity_seen=True,
    )
    gloss = GlossReading(
        vehicle=made.own, panel="roof", readings=(Decimal(64),), unit="GU60", read_on=DAY
    )
    drop = DropReading(
        vehicle=made.own,
        panel="roof",
        heights=(Decimal("1.2"),),
        widths=(Decimal(3),),
        soap_rinsed=True,
        read_on=DAY,
        step="wash",
        when=When.AFTER,
    )
    test = SurfaceTest(
        vehicle=made.own,
        panel="roof",
        test=IdentificationTest.LEAD_SWAB,
        answer="negative",
        tested_on=DAY,
        tested_by=made.person,
    )
    hard = WaterHardness(tap="yard", read_on=DAY, strip=Quantity.of("150", "mg_l"))
    rule = WorkRule(
        task=("sand",),
        kind=RuleKind.NEEDS,
        other=("mask",),
        why=Words("edges burn through first"),
        scope=Scope.PANEL,
    )
    drafts = (
        gauge,
        draft("film reading", "T-1", film(made.own, Id(gauge.id), "104 108", zero=um("0"))),
        draft("gloss reading", "GL-1", gloss),
        draft("drop reading", "W-1", drop),
        draft("surface test", "ST-1", test),
        draft("water hardness", "H-1", hard),
        draft("work rule", "mask first", rule),
        item,
        draft("custody move", "CM-1", move),
    )
    return {each.draft.ref: Id(each.record) for each in post(book, *drafts)}
