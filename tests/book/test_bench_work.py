"""Products, order of work, findings, custody and photographs through a book, on both engines."""

from __future__ import annotations

import io
from dataclasses import replace
from datetime import timedelta
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from PIL import Image

from recondition.amounts import Quantity
from recondition.book import reading
from recondition.book.posting import Poster, Result
from recondition.condition.cautions import Stopped
from recondition.condition.custody import (
    CustodyItem,
    CustodyMove,
    ItemClass,
    ReleasedAlready,
)
from recondition.condition.findings import Ended, NothingMovedIt, Outcome
from recondition.condition.order import RuleKind, WorkRule
from recondition.condition.panels import Finish, Panel, Substrate
from recondition.fields import Id, Words
from recondition.ledger.lines import Consumable, Reversal
from recondition.materials.products import Product
from recondition.reports.thumbnails import thumbnail
from tests.book.make import (
    ACTING,
    DAY,
    Shop,
    add,
    draft,
    labour,
    line,
    links,
    post,
    refused,
    shop,
    usd,
)
from tests.pictures import photograph

if TYPE_CHECKING:
    from pathlib import Path

    from recondition.book.engine import Book
    from recondition.ledger.drafts import Draft

LATER = DAY + timedelta(days=1)


def polish(made: Shop, **more: Any) -> Any:
    own = labour(made.own, made.person, "1")
    return replace(own, panel="bonnet", operation="polish", work_date=LATER, **more)


def tried(book: Book, *drafts: Draft) -> list[Result]:
    """Post a batch, and give what became of each of it."""
    with book.writing() as conn:
        return Poster(book, conn, ACTING).post_many(drafts)


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
