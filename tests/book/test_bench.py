"""The condition bench through a real book, on both engines: what is stopped, what is told."""

from __future__ import annotations

import io
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from PIL import Image

from recondition.amounts import Quantity
from recondition.book import questions, reading
from recondition.book.check import check
from recondition.book.posting import Poster, Result
from recondition.condition.bodies import PanelNotOnBody
from recondition.condition.cautions import Stopped
from recondition.condition.custody import (
    CustodyItem,
    CustodyMove,
    ItemClass,
    ReleasedAlready,
)
from recondition.condition.film import NoHeadroom, NotReadable
from recondition.condition.findings import Ended, NothingMovedIt, Outcome, When
from recondition.condition.order import RuleKind, WorkRule
from recondition.condition.panels import Finish, Panel, Substrate
from recondition.fields import Id, Words
from recondition.ledger.lines import Consumable, Reversal
from recondition.ledger.people import Setting
from recondition.materials.products import Product
from recondition.reports.cautions import breaches
from recondition.reports.thumbnails import thumbnail
from recondition.worth.decision import decide
from recondition.worth.estimates import Basis, Candidate, ThreeAmounts, ThreeNumbers
from recondition.worth.terms import SaleTerms
from tests.book.make import (
    ACTING,
    DAY,
    Shop,
    add,
    draft,
    finding,
    labour,
    line,
    links,
    post,
    refused,
    shop,
    usd,
)
from tests.book.make_bench import film, instrument, um
from tests.pictures import photograph

if TYPE_CHECKING:
    from pathlib import Path

    from recondition.book.engine import Book
    from recondition.ledger.drafts import Draft

LATER = DAY + timedelta(days=1)


def bench(book: Book) -> tuple[Shop, Id]:
    """Start a shop with a gauge, a floor of 80 um and an own car with one pass behind it."""
    made = shop(book)
    add(book, "setting", "film floor", Setting(value="80"))
    gauge = add(book, "instrument", "G1", instrument())
    before = film(made.own, gauge, "90 91 92 93 94", when=When.BEFORE, step="first pass")
    after = film(made.own, gauge, "84 86 87 88 89", when=When.AFTER, step="first pass")
    post(book, draft("film reading", "T-1", before), draft("film reading", "T-2", after))
    return made, gauge


def polish(made: Shop, takes: str | None = None, on: date = LATER, **more: Any) -> Any:
    given = {"panel": "bonnet", "operation": "polish", "work_date": on} | more
    removal = um(takes) if takes else None
    own = labour(made.own, made.person, "1")
    return replace(own, film_removal=removal, **given)


def candidate(made: Shop, takes: str, **more: Any) -> Candidate:
    one = ThreeNumbers(Decimal(1), Decimal(1), Decimal(1))
    return Candidate(
        vehicle=made.own,
        name=Words(more.pop("name", "second pass")),
        hours=one,
        cash=ThreeAmounts(usd("0"), usd("0"), usd("0")),
        uplift=ThreeAmounts(usd("500"), usd("500"), usd("500")),
        uplift_basis=Basis.HAMMER,
        panels=("bonnet",),
        film_removal=um(takes),
        **more,
    )


def terms(made: Shop) -> SaleTerms:
    price = ThreeAmounts(usd("20000"), usd("20000"), usd("20000"))
    return SaleTerms(
        vehicle=made.own, basis=Basis.HAMMER, as_is=price, labour_cost_rate=usd("38.75")
    )


def tried(book: Book, *drafts: Draft) -> list[Result]:
    """Post a batch, and give what became of each of it."""
    with book.writing() as conn:
        return Poster(book, conn, ACTING).post_many(drafts)


def test_the_worked_case_holds_at_posting(book: Book) -> None:
    """84 to 89 um after one pass, uncertainty 2.5, floor 80, next pass 4.0: refused."""
    made, _ = bench(book)
    said = str(refused(book, NoHeadroom, "labour", polish(made, "4.0")))
    assert "headroom 1.5 um (lowest 84 - uncertainty 2.5 - floor 80)" in said
    assert "mean removed so far 5.2 um" in said
    (fits,) = post(book, draft("labour", "L-1", polish(made, "1.5")))
    assert fits.refused is None
    refused(book, NoHeadroom, "labour", polish(made, "0.1"))
    overridden = polish(made, "4.0", override=Words("owner signed for it"))
    (result,) = post(book, draft("labour", "L-2", overridden))
    assert any(text.startswith("overridden (owner signed for it): ") for text in result.told)
    with book.reading() as conn:
        told = [text for _, _, text in breaches(conn, made.own)]
    assert "overridden: owner signed for it" in told
    assert check(book).damages == []


