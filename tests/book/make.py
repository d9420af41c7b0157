"""Briefly written drafts of every kind, and a small book that holds one of each.

The vehicles, people and firms are invented.
"""

from __future__ import annotations

import uuid
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, Any

import pytest
from sqlalchemy import delete, exists

from recondition.amounts import Money, Quantity
from recondition.book import reading
from recondition.book.posting import Poster, Result
from recondition.book.tables import erasure as erased
from recondition.book.tables import free_text
from recondition.condition.findings import Ended, Finding, Outcome
from recondition.condition.panels import Area, Panel
from recondition.condition.vehicle import Holding, Vehicle
from recondition.fields import Id, Words
from recondition.ledger.documents import Document, DocumentKind
from recondition.ledger.drafts import Draft
from recondition.ledger.lines import (
    Charge,
    Consumable,
    Labour,
    Link,
    Origin,
    Part,
    Purpose,
    Reversal,
    Standing,
    Sublet,
    Unlinked,
)
from recondition.ledger.people import Erasure, Person, Rate, Setting, Supplier
from recondition.materials.products import Product
from recondition.worth.estimates import Basis, Candidate, Interaction, ThreeAmounts, ThreeNumbers
from recondition.worth.sales import Comparable
from recondition.worth.terms import SaleTerms, Slice
from recondition.worth.track import Decision, Sale
from recondition.worth.trials import Trial
from tests.pictures import picture

if TYPE_CHECKING:
    from pathlib import Path

    from recondition.book.engine import Book
    from recondition.errors import Refused
    from recondition.ledger.drafts import Stored

DAY = date(2031, 3, 4)
ACTING = "0" * 32


def usd(text: str) -> Money:
    return Money.of(text, "USD")


def draft(kind: str, ref: str, entry: Any, **more: Any) -> Draft:
    return Draft(id=uuid.uuid4().hex, kind=kind, ref=ref, entry=entry, **more)


def post(book: Book, *drafts: Draft, author: str = ACTING) -> list[Result]:
    """Post drafts one after another in one transaction; raises the first refusal."""
    with book.writing() as conn:
        poster = Poster(book, conn, author)
        return [poster.post(one) for one in drafts]


def add(book: Book, kind: str, ref: str, entry: Any, **more: Any) -> Id:
    """Post one record and give its id."""
    (result,) = post(book, draft(kind, ref, entry, **more))
    return Id(result.record)


def one(book: Book, kind: str, ref: str) -> Stored[Any]:
    with book.reading() as conn:
        return reading.one(conn, kind, ref)


def counted(book: Book) -> int:
    with book.reading() as conn:
        return sum(head.count for head in reading.heads(conn))


def refused(book: Book, refusal: type[Refused], kind: str, entry: Any, **more: Any) -> Refused:
    """Hold that an entry is refused and that the book is left as it was."""
    before = counted(book)
    with pytest.raises(refusal) as raised:
        add(book, kind, more.pop("ref", "X-1"), entry, **more)
    assert counted(book) == before
    return raised.value


def line(vehicle: Id | None, **more: Any) -> dict[str, Any]:
    """Give the fields that every line has; it serves the whole vehicle unless linked."""
    fields: dict[str, Any] = {
        "vehicle": vehicle,
        "work_date": DAY,
        "words": Words("done"),
        "purpose": Purpose.RECONDITIONING,
        "standing": Standing.MEASURED,
    }
    if "links" not in more:
        fields["unlinked"] = Unlinked.WHOLE_VEHICLE
    return fields | more


def charge(vehicle: Id | None, price: str = "10.00", **more: Any) -> Charge:
    return Charge(price=usd(price), **line(vehicle, **more))


def labour(vehicle: Id, person: Id, hours: str, **more: Any) -> Labour:
    return Labour(person=person, quantity=Quantity.of(hours, "h"), **line(vehicle, **more))


def finding(vehicle: Id, **more: Any) -> Finding:
    given = {"area": Area.EXTERIOR, "panel": "roof", "defect": "scratch", "found_on": DAY} | more
    return Finding(vehicle=vehicle, **given)


