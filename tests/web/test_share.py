"""Links for buyers: they show what was released of one vehicle, and nothing else to anybody."""

from __future__ import annotations

import io
import re
import zipfile
from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING

import pytest

from recondition.book import editions, reading, share_links
from recondition.book.keys import no_passphrase
from recondition.book.people import erase_person
from recondition.history.folder import check_folder
from recondition.intake.form import one_row
from recondition.reports.history_release import Wanted, release
from recondition.web.app import make_app
from recondition.web.released import folder_of, shown_to_buyer
from recondition.web.share import ADDRESSES_MAX, MISSES_MAX, WINDOW, Misses
from tests.web.visitors import app_of, but_chance, post, signed_in

if TYPE_CHECKING:
    from datetime import date

    from flask.testing import FlaskClient

    from recondition.book.engine import Book

NOTHING = "There is nothing here (any more)"


@pytest.fixture
def book(released_book: Book) -> Book:
    """Give the book with one car and its first edition."""
    return released_book


def link(client: FlaskClient, **fields: str) -> str:
    """Make a link on the page, and give the path of its address."""
    answer = post(client, "/histories/0007/links", **fields)
    page = answer.get_data(as_text=True)
    assert answer.status_code == 200, page
    assert answer.headers["Cache-Control"] == "no-store"
    found = re.search(r'value="http://localhost(/s/[A-Za-z0-9_-]{43})"', page)
    assert found, page
    return found[1]


def today(book: Book) -> date:
    return book.now().astimezone().date()


def test_a_link_shows_the_released_sheet_alone_to_somebody_without_a_login(book: Book) -> None:
    seller, buyer = signed_in(book, "seller"), app_of(book).test_client()
    path = link(seller, days="30")
    page = buyer.get(path)
    text = page.get_data(as_text=True)
    assert page.status_code == 200
    assert "1967 Dunmarch Warden estate" in text
    for within in ("<nav", "/sign-in", "/search", "csrf", "0007", "Sign out", "recondition "):
        assert within not in but_chance(text), within
    sheet = buyer.get(f"{path}/sheet")
    policy = sheet.headers["Content-Security-Policy"]
    assert policy.startswith(
        "sandbox allow-scripts allow-popups allow-downloads; default-src 'none'"
    )
    for answer in (page, sheet, buyer.get(f"{path}/work-history.pdf"), buyer.get("/s/none")):
        assert answer.headers["X-Robots-Tag"].startswith("noindex")
        assert answer.headers["Referrer-Policy"] == "no-referrer"
        assert answer.headers["Cache-Control"].startswith("private")
        assert "Set-Cookie" not in answer.headers
    packed = buyer.get(f"{path}/work-history.zip")
    with zipfile.ZipFile(io.BytesIO(packed.data)) as archive:
        verdict = check_folder({name: archive.read(name) for name in archive.namelist()})
    assert verdict.holds, verdict.faults
    assert verdict.head is not None
    assert verdict.head["edition"] == "1"
    assert buyer.get(f"{path}/work-history.json").data
    # The dealer who opens it sees what the buyer sees.
    assert signed_in(book).get(path).get_data(as_text=True) == text


def test_every_link_that_shows_nothing_answers_the_same(book: Book) -> None:
    client = signed_in(book)
    buyer = app_of(book).test_client()
    withdrawn, ended = link(client), link(client, days="1")
    with book.reading() as conn:
        ids = {one.ends_at is None: one.id for one in share_links.listed(conn, "0007")}
    post(client, f"/histories/0007/links/{ids[True]}/withdraw")
    later = replace(book, now=lambda: book.now() + timedelta(days=2))
    answers = [
        buyer.get(withdrawn),
        make_app(later).test_client().get(ended),
        buyer.get("/s/unknown"),
        buyer.get("/s/unknown/sheet"),
        buyer.get(f"{ended}/shop.book"),
        buyer.get(f"{withdrawn}/work-history.pdf"),
    ]
    assert {answer.status_code for answer in answers} == {404}
    assert len({answer.data for answer in answers}) == 1
    assert NOTHING in answers[0].get_data(as_text=True)