def test_the_worked_case_holds_at_planning(book: Book) -> None:
    made, _ = bench(book)
    add(book, "terms", "TE-1", terms(made))
    add(book, "candidate", "C-1", candidate(made, "4.0"))
    add(book, "candidate", "C-2", candidate(made, "1.5", name="a milder pass"))
    with book.reading() as conn:
        advice = decide(questions.question_of(conn, questions.vehicle_of(conn, "0007")))
    verdicts = {item.ref: (item.verdict.value, item.reason) for item in advice.items}
    assert verdicts["C-1"][0] == "leave"
    assert "headroom 1.5 um" in verdicts["C-1"][1]
    assert "mean removed so far 5.2 um" in verdicts["C-1"][1]
    assert verdicts["C-2"][0] == "do"
    overridden = candidate(made, "4.0", override=Words("owner wants it"))
    add(book, "candidate", "C-1", overridden)
    with book.reading() as conn:
        advice = decide(questions.question_of(conn, questions.vehicle_of(conn, "0007")))
    assert {item.ref: item.verdict.value for item in advice.items}["C-1"] == "do"


def test_a_reversed_pass_gives_its_film_back(book: Book) -> None:
    made, _ = bench(book)
    pass_ = add(book, "labour", "L-1", polish(made, "1.5"))
    refused(book, NoHeadroom, "labour", polish(made, "1"))
    back = Reversal(vehicle=made.own, reverses=pass_, work_date=LATER, why=Words("other car"))
    add(book, "reversal", "V-1", back)
    add(book, "labour", "L-2", polish(made, "1"))


def test_a_batch_is_judged_line_by_line(book: Book) -> None:
    made, _ = bench(book)
    drafts = [draft("labour", f"L-{n}", polish(made, "0.8")) for n in range(3)]
    results = tried(book, *drafts)
    assert [result.refused is None for result in results] == [True, False, False]


def test_candidate_work_that_takes_film_counts_once_over_its_lines(book: Book) -> None:
    made, _ = bench(book)
    work = add(book, "candidate", "C-1", candidate(made, "1.2"))
    for number in range(2):
        add(book, "labour", f"L-{number}", polish(made, candidate=work))
    with book.reading() as conn:
        room = questions.headroom_of(conn, "0007", "bonnet")
    assert not isinstance(room, str)
    assert (room.since_um, room.um) == (Decimal("1.2"), Decimal("0.3"))


def test_a_line_of_the_day_before_is_judged_by_what_was_read_before_it(book: Book) -> None:
    made, _ = bench(book)
    earlier = polish(made, "4.0", on=DAY - timedelta(days=1))
    (result,) = post(book, draft("labour", "L-1", earlier))
    assert any(
        "headroom of the bonnet is not known: no readings before it" in text for text in result.told
    )


def test_a_panel_that_the_gauge_cannot_read_takes_none(book: Book) -> None:
    made, gauge = bench(book)
    plastic = Panel(vehicle=made.own, panel="front bumper", substrate=Substrate.PLASTIC)
    add(book, "panel", "P-9", plastic)
    bumper = film(made.own, gauge, "104", panel="front bumper")
    refused(book, NotReadable, "film reading", bumper)


def test_a_body_has_only_its_own_panels(book: Book) -> None:
    made = shop(book)
    with book.reading() as conn:
        car = reading.one(conn, "vehicle", "0007").entry
    add(book, "vehicle", "0007", replace(car, body_style="two-door coupe"))
    refused(book, PanelNotOnBody, "finding", finding(made.own, panel="left rear door"))
    refused(book, PanelNotOnBody, "panel", Panel(vehicle=made.own, panel="tailgate"))
    add(book, "finding", "F-9", finding(made.own, panel="left front door"))
    add(book, "vehicle", "0007", replace(car, body_style="four-door saloon"))
    add(book, "finding", "F-10", finding(made.own, panel="left rear door"))


def cleaner(ph: str, **more: Any) -> Product:
    return Product(name="bottle", material_type="cleaner", unit="ml", ph=Decimal(ph), **more)


def used(made: Shop, product: Id, **more: Any) -> Consumable:
    given = {"panel": "grille"} | more
    return Consumable(
        product=product,
        quantity=Quantity.of("20", "ml"),
        price=usd("4"),
        price_per=Quantity.of("1", "l"),
        **line(made.own, links=links(made.own_findings[0]), **given),
    )


