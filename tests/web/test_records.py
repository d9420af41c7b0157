"""The page of one record: what it says, its chain, what it hangs together with, taking it back."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

import pytest

from recondition.book import one_record, reading
from recondition.book.context import NotThere
from recondition.book.engine import open_book
from recondition.book.kinds import KINDS
from recondition.intake.sheets import SHEETS
from recondition.web.record_view import moment_text
from recondition.web.taking_back import Way, undo_of
from tests.places import copied_book, opened
from tests.web.visitors import post, signed_in

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from recondition.book.engine import Book


@pytest.fixture(scope="module")
def book(demo: tuple[Path, str], tmp_path_factory: pytest.TempPathFactory) -> Iterator[Book]:
    to = tmp_path_factory.mktemp("records") / "demo.book"
    made = opened(copied_book(demo[0] / "made" / "demo.book", to), keep=True)
    yield made
    made.close()


def _text(client: Any, address: str) -> str:
    answer = client.get(address)
    assert answer.status_code == 200, address
    return str(answer.get_data(as_text=True))


def test_a_page_says_every_field_and_the_chain(book: Book) -> None:
    dealer = signed_in(book)
    with book.reading() as conn:
        finding = one_record.found(conn, "finding", "F-001")
    page = _text(dealer, "/records/finding/F-001")
    entry = finding.stored.entry
    for text in (entry.panel, entry.defect, entry.found_on.isoformat(), finding.versions[0].hash):
        assert text in page
    assert "vehicle 0007" in page
    for each in finding.named_by:
        assert f"/records/{each.kind.replace(' ', '-')}/{each.ref}" in page


def test_a_moment_is_written_as_people_read_it(book: Book) -> None:
    dealer = signed_in(book)
    with book.reading() as conn:
        whole = one_record.found(conn, "terms", reading.all_refs(conn, "terms")[0])
    entered = whole.versions[0].recorded_at
    page = _text(dealer, f"/records/terms/{whole.stored.ref}")
    assert f"{entered[:10]} {entered[11:16]} {entered[-6:]}" in page
    assert not re.search(r">[^<]*\d{4}-\d\d-\d\dT\d", page)
    assert moment_text("2031-03-04T17:30:05.25Z") == "2031-03-04 17:30 Z"
    assert moment_text("2031-03-04") == "2031-03-04"


def test_every_kind_of_the_demo_has_a_page_and_says_how_it_is_undone(book: Book) -> None:
    dealer = signed_in(book)
    with book.reading() as conn:
        firsts = {kind: reading.all_refs(conn, kind)[:1] for kind in KINDS}
    shown = 0
    for kind, refs in firsts.items():
        for ref in refs:
            page = _text(dealer, f"/records/{kind.replace(' ', '-')}/{ref}")
            assert "Put it right" in page
            shown += 1
    assert shown > 30


def test_every_kind_is_undone_in_some_way() -> None:
    class _Any:
        kind = ""

    rights = frozenset({*_every_right()})
    sheets = {sheet.kind for sheet in SHEETS}
    for name, kind in KINDS.items():
        stored: Any = _Any()
        stored.kind = name
        undo = undo_of(stored, "", rights)
        assert undo.words
        if not kind.once and name in sheets:
            assert undo.way is Way.VERSION
    stored = _Any()
    stored.kind = "labour"
    assert undo_of(stored, "", rights).way is Way.REVERSAL
    assert undo_of(stored, "L-001-reversed", rights).way is Way.NONE


def _every_right() -> list[Any]:
    from recondition.book.roles import Right  # noqa: PLC0415 - only here

    return list(Right)


def test_a_line_is_taken_back_from_its_page(book: Book) -> None:
    dealer = signed_in(book)
    with book.reading() as conn:
        lines = [line for line in reading.lines(conn) if line.kind == "sublet"]
        line = next(each for each in lines if not each.reversed_by)
    address = f"/records/sublet/{line.ref}"
    page = _text(dealer, f"/records/line/{line.ref}")
    assert "Take it back" in page
    assert str(line.priced.cost) in page
    empty = post(dealer, f"{address}/take-back", why=" ")
    assert empty.status_code in (400, 422)
    assert "reason" in empty.get_data(as_text=True)
    gone = post(dealer, f"{address}/take-back", why="billed by another shop")
    assert gone.status_code == 303
    reversal = _text(dealer, gone.headers["Location"])
    assert "billed by another shop" in reversal
    after = _text(dealer, address)
    assert f"It was taken back by {line.ref}-reversed" in after
    assert "Take it back" not in after
    assert post(dealer, f"{address}/take-back", why="again").status_code in (409, 422)


def test_a_new_version_keeps_the_one_before(book: Book) -> None:
    dealer = signed_in(book)
    page = _text(dealer, "/records/finding/F-002")
    form = re.search(r'href="(/enter/finding[^"]*)"', page)
    assert form is not None
    body = _text(dealer, form[1])
    names = dict(re.findall(r'name="(vehicle|panel|found_on)" value="([^"]*)"', body))
    changed = post(dealer, "/enter/findings", ref="F-002", defect="seen anew", **names)
    assert changed.status_code == 303
    with book.reading() as conn:
        whole = one_record.found(conn, "finding", "F-002")
    assert len(whole.versions) == 2
    assert whole.versions[0].entry.defect != whole.versions[1].entry.defect
    assert "2 versions" in _text(dealer, "/records/finding/F-002")


def test_a_picture_is_shown_small_and_whole(book: Book) -> None:
    dealer = signed_in(book)
    page = _text(dealer, "/records/document/D-001")
    small = re.search(r'src="(/files/[0-9a-f]{64}/small)"', page)
    assert small is not None
    with dealer.get(small[1]) as picture:
        assert picture.mimetype == "image/jpeg"
        assert picture.data.startswith(b"\xff\xd8\xff")
    whole = small[1].removesuffix("/small")
    with dealer.get(whole) as kept:
        assert kept.headers["Cache-Control"] == "private, no-cache"
        tag = kept.headers["ETag"]
    with dealer.get(whole, headers={"If-None-Match": tag}) as again:
        assert again.status_code == 304
    assert dealer.get("/files/" + "0" * 64).status_code == 404
    assert dealer.get("/files/" + "0" * 64 + "/small").status_code == 404


def test_what_is_not_there_says_so(book: Book) -> None:
    dealer = signed_in(book)
    for address in ("/records/finding/F-9999", "/records/nothing/F-001", "/records/line/x"):
        assert dealer.get(address).status_code == 404
    with book.reading() as conn, pytest.raises(NotThere):
        one_record.found(conn, "nothing", "F-001")
    assert dealer.get("/records/finding/F-001%00").status_code == 400


def test_a_seller_sees_a_car_without_its_notes(book: Book) -> None:
    page = _text(signed_in(book, "seller"), "/records/vehicle/0007")
    assert "designation" in page
    assert "private note" not in page
    assert signed_in(book, "seller").get("/records/finding/F-001").status_code == 404


@pytest.mark.parametrize("address", ["/records/order/OR-001", "/records/receipt/RC-006"])
def test_no_link_leads_to_a_document_that_is_shut(book: Book, address: str) -> None:
    preparer, dealer = signed_in(book, "preparer"), signed_in(book)
    found = re.findall(r'href="(/records/document/[^"]+)"', _text(dealer, address))
    assert found
    page = _text(preparer, address)
    for each in found:
        there = preparer.get(each).status_code == 200
        assert (f'href="{each}"' in page) is there, each
    assert any(f'href="{each}"' not in page for each in found)
    for each in re.findall(r'href="(/records/[^"]+)"', page):
        assert preparer.get(each).status_code == 200, each


def test_what_each_version_changed_can_be_read(book: Book) -> None:
    dealer = signed_in(book)
    first = {"ref": "0099", "designation": "1960 Car", "holding": "own stock"}
    post(dealer, "/enter/vehicles", odometer_shown="23415", private_note="an aunt's", **first)
    post(dealer, "/enter/vehicles", **first | {"designation": "1960 Car again"})
    page = _text(dealer, "/records/vehicle/0099")
    assert "What version 2 changed" in page
    assert "1960 Car became 1960 Car again" in page
    assert "23415 became nothing" in page
    assert "an aunt&#39;s became nothing" in page
    other = _text(signed_in(book, "preparer"), "/records/vehicle/0099")
    assert "23415 became nothing" in other
    assert "aunt" not in other
    assert "What version" not in _text(dealer, "/records/finding/F-001")


def test_a_kept_file_of_a_book_that_is_named_by_a_relative_path_is_handed_out(
    book: Book, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert book.path is not None
    monkeypatch.chdir(book.path.parent)
    near = open_book(book.path.name)
    client = signed_in(near)
    with near.reading() as conn:
        kept = one_record.found(conn, "document", "D-001").file
    assert kept is not None
    sha256 = kept.sha256
    with client.get(f"/files/{sha256}") as answer:
        assert answer.status_code == 200
    near.close()
