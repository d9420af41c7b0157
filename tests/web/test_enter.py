"""A row of any sheet, entered on a page."""

from __future__ import annotations

import io
import re
from typing import TYPE_CHECKING

import pytest

from recondition.book import reading
from recondition.book.one_record import found
from recondition.intake.sheets import SHEETS
from recondition.web.enter import GROUPS
from recondition.web.inside import inside
from recondition.web.permits import ENTER
from tests.web.visitors import post, post_json, signed_in

if TYPE_CHECKING:
    from werkzeug.test import TestResponse

    from recondition.book.engine import Book

FINDING = {"vehicle": "0007", "panel": "bonnet", "defect": "swirls", "severity": "2"}
PNG = bytes.fromhex(
    "89504e470d0a1a0a0000000d4948445200000001000000010802000000907753de0000000c49444154789c63606060"
    "000000040001f61738550000000049454e44ae426082"
)


def _text(answer: TestResponse) -> str:
    return answer.get_data(as_text=True)


def _key(page: str) -> str:
    found = re.search(r'name="key" value="([0-9a-f]{32})"', page)
    assert found is not None
    return found[1]


def test_a_dealer_sees_the_form_of_every_sheet(shop_book: Book) -> None:
    dealer = signed_in(shop_book)
    listed = _text(dealer.get("/enter"))
    for sheet in SHEETS:
        address = f"/enter/{sheet.name.replace(' ', '-')}"
        assert address in listed
        page = dealer.get(address, query_string={"vehicle": "0007"})
        assert page.status_code == 200, sheet.name
        names = re.findall(r'name="([a-z_.]+)"', _text(page))
        assert {c.field for c in sheet.columns} <= set(names)


def test_every_sheet_stands_in_one_group_and_a_group_of_none_is_not_shown(shop_book: Book) -> None:
    grouped = [name for names in GROUPS.values() for name in names]
    assert sorted(grouped) == sorted(sheet.name for sheet in SHEETS)
    headings = re.findall(r"<h2>(.*?)</h2>", _text(signed_in(shop_book).get("/enter")))
    assert headings == list(GROUPS)
    seller = signed_in(shop_book, "seller").get("/enter")
    assert set(re.findall(r"<h2>(.*?)</h2>", _text(seller))) < set(GROUPS)


def test_a_row_is_posted_and_its_record_is_shown(shop_book: Book) -> None:
    dealer = signed_in(shop_book)
    key = _key(_text(dealer.get("/enter/findings?vehicle=0007")))
    answer = post(dealer, "/enter/findings", key=key, **FINDING)
    assert answer.status_code == 303, _text(answer)
    page = _text(dealer.get(answer.headers["Location"]))
    assert "swirls" in page
    assert ": new" in page
    again = post(dealer, "/enter/findings", key=key, **FINDING)
    assert again.headers["Location"] == answer.headers["Location"]
    assert "already there" in _text(dealer.get(again.headers["Location"]))


def test_a_refusal_keeps_what_was_typed_and_marks_the_field(shop_book: Book) -> None:
    dealer = signed_in(shop_book)
    with shop_book.reading() as conn:
        before = len(reading.all_refs(conn, "finding"))
    given = FINDING | {"extent": "wide", "defect": "a long scratch", "panel": ""}
    answer = post(dealer, "/enter/findings", **given)
    page = _text(answer)
    assert answer.status_code == 422
    assert "a long scratch" in page
    assert 'value="wide"' in page
    marked = re.findall(r'name="(\w+)"[^>]*aria-invalid="true"', page)
    assert sorted(marked) == ["extent", "panel"]
    with shop_book.reading() as conn:
        assert len(reading.all_refs(conn, "finding")) == before


def test_another_row_goes_back_to_the_form(shop_book: Book) -> None:
    dealer = signed_in(shop_book)
    answer = post(dealer, "/enter/findings", another="yes", **FINDING)
    assert answer.headers["Location"] == "/enter/findings?vehicle=0007&panel=bonnet"