def test_a_withdrawn_edition_is_shown_by_no_link(book: Book) -> None:
    client = signed_in(book)
    paths = link(client), link(client, number="1")
    buyer = app_of(book).test_client()
    assert {buyer.get(path).status_code for path in paths} == {200}
    post(client, "/histories/0007/editions/1/withdraw", reason="a wrong panel was named")
    assert {buyer.get(path).status_code for path in paths} == {404}
    assert post(client, "/histories/0007/links", number="1").status_code == 422


def test_a_trial_copy_is_never_shown(book: Book) -> None:
    client = signed_in(book)
    answer = post(client, "/histories/0008/links")
    assert answer.status_code == 422
    token = share_links.make(book, "0008", number=None, by=None, days=None)
    post(client, "/histories/0008/look")
    assert app_of(book).test_client().get(f"/s/{token}").status_code == 404


@pytest.mark.parametrize("days", ["0", "-3", "9999", "soon", "9" * 5000])
def test_days_that_are_none_are_refused(book: Book, days: str) -> None:
    answer = post(signed_in(book), "/histories/0007/links", days=days)
    assert answer.status_code in (400, 422)
    assert "9" * 40 not in answer.get_data(as_text=True).split('class="refused"')[1][:600]
    with book.reading() as conn:
        assert not share_links.listed(conn)


@pytest.mark.parametrize("number", ["2", "one", "9" * 5000])
def test_a_link_to_an_edition_that_is_none_is_refused(book: Book, number: str) -> None:
    answer = post(signed_in(book), "/histories/0007/links", number=number)
    assert answer.status_code == 422
    said = answer.get_data(as_text=True)
    assert f"There is no edition {number[:20]} of vehicle 0007" in said.replace("there", "There")
    with book.reading() as conn:
        assert not share_links.listed(conn)


def test_without_an_edition_it_is_said_what_to_do_first(book: Book) -> None:
    said = post(signed_in(book), "/histories/0008/links").get_data(as_text=True)
    assert "vehicle 0008 has no edition yet that a buyer may see" in said
    assert "and release it there" in said
    assert "Check the spelling" not in said


AGREED = {"shows": "person", "given_on": "2026-01-01", "given_by": "asked"}
HOURS = {"vehicle": "0007", "person": "HK", "quantity": "1", "words": "wheels cleaned",
         "links": "F-001", "work_date": "2031-02-03"}  # fmt: skip


def row(book: Book, sheet: str, ref: str, **fields: str) -> None:
    """Enter one row, which is not refused."""
    made = one_row(book, sheet, {"ref": ref, **fields}, author_ref="MR", ref=ref)
    assert made.refused is None, made.refused


def released(book: Book) -> int | None:
    """Release the car's work history; give the number of its edition."""
    wanted = Wanted(vehicle="0007", made_on=today(book), author="MR")
    return release(book, wanted, no_passphrase).number


def shown(book: Book, number: int | None = None) -> bool:
    """Tell whether a buyer may see an edition, the newest without a number."""
    with book.reading() as conn:
        return shown_to_buyer(conn, "0007", number, today(book)) is not None


def erased(book: Book, ref: str) -> None:
    """Erase a person."""
    with book.reading() as conn:
        author = reading.id_of(conn, "person", "MR")
    erase_person(book, ref, author=author, ground="asked to be forgotten")


def test_what_is_no_longer_agreed_to_or_is_hidden_since_is_shown_to_nobody(book: Book) -> None:
    consent = {"shows": "hours", "given_on": "2026-01-01", "given_by": "by message"}
    row(book, "consents", "K-1", **consent)
    assert shown(book)
    row(book, "consents", "K-1", **consent, withdrawn_on="2026-02-01")
    assert not shown(book)
    row(book, "consents", "K-1", **consent)
    assert shown(book)
    box = {"vehicle": "0007", "document": "D-001", "from_left": "1", "from_top": "1",
           "width": "5", "height": "5", "why": "plate"}  # fmt: skip
    row(book, "redactions", "RD-1", **box)
    assert not shown(book)
    row(book, "redactions", "RD-1", **box, off="yes")
    assert shown(book)