def test_a_product_on_the_wrong_surface_stops_until_overridden(book: Book) -> None:
    made = shop(book)
    bare = Panel(
        vehicle=made.own, panel="grille", substrate=Substrate.ALUMINIUM, finish=Finish.BARE
    )
    add(book, "panel", "P-9", bare)
    alkali = add(book, "product", "ALK", cleaner("12.5"))
    assert "etches the bare aluminium" in str(
        refused(book, Stopped, "consumable", used(made, alkali))
    )
    reason = Words("ten seconds, then rinsed; tried behind the badge")
    add(book, "consumable", "U-1", used(made, alkali, override=reason))
    add(book, "consumable", "U-2", used(made, alkali, panel="roof"))


def test_acid_after_alkaline_wants_a_rinse_between(book: Book) -> None:
    made = shop(book)
    alkali, acid = (
        add(book, "product", ref, cleaner(ph)) for ref, ph in (("ALK", "12"), ("ACI", "3"))
    )
    add(book, "consumable", "U-1", used(made, alkali, panel="left front wheel"))
    add(book, "consumable", "U-2", used(made, acid, panel="right front wheel"))
    wheel = used(made, acid, panel="left front wheel")
    assert "no rinse on record" in str(refused(book, Stopped, "consumable", wheel))
    rinse = replace(labour(made.own, made.person, "1"), operation="rinse", panel="all wheels")
    add(book, "labour", "L-1", rinse)
    add(book, "consumable", "U-3", wheel)


def test_hydrofluoric_products_are_blocked_until_allowed(book: Book) -> None:
    made = shop(book)
    fierce = cleaner("2", ingredients="hydrofluoric acid 5 %")
    product = add(book, "product", "HF", fierce)
    assert "burn deep" in str(refused(book, Stopped, "consumable", used(made, product)))
    allowed = replace(fierce, allowed_because=Words("gel on site, two trained"))
    add(book, "product", "HF", allowed)
    add(book, "consumable", "U-1", used(made, product))


def test_dry_sanding_wants_a_lead_swab(book: Book) -> None:
    from recondition.condition.identification import (  # noqa: PLC0415 - only here
        IdentificationTest,
        SurfaceTest,
    )

    made = shop(book)
    sanding = replace(labour(made.own, made.person, "1"), operation="dry sand", panel="roof")
    assert "lead swab" in str(refused(book, Stopped, "labour", sanding))
    swab = SurfaceTest(
        vehicle=made.own, panel="roof", test=IdentificationTest.LEAD_SWAB, answer="negative",
        tested_on=DAY,
    )  # fmt: skip
    add(book, "surface test", "ST-1", replace(swab, answer="positive"))
    refused(book, Stopped, "labour", sanding)
    add(book, "surface test", "ST-2", swab)
    add(book, "labour", "L-1", sanding)
    spray = replace(labour(made.own, made.person, "1"), words=Words("sprayed two-pack lacquer"))
    assert "sent out" in str(refused(book, Stopped, "labour", spray))


def test_a_books_own_rule_is_told_and_may_stop(book: Book) -> None:
    made = shop(book)
    rule = WorkRule(task=("polish",), kind=RuleKind.NEEDS, other=("mask",), why=Words("edges burn"))
    add(book, "work rule", "mask first", rule)
    (told,) = post(book, draft("labour", "L-1", polish(made)))
    assert "mask first: nothing on record says 'mask' before it; edges burn." in told.told
    add(book, "work rule", "mask first", replace(rule, stops=True))
    refused(book, Stopped, "labour", polish(made))
    add(book, "work rule", "mask first", replace(rule, off=True))
    (quiet,) = post(book, draft("labour", "L-2", polish(made)))
    assert not any("mask first" in text for text in quiet.told)


def test_a_finding_moves_only_by_work_or_a_decision(book: Book) -> None:
    made = shop(book)
    first = made.own_findings[0]
    ended = Outcome(vehicle=made.own, finding=first, ended=Ended.RESOLVED, ended_on=LATER)
    refused(book, NothingMovedIt, "outcome", ended)
    refused(book, NothingMovedIt, "outcome", replace(ended, reason=Words("gone")))
    work = add(book, "labour", "L-1", labour(made.own, made.person, "1", links=links(first)))
    add(book, "outcome", "O-1", ended)
    early = replace(ended, ended_on=DAY - timedelta(days=30))
    with book.reading() as conn:
        assert reading.one(conn, "outcome", "O-1").entry.ended is Ended.RESOLVED
    assert early.ended_on < DAY
    back = Reversal(vehicle=made.own, reverses=work, work_date=LATER, why=Words("other car"))
    add(book, "reversal", "V-1", back)
    refused(book, NothingMovedIt, "outcome", replace(ended, words=Words("polished")), ref="O-2")
    decided = replace(ended, reason=Words("was dust"), decided_by=made.person)
    add(book, "outcome", "O-2", decided)