def test_a_form_goes_on_to_pages_of_this_site_alone(shop_book: Book) -> None:
    dealer = signed_in(shop_book)
    answer = post(dealer, "/enter/findings", onward="/vehicles/0007", **FINDING)
    assert answer.headers["Location"] == "/vehicles/0007"
    split = "/a\r\nb: c"
    for wanted in ("https://elsewhere.test/", "//elsewhere.test", "/\\elsewhere.test", split):
        assert inside(wanted, "/own") == "/own"
    answer = post(dealer, "/enter/findings", onward="//elsewhere.test/", **FINDING)
    assert answer.headers["Location"].startswith("/records/finding/")


def test_a_photograph_comes_with_its_file(shop_book: Book) -> None:
    dealer = signed_in(shop_book)
    row = {"vehicle": "0007", "kind": "photograph", "title": "left door", "finding": "F-001"}
    file = (io.BytesIO(PNG), "../..\u0000/..")
    answer = post(dealer, "/enter/documents", file=file, **row)
    assert answer.status_code == 303, _text(answer)
    page = _text(dealer.get(answer.headers["Location"]))
    address = re.search(r"/files/[0-9a-f]{64}", page)
    assert address is not None
    with dealer.get(address[0]) as kept:
        assert kept.data == PNG
    broken = post(dealer, "/enter/documents", file=(io.BytesIO(b"\x89PNG no"), "x.png"), **row)
    assert broken.status_code == 422


def test_a_record_that_is_there_is_changed_by_its_own_row(shop_book: Book) -> None:
    dealer = signed_in(shop_book)
    page = _text(dealer.get("/enter/findings?ref=F-001"))
    assert "a new version is made" in page
    with shop_book.reading() as conn:
        before = reading.one(conn, "finding", "F-001")
    row = {"ref": "F-001", "vehicle": "0007", "panel": before.entry.panel, "defect": "deeper"}
    assert post(dealer, "/enter/findings", **row).status_code == 303
    with shop_book.reading() as conn:
        after = reading.one(conn, "finding", "F-001")
    assert (after.version, after.entry.defect) == (before.version + 1, "deeper")


@pytest.mark.parametrize("role", ["preparer", "bookkeeper", "seller"])
def test_a_role_enters_its_own_sheets_alone(shop_book: Book, role: str) -> None:
    from recondition.book.roles import RIGHTS, Role  # noqa: PLC0415 - only here

    visitor = signed_in(shop_book, role)
    for sheet in SHEETS:
        mine = bool(RIGHTS[Role(role)] & set(ENTER[sheet.name]))
        address = f"/enter/{sheet.name.replace(' ', '-')}"
        assert visitor.get(address).status_code == (200 if mine else 403), sheet.name
        if not mine:
            assert post(visitor, address).status_code == 403


def test_a_preparer_has_no_fields_of_money(shop_book: Book) -> None:
    preparer = signed_in(shop_book, "preparer")
    page = _text(preparer.get("/enter/labour?vehicle=0007"))
    assert 'name="quantity"' in page
    assert 'name="billed"' not in page
    row = {"vehicle": "0007", "quantity": "30 min", "words": "wash", "unlinked": "whole vehicle"}
    refused = post(preparer, "/enter/labour", billed="1.00", **row)
    assert refused.status_code == 403
    assert "billed" in _text(refused)


def test_what_a_login_may_not_see_stays_in_a_new_version(shop_book: Book) -> None:
    order = {"ref": "E-950", "vehicle": "0007", "what": "part", "name": "a lens", "quoted": "87.65",
             "asked_on": "2030-01-02", "ordered_on": "2030-01-03"}  # fmt: skip
    dealer = signed_in(shop_book)
    made = post(dealer, "/enter/orders", **order)
    assert made.status_code == 303, _text(made)
    preparer = signed_in(shop_book, "preparer")
    form = _text(preparer.get("/enter/orders?ref=E-950"))
    assert "a lens" in form
    assert "87.65" not in form
    del order["quoted"]
    arrived = post(preparer, "/enter/orders", **order, received_on="2030-01-09")
    assert arrived.status_code == 303, _text(arrived)
    with shop_book.reading() as conn:
        entry = reading.one(conn, "order", "E-950").entry
    assert (str(entry.quoted), entry.received_on.isoformat()) == ("87.65", "2030-01-09")