def test_what_names_somebody_who_was_erased_is_deleted(book: Book) -> None:
    row(book, "consents", "K-1", **AGREED, person="HK")
    row(book, "labour", "L-9", **HOURS)
    assert released(book) == 2
    client = signed_in(book, person="MR")
    path = link(client)
    buyer = app_of(book).test_client()
    assert buyer.get(path).status_code == 200
    with book.reading() as conn:
        made = editions.editions_of(conn, reading.id_of(conn, "vehicle", "0007"))[-1].entry
    assert (folder_of(book) / f"{made.head}.zip").exists()
    erased(book, "HK")
    assert buyer.get(path).status_code == 404
    client.get("/histories")
    assert not (folder_of(book) / f"{made.head}.zip").exists()


def test_what_never_named_somebody_stays_when_a_consent_ends_or_they_are_erased(
    book: Book,
) -> None:
    row(book, "people", "ZZ", name="Zora Zell", role="owner")
    row(book, "consents", "K-1", **AGREED, person="ZZ")
    client = signed_in(book, person="MR")
    path = link(client)
    row(book, "consents", "K-1", **AGREED, person="ZZ", withdrawn_on="2026-02-01")
    assert app_of(book).test_client().get(path).status_code == 200
    erased(book, "ZZ")
    assert "No buyer sees it" not in client.get("/histories").get_data(as_text=True)
    assert app_of(book).test_client().get(path).status_code == 200


def test_what_says_a_name_in_its_words_rests_on_the_consent_to_it(book: Book) -> None:
    row(book, "people", "ZZ", name="Zora Zell", role="owner")
    row(book, "consents", "K-1", **AGREED, person="ZZ")
    row(book, "findings", "F-9", vehicle="0007", panel="bonnet", defect="stain", severity="1",
        words="as ZORA ZELL had said", area="exterior", found_on="2031-02-02")  # fmt: skip
    assert released(book) == 2
    assert shown(book)
    row(book, "consents", "K-1", **AGREED, person="ZZ", withdrawn_on="2026-02-01")
    assert (shown(book), shown(book, 1)) == (False, True)


def test_who_is_agreed_to_anew_may_be_named_again(book: Book) -> None:
    row(book, "consents", "K-1", **AGREED, person="HK")
    row(book, "labour", "L-9", **HOURS)
    assert released(book) == 2
    row(book, "consents", "K-1", **AGREED, person="HK", withdrawn_on="2026-02-01")
    assert not shown(book)
    row(book, "consents", "K-2", **AGREED, person="HK")
    assert shown(book)


def test_an_edition_made_after_an_erasure_is_shown_again(book: Book) -> None:
    row(book, "consents", "K-1", **AGREED, person="HK")
    row(book, "labour", "L-9", **HOURS)
    assert released(book) == 2
    erased(book, "HK")
    assert not shown(book)
    assert released(book) == 3
    assert shown(book)


def test_guesses_from_one_address_are_looked_up_so_often_and_no_more(book: Book) -> None:
    app = make_app(book)
    buyer = app.test_client()
    path = link(signed_in(book))
    guesses = [buyer.get(f"/s/guess-{number}") for number in range(MISSES_MAX)]
    assert {answer.status_code for answer in guesses} == {404}
    answer = buyer.get(path)
    assert answer.status_code == 429
    assert 0 < int(answer.headers["Retry-After"]) <= WINDOW.total_seconds()
    assert NOTHING in answer.get_data(as_text=True)
    other = app.test_client().get(path, environ_base={"REMOTE_ADDR": "192.0.2.7"})
    assert other.status_code == 200


def test_old_guesses_and_the_longest_unseen_addresses_are_forgotten(book: Book) -> None:
    misses, now = Misses(), book.now()
    for number in range(MISSES_MAX):
        misses.note("a", now + timedelta(seconds=number))
    assert misses.wait("a", now + timedelta(seconds=20)) == WINDOW.total_seconds() - 20
    assert misses.wait("a", now + WINDOW) == 0
    for number in range(ADDRESSES_MAX):
        misses.note(f"address {number}", now)
    assert misses.wait("a", now) == 0