def links(*findings: Id) -> tuple[Link, ...]:
    return tuple(Link(each) for each in findings)


@dataclass(frozen=True)
class Shop:
    """Ids of a small shop: a preparer with both rates, and two vehicles with findings."""

    person: Id
    own: Id
    consigned: Id
    own_findings: tuple[Id, Id]
    consigned_finding: Id


def shop(book: Book) -> Shop:
    """Start a shop in US dollars whose preparer costs 38.75 and is charged at 95.00 an hour."""
    add(book, "setting", "currency", Setting(value="USD"))
    person = add(book, "person", "HK", Person(name=Words("Hanna Kolb"), role="preparer"))
    rate = Rate(
        person=person,
        from_date=date(2031, 1, 1),
        cost_rate=usd("38.75"),
        charge_out_rate=usd("95.00"),
    )
    add(book, "rate", "R-1", rate)
    owner = add(book, "person", "OW", Person(name=Words("Odile Werth"), role="owner"))
    own = add(book, "vehicle", "0007", Vehicle(designation="Tavorel Lisse", holding=Holding.OWN))
    theirs = Vehicle(designation="Ostra 9", holding=Holding.CONSIGNED, owner=owner)
    consigned = add(book, "vehicle", "0008", theirs)
    return Shop(
        person=person,
        own=own,
        consigned=consigned,
        own_findings=(
            add(book, "finding", "F-1", finding(own)),
            add(book, "finding", "F-2", finding(own, words=Words("two metres off"))),
        ),
        consigned_finding=add(book, "finding", "F-3", finding(consigned)),
    )


@dataclass(frozen=True)
class FilledBook:
    """A book with a record of every kind, and the ids by ref."""

    book: Book
    ids: dict[str, Id]


def filled_book(book: Book, folder: Path) -> FilledBook:
    """Post one record of every kind and a second version of one of them."""
    made = shop(book)
    ids = {"HK": made.person, "0007": made.own, "F-1": made.own_findings[0]}
    before = post(book, *_shop_records(), *_car_records(made, folder))
    ids |= {each.draft.ref: Id(each.record) for each in before}
    ids |= {each.draft.ref: Id(each.record) for each in post(book, *_line_records(made, ids))}
    from tests.book.make_stock import stock_and_owner  # noqa: PLC0415 - it leans on this module

    ids |= stock_and_owner(book, made, ids)
    from tests.book.make_bench import bench_records  # noqa: PLC0415 - as above

    ids |= bench_records(book, made)
    from tests.book.make_books import books_records  # noqa: PLC0415 - as above

    ids |= books_records(book, made, ids)
    from tests.book.make_history import history_records  # noqa: PLC0415 - as above

    ids |= history_records(book, made, ids)
    reversal = Reversal(
        vehicle=made.own, reverses=ids["L-1"], work_date=DAY, why=Words("wrong person")
    )
    ids["V-1"] = add(book, "reversal", "V-1", reversal)
    ids["F-1 again"] = add(book, "finding", "F-1", finding(made.own, severity=3))
    erasure = Erasure(erased=ids["SU-2"], field="name", ground="request of 4 March")
    ids["E-1"] = add(book, "erasure", "E-1", erasure)
    on_record = (erased.c.erased == free_text.c.record_id, erased.c.field == free_text.c.field)
    with book.writing() as conn:
        conn.execute(delete(free_text).where(exists().where(*on_record)))
    return FilledBook(book, ids)


def _shop_records() -> list[Draft]:
    return [
        draft("supplier", "SU-1", Supplier(name=Words("Lindqvist Supplies"))),
        draft("supplier", "SU-2", Supplier(name=Words("Firm two"), contact=Words("by letter"))),
        draft("product", "PR-1", Product(name="Cut 3", material_type="compound", unit="ml")),
    ]