def test_a_new_version_of_a_document_keeps_its_file(shop_book: Book) -> None:
    dealer = signed_in(shop_book)
    with shop_book.reading() as conn:
        before = found(conn, "document", "D-001")
    entry = before.stored.entry
    row = {"ref": "D-001", "vehicle": "0007", "kind": entry.kind.value, "title": "another title"}
    assert "stays, unless" in _text(dealer.get("/enter/documents?ref=D-001"))
    answer = post(dealer, "/enter/documents", **row)
    assert answer.status_code == 303, _text(answer)
    with shop_book.reading() as conn:
        after = found(conn, "document", "D-001")
    assert (after.stored.version, after.stored.entry.title) == (2, "another title")
    assert before.file is not None
    assert after.file is not None
    assert after.file.sha256 == before.file.sha256
    assert after.stored.entry.file_name == entry.file_name


def test_a_paper_that_is_shut_is_not_changed_either(shop_book: Book) -> None:
    preparer = signed_in(shop_book, "preparer")
    with shop_book.reading() as conn:
        papers = [d for d in reading.stored(conn, "document") if d.entry.kind.value == "invoice"]
    paper = papers[0]
    assert str(paper.entry.title) not in _text(preparer.get(f"/enter/documents?ref={paper.ref}"))
    row = {"ref": paper.ref, "vehicle": "0007", "kind": "photograph", "title": "x"}
    answer = post(preparer, "/enter/documents", file=(io.BytesIO(PNG), "x.png"), **row)
    assert answer.status_code == 404


def test_a_kept_form_is_entered_once_on_the_day_of_its_button(shop_book: Book) -> None:
    preparer = signed_in(shop_book, "preparer")
    page = _text(preparer.get("/enter/gloss-readings?vehicle=0007"))
    assert "data-keep" in page
    day = re.search(r'<input id="f-read_on"[^>]*>', page)
    assert day is not None
    assert 'value=""' in day[0]
    assert " required" not in day[0]
    kept = {"vehicle": "0007", "panel": "bonnet", "readings": "84.5", "unit": "GU20",
            "key": "gloss-1", "onward": "/bench/0007",
            "pressed": "2024-02-28T23:58:00-05:00"}  # fmt: skip
    said = [post_json(preparer, "/enter/gloss-readings", **kept).json for _ in range(2)]
    assert [each["said"][0].rpartition(": ")[2] for each in said] == ["new", "already there"]
    assert said[0]["to"] == "/bench/0007"
    ref = said[0]["said"][0].split()[2].rstrip(":")
    with shop_book.reading() as conn:
        entry = reading.one(conn, "gloss reading", ref).entry
    assert entry.read_on.isoformat() == "2024-02-28"
    other = post_json(preparer, "/enter/gloss-readings", **kept | {"readings": "80"})
    assert other.status_code == 422
    assert "this form was sent before, and made gloss reading" in other.json["what"]


def test_a_form_says_its_units_once_and_leads_with_what_a_row_is_about(shop_book: Book) -> None:
    dealer = signed_in(shop_book)

    def first(name: str) -> str:
        """Give the part of a form that stands before what may be left empty."""
        return dealer.get(f"/enter/{name}").get_data(as_text=True).split('<details class="more"')[0]

    assert 'name="price"' in first("sales")
    assert 'name="uplift.likely"' in first("candidates")
    terms = first("terms")
    assert 'as-is price low <span class="unit">(USD)</span>' in terms
    assert "(money)" not in terms
    assert 'labour cost rate per hour <span class="unit">(USD)</span>' in terms
    assert 'hours low <span class="must">' in first("candidates")
    whole = dealer.get("/enter/consumables").get_data(as_text=True)
    assert 'weight before <span class="unit">(g)</span>' in whole