def test_custody_is_followed_within_one_batch(book: Book) -> None:
    made = shop(book)
    thing = CustodyItem(
        vehicle=made.own, item=Words("ring"), item_class=ItemClass.PERSONAL,
        found_at="2031-03-04T09:42+00:00", place=Words("seat"), kept_at=Words("safe"),
        found_by=made.person,
    )  # fmt: skip
    item = add(book, "custody item", "CU-1", thing)
    moves = [
        CustodyMove(
            vehicle=made.own, item=item, to=Words(to), moved_at=f"2031-03-0{n}T10:00+00:00",
            moved_by=made.person, reason=Words("asked for"),
            released_to=Words("keeper") if n == 6 else None,
        )
        for n, to in ((5, "office"), (6, "keeper"), (7, "office"))
    ]  # fmt: skip
    results = tried(book, *(draft("custody move", f"CM-{n}", m) for n, m in enumerate(moves)))
    assert [result.refused is None for result in results] == [True, True, False]
    assert isinstance(results[-1].refused, ReleasedAlready)


def test_a_kept_photograph_stays_as_it_was_and_its_small_copy_tells_nothing(
    book: Book, tmp_path: Path
) -> None:
    from recondition.ledger.documents import Document, DocumentKind  # noqa: PLC0415 - only here

    made = shop(book)
    content = photograph("2031:03:04 09:30:00", "-05:00", place=True)
    (tmp_path / "roof.jpg").write_bytes(content)
    kept = Document(vehicle=made.own, kind=DocumentKind.PHOTOGRAPH, title=Words("roof"))
    post(book, draft("document", "D-1", kept, file=tmp_path / "roof.jpg"))
    with book.reading() as conn:
        (path,) = reading.kept_files(conn, made.own).values()
    assert path.read_bytes() == content
    small = thumbnail(path)
    assert small is not None
    with Image.open(io.BytesIO(small)) as copy:
        assert dict(copy.getexif()) == {}
        assert copy.info.get("exif") is None
    assert b"Somebody" not in small


def test_arrival_photographs_after_the_wash_are_told(book: Book, tmp_path: Path) -> None:
    from recondition.ledger.documents import Document, DocumentKind  # noqa: PLC0415 - only here

    made = shop(book)
    wash = replace(
        labour(made.own, made.person, "1"),
        operation="wash",
        started_at="2031-03-04T09:00+00:00",
        ended_at="2031-03-04T10:30+00:00",
    )
    (told,) = post(book, draft("labour", "L-1", wash))
    assert any("photographs before the wash" in text for text in told.told)
    said = {}
    for hour in ("08", "11"):
        (tmp_path / f"{hour}.jpg").write_bytes(photograph("", shade=int(hour)))
        entry = Document(
            vehicle=made.own,
            kind=DocumentKind.PHOTOGRAPH,
            title=Words("arrival, front"),
            taken_at=f"2031-03-04T{hour}:00:00+00:00",
        )
        (result,) = post(book, draft("document", f"D-{hour}", entry, file=tmp_path / f"{hour}.jpg"))
        said[hour] = result.told
    assert said["08"] == ()
    assert said["11"][0].startswith("arrival photographs after the wash: it comes after L-1")


def test_candidate_work_is_told_at_once_that_the_film_stops_it(book: Book) -> None:
    made, _ = bench(book)
    (result,) = post(book, draft("candidate", "C-1", candidate(made, "4.0")))
    assert "headroom 1.5 um" in result.told[0]
    (fits,) = post(book, draft("candidate", "C-2", candidate(made, "1.0")))
    assert fits.told == ()


def test_a_floor_and_an_offset_are_of_the_right_kind(book: Book) -> None:
    from recondition.amounts.units import UnitMismatch  # noqa: PLC0415 - only here
    from recondition.condition.film import NotAFilm  # noqa: PLC0415 - only here
    from recondition.ledger.documents import Document, DocumentKind  # noqa: PLC0415 - only here

    made = shop(book)
    heavy = Quantity.of("5", "kg")
    with book.reading() as conn:
        car = reading.one(conn, "vehicle", "0007").entry
    refused(book, UnitMismatch, "vehicle", replace(car, film_floor=heavy), ref="0007")
    refused(book, NotAFilm, "vehicle", replace(car, film_floor=um("0")), ref="0007")
    refused(book, UnitMismatch, "panel", Panel(vehicle=made.own, panel="roof", film_floor=heavy))
    odd = Document(vehicle=made.own, kind=DocumentKind.OTHER, title=Words("n"), camera_ahead=heavy)
    refused(book, UnitMismatch, "document", odd)
    refused(book, UnitMismatch, "labour", replace(polish(made), film_removal=heavy))