def _car_records(made: Shop, folder: Path) -> list[Draft]:
    """Write what is known of the own vehicle, with one kept file."""
    kept_file = folder / "picture.png"
    kept_file.write_bytes(picture())
    amounts = ThreeAmounts(usd("1"), usd("2"), usd("3"))
    numbers = ThreeNumbers(Decimal(1), Decimal(2), Decimal("3.5"))
    first = Candidate(
        vehicle=made.own,
        name=Words("polish"),
        hours=numbers,
        cash=amounts,
        findings=made.own_findings,
        panels=("roof", "bonnet"),
        uplift_percent=numbers,
        uplift_basis=Basis.HAMMER,
    )
    candidate = draft("candidate", "C-1", first)
    second = replace(first, uplift_percent=None, uplift=amounts, requires=(Id(candidate.id),))
    other = draft("candidate", "C-2", second)
    together = Interaction(
        vehicle=made.own, items=(Id(candidate.id), Id(other.id)), delta_uplift=usd("-5")
    )
    terms = SaleTerms(
        vehicle=made.own,
        basis=Basis.HAMMER,
        as_is=amounts,
        labour_cost_rate=usd("38.75"),
        commission=(Slice(Decimal("0.1"), usd("50000")), Slice(Decimal("0.06"))),
    )
    kept = Document(vehicle=made.own, kind=DocumentKind.PHOTOGRAPH, title=Words("roof"))
    ended = Outcome(
        vehicle=made.own,
        finding=made.own_findings[0],
        ended=Ended.RESOLVED,
        ended_on=DAY,
        reason=Words("was dirt, and went with the wash"),
        decided_by=made.person,
    )
    return [
        draft("panel", "P-1", Panel(vehicle=made.own, panel="roof", no_touch=True)),
        draft("outcome", "O-1", ended),
        candidate,
        other,
        draft("interaction", "I-1", together),
        draft("terms", "T-1", terms),
        *decision_records(made.own, amounts, numbers),
        draft("document", "D-1", kept, file=kept_file),
    ]


def decision_records(vehicle: Id, amounts: ThreeAmounts, numbers: ThreeNumbers) -> list[Draft]:
    """Write a test to make first, a comparable, a frozen decision and a sale."""
    trial = Trial(
        vehicle=vehicle, name=Words("panel"), p_good=Decimal("0.5"), good_uplift=amounts,
        bad_uplift=amounts, good_hours=numbers, good_cash=amounts,
    )  # fmt: skip
    sold = Comparable(vehicle=vehicle, what=Words("a like one"), price=usd("9"), features=("km=9",))
    decision = Decision(
        vehicle=vehicle, decided_on=DAY, chosen=(), price=amounts, basis=Basis.HAMMER,
        cost=amounts, net=amounts, proven=True, inputs="{}", versions="none",
    )  # fmt: skip
    return [
        draft("trial", "X-1", trial),
        draft("comparable", "S-1", sold),
        draft("decision", "DC-001", decision),
        draft("sale", "Y-1", Sale(vehicle=vehicle, sold_on=DAY, price=usd("9"))),
    ]


def _line_records(made: Shop, ids: dict[str, Id]) -> list[Draft]:
    """Write a line of every kind but the reversal."""
    both = line(made.own, links=links(*made.own_findings))
    part = Part(
        quantity=Quantity.of("2", "piece"),
        price=usd("19.99"),
        origin=Origin.REPRODUCTION,
        part_name=Words("decal"),
        supplier=ids["SU-1"],
        **both,
    )
    used = Consumable(
        product=ids["PR-1"],
        quantity=Quantity.of("35", "ml"),
        price=usd("42.00"),
        price_per=Quantity.of("1", "l"),
        **line(made.consigned, links=links(made.consigned_finding)),
    )
    return [
        draft("labour", "L-1", labour(made.own, made.person, "2.5", candidate=ids["C-1"])),
        draft("part", "L-2", part),
        draft("consumable", "L-3", used),
        draft("sublet", "L-4", Sublet(price=usd("300.01"), documents=(ids["D-1"],), **both)),
        draft("charge", "L-5", charge(None, unlinked=Unlinked.OVERHEAD)),
    ]
