"""The condition bench through a real book, on both engines: what is stopped, what is told."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from recondition.amounts import Quantity
from recondition.book import questions, reading
from recondition.book.check import check
from recondition.book.posting import Poster, Result
from recondition.condition.bodies import PanelNotOnBody
from recondition.condition.film import NoHeadroom, NotReadable
from recondition.condition.findings import When
from recondition.condition.panels import Panel, Substrate
from recondition.fields import Id, Words
from recondition.ledger.lines import Reversal
from recondition.ledger.people import Setting
from recondition.reports.cautions import breaches
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
    post,
    refused,
    shop,
    usd,
)
from tests.book.make_bench import film, instrument, um

if TYPE_CHECKING:
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


def test_two_passes_of_one_day_are_told_apart_by_their_readings(book: Book) -> None:
    """Readings, a pass, readings, the next pass: all on the day on which they happen."""
    made = shop(book)
    add(book, "setting", "film floor", Setting(value="80"))
    gauge = add(book, "instrument", "G1", instrument())
    add(book, "film reading", "T-1", film(made.own, gauge, "90 91 92 93 94", when=When.BEFORE))
    add(book, "labour", "L-1", polish(made, "5.0", on=DAY))
    add(book, "film reading", "T-2", film(made.own, gauge, "84 86 87 88 89", when=When.AFTER))
    said = str(refused(book, NoHeadroom, "labour", polish(made, "4.0", on=DAY)))
    assert "headroom 1.5 um (lowest 84 - uncertainty 2.5 - floor 80)" in said
    assert "mean removed so far 5.2 um" in said
    add(book, "labour", "L-2", polish(made, "1.5", on=DAY))
    refused(book, NoHeadroom, "labour", polish(made, "0.1", on=DAY))
