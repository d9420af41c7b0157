"""Work histories on the pages: trial copies, consents, hidden places, release, withdrawal."""

from __future__ import annotations

import io
import re
import zipfile
from typing import TYPE_CHECKING, Any

import pytest

from recondition.book import reading, trail
from recondition.book.editions import editions_of, redactions_of
from recondition.book.keys import lock_key, no_passphrase, open_key
from recondition.book.questions import vehicle_of
from recondition.history.folder import check_folder
from recondition.history.proof import head_hash
from recondition.web import previews
from recondition.web.long_work import Task
from recondition.web.released import folder_of
from tests.web.visitors import but_chance, mark_of, post, post_json, signed_in
from tests.web.working import awaited, ended

if TYPE_CHECKING:
    from pathlib import Path

    from flask.testing import FlaskClient
    from werkzeug.test import TestResponse

    from recondition.book.engine import Book
    from recondition.history.records import Edition
    from recondition.ledger.drafts import Stored
    from recondition.web.long_work import Outcome

PRIVATE = "bought from a widow in Harrow Lane"
WORK_SECONDS = 60


@pytest.fixture
def book(released_book: Book) -> Book:
    """Give the book with one car and its first edition."""
    return released_book


def text(answer: TestResponse) -> str:
    """Give a page's text."""
    return answer.get_data(as_text=True)


def editions(book: Book, stock: str = "0007") -> list[Stored[Edition]]:
    with book.reading() as conn:
        return editions_of(conn, vehicle_of(conn, stock).id)


def tried(client: FlaskClient, stock: str = "0007", **fields: str) -> dict[str, Any]:
    """Have a trial copy made, and wait for the end of the work."""
    _, told = ended(client, post(client, f"/histories/{stock}/look", **fields))
    return told


def looked(client: FlaskClient, stock: str = "0007", **fields: str) -> str:
    """Make a trial copy and give the mark under which it may be released."""
    told = tried(client, stock, **fields)
    assert told["state"] == "done", told
    page = text(client.get(f"/histories/{stock}/release"))
    assert 'name="seen" value="' in page, page
    return page.split('name="seen" value="')[1].split('"')[0]


def released_by(client: FlaskClient, stock: str = "0007", **fields: str) -> dict[str, Any]:
    """Release what was looked at, and wait for the end of the work."""
    _, told = ended(client, post(client, f"/histories/{stock}/release", **fields))
    return told


def released_here(book: Book, folder: Path, mark: str, **more: str) -> Outcome:
    """Release what was looked at as the work's own process does, but in this one."""
    given = {"vehicle": "0007", "person": "MR", "seen": mark, "private": "yes"} | more
    task = Task(book=book, arguments=given, folder=folder, told=lambda _words, _done, _of: None)
    return previews.released(task)


def changed(client: FlaskClient, shows: str = "hours") -> None:
    """Let something public change."""
    row = {"shows": shows, "given_by": "the owner, by message", "vehicle": "0007"}
    assert post(client, "/histories/0007/consents", **row).status_code == 303


def test_every_vehicle_is_listed_with_what_became_of_its_editions(book: Book) -> None:
    client = signed_in(book)
    page = text(client.get("/histories"))
    assert "Edition 1, 2031-03-04: stands" in page
    assert "No edition yet." in page
    post(client, "/histories/0007/editions/1/withdraw", reason="a wrong panel was named")
    page = text(client.get("/histories"))
    assert "withdrawn on 2031-03-04: a wrong panel was named" in page


def test_only_who_may_release_sees_work_histories(book: Book) -> None:
    for role, status in (("preparer", 403), ("bookkeeper", 403), ("seller", 200), ("dealer", 200)):
        client = signed_in(book, role)
        picture = "/histories/0007/pictures/D-001"
        paths = ("/histories", "/histories/0007", "/histories/0007/release", picture,
                 f"{picture}/shown.jpg")  # fmt: skip
        assert {client.get(path).status_code for path in paths} == {status}, role
    assert post(signed_in(book, "preparer"), "/histories/0007/look").status_code == 403


def test_a_trial_copy_is_what_was_released_where_nothing_changed(book: Book) -> None:
    client = signed_in(book)
    assert client.get("/histories/0007/look/sheet").status_code == 404
    looked(client)
    assert "this is edition 1 again" in text(client.get("/histories/0007"))
    sheet = client.get("/histories/0007/look/sheet")
    policy = sheet.headers["Content-Security-Policy"]
    assert policy.startswith("sandbox allow-scripts; default-src 'none'")
    assert "connect-src" not in policy
    assert "frame-ancestors 'self'" in policy
    out = client.get("/histories/0007/editions/1/work-history.html")
    assert out.data == sheet.data
    assert len(editions(book)) == 1


def test_what_is_released_is_kept_whole_and_handed_out_as_it_was(
    book: Book, tmp_path: Path
) -> None:
    client = signed_in(book)
    changed(client)
    told = released_here(book, tmp_path, looked(client))
    made = editions(book)[-1].entry
    assert made.number == 2
    assert {f"Short code: {made.code}", f"Fingerprint of the key: {made.fingerprint}"} <= set(
        told.said
    )
    changed(client, "product names")
    answer = client.get("/histories/0007/editions/2/work-history.zip")
    assert "work-history-0007-edition-2.zip" in answer.headers["Content-Disposition"]
    with zipfile.ZipFile(io.BytesIO(answer.data)) as archive:
        files = {name: archive.read(name) for name in archive.namelist()}
    verdict = check_folder(files)
    assert verdict.holds, verdict.faults
    assert head_hash(verdict.head or {}).hex() == made.head
    assert [name for name in files if name.startswith("work-history-evidence/")]
    pdf = client.get("/histories/0007/editions/2/work-history.pdf")
    assert pdf.data == files["work-history.pdf"]
    for path in ("2/shop.book", "3/work-history.pdf", "1/work-history.pdf"):
        assert client.get(f"/histories/0007/editions/{path}").status_code == 404, path
    with book.reading() as conn:
        noted = [(row.action, row.subject) for row in trail.listed(conn, limit=10)]
    assert ("work history released", "0007") in noted
    assert ("work history downloaded", "0007") in noted
    # A kept file that was changed is not handed out.
    kept = folder_of(book) / f"{made.head}.zip"
    content = bytearray(kept.read_bytes())
    content[len(content) // 2] ^= 1
    kept.write_bytes(content)
    client.application.extensions.pop("recondition-released")
    assert client.get("/histories/0007/editions/2/work-history.json").status_code == 404


@pytest.mark.long
def test_a_release_is_made_by_a_process_of_its_own_with_a_locked_key(book: Book) -> None:
    lock_key(book, open_key(book, no_passphrase), "wax and wane")
    client = signed_in(book)
    changed(client)
    mark = looked(client, passphrase="wax and wane")  # noqa: S106 - of an invented shop
    assert post(client, "/histories/0007/release", seen=mark).status_code == 422
    told = released_by(client, seen=mark, passphrase="wax and wane")  # noqa: S106 - as above
    assert told["state"] == "done", told
    assert "wax and wane" not in str(told)
    with book.reading() as conn:
        assert "wax and wane" not in str(trail.listed(conn, limit=100))
    # It was kept when it was released, so it needs no passphrase now.
    assert client.get("/histories/0007/editions/2/work-history.pdf").status_code == 200


def test_nothing_is_released_that_was_not_looked_at(book: Book) -> None:
    client = signed_in(book)
    mark = looked(client)
    assert post(client, "/histories/0007/release", seen="").status_code == 422
    changed(client)
    answer = post(client, "/histories/0007/release", seen=mark)
    assert answer.status_code == 422
    assert "something was recorded since" in text(answer)
    assert len(editions(book)) == 1


def test_a_script_has_a_trial_copy_made_looks_and_releases(book: Book) -> None:
    client = signed_in(book)
    headers = {"X-CSRF": mark_of(client)}
    changed(client)

    def worked(kind: str, **wanted: str) -> Any:
        begun = client.post(
            f"/api/v1/jobs/{kind}", json={"vehicle": "0007"} | wanted, headers=headers
        )
        assert begun.status_code == 202, begun.json
        told = awaited(client, f"/api/v1/jobs/{begun.json['id']}", lambda now: now["ended"])
        assert told["state"] == "done", told
        return told

    trial = worked("trial-copy")
    with client.get(trial["file"]["address"]) as page:
        assert page.mimetype == "text/html"
        assert b"trial copy, no edition" in page.data
    told = worked("work-history", seen=trial["result"]["seen"])
    assert told["result"]["number"] == "2"
    assert len(editions(book)) == 2


def test_a_locked_key_asks_for_its_passphrase_and_repeats_none(book: Book) -> None:
    lock_key(book, open_key(book, no_passphrase), "wax and wane")
    client = signed_in(book)
    assert "Passphrase of the signing key" in text(client.get("/histories/0007"))
    answer = post(client, "/histories/0007/look", passphrase="")
    assert answer.status_code == 422
    assert "needs its passphrase" in text(answer)
    page, told = ended(client, post(client, "/histories/0007/look", passphrase="another"))  # noqa: S106
    assert told["state"] == "not done"
    said = text(client.get(page))
    assert "does not open" in said
    assert "another" not in said
    assert 'href="/histories/0007">Go back' in said


def test_what_the_search_finds_is_shown_in_full_to_some_and_by_its_sort_to_others(
    book: Book,
) -> None:
    from recondition.intake.form import one_row  # noqa: PLC0415 - only here

    row = {"vehicle": "0007", "panel": "roof", "defect": "dull paint", "severity": "1",
           "found_on": "2031-03-01", "found_by": "MR", "words": PRIVATE}  # fmt: skip
    made = one_row(book, "findings", row, author_ref="MR", ref=None)
    assert made.refused is None
    seller, dealer = signed_in(book, "seller"), signed_in(book)
    tried(seller)
    page = text(seller.get("/histories/0007"))
    assert "Somebody who may see costs and notes has to look at it" in page
    assert "widow" not in page
    assert "because-" not in page
    assert 'name="seen"' not in text(seller.get("/histories/0007/release"))
    page = text(dealer.get("/histories/0007"))
    assert f"note: {PRIVATE}" in page
    code = page.split('name="because-')[1].split('"')[0]
    assert post(seller, "/histories/0007/let-pass", **{f"because-{code}": "x"}).status_code == 403
    answer = post(dealer, "/histories/0007/let-pass", **{f"because-{code}": "she agreed to it"})
    assert answer.status_code == 303
    looked(dealer)
    assert "she agreed to it" in text(dealer.get("/histories/0007"))
    assert "she agreed" not in text(seller.get("/histories/0007"))


def test_a_seller_sees_no_private_words_and_no_amounts(book: Book) -> None:
    dealer = signed_in(book)
    changed(dealer)
    post(dealer, "/histories/0007/pictures/D-001", from_left="10", from_top="10", width="20",
         height="20", why="plate of a neighbour")  # fmt: skip
    seller = signed_in(book, "seller")
    looked(seller)
    pages = [
        text(seller.get(path))
        for path in ("/histories", "/histories/0007", "/histories/0007/release",
                     "/histories/0007/pictures/D-001")
    ]  # fmt: skip
    for page in pages:
        for secret in ("by message", "neighbour", "widow", "240", "18.50", "41.00"):
            assert secret not in but_chance(page)
    for page in (
        text(dealer.get("/histories/0007")),
        text(dealer.get("/histories/0007/pictures/D-001")),
    ):
        assert "by message" in page or "neighbour" in page


def test_a_consent_is_noted_and_ended(book: Book) -> None:
    client = signed_in(book)
    row = {"shows": "person", "given_by": "asked at the bench", "vehicle": "0007", "person": "HK"}
    post(client, "/histories/0007/consents", **row)
    page = text(client.get("/histories/0007"))
    assert "person: HK" in page
    answer = post(client, "/histories/0007/consents/K-001/end", withdrawn_on="2031-05-01")
    assert answer.status_code == 303
    with book.reading() as conn:
        (found,) = reading.stored(conn, "consent")
    assert str(found.entry.withdrawn_on) == "2031-05-01"
    assert (found.entry.given_by, found.version) == ("asked at the bench", 2)
    answer = post(client, "/histories/0007/consents", shows="person", given_by="nobody")
    assert answer.status_code == 422
    assert "names one person" in text(answer)
    assert 'value="nobody"' in text(answer) or ">nobody<" in text(answer)


def test_a_place_is_hidden_on_a_picture_and_shown_again(book: Book) -> None:
    client = signed_in(book, "seller")
    where = "/histories/0007/pictures/D-001"
    shown = client.get(f"{where}/shown.jpg")
    assert shown.mimetype == "image/jpeg"
    assert b"Exif" not in shown.data
    box = {"from_left": "12.5", "from_top": "0", "width": "25", "height": "10"}
    assert post(client, where, **box, why="plate").status_code == 303
    with book.reading() as conn:
        ((place,),) = redactions_of(conn, vehicle_of(conn, "0007").id).values()
    assert [str(each) for each in (place.from_left, place.width)] == ["12.5", "25"]
    assert 'class="hidden-place" x="12.5"' in text(client.get(where))
    answer = post(client, where, **(box | {"width": "95"}), why="too wide")
    assert answer.status_code == 422
    assert "is no place on a picture" in text(answer)
    assert 'value="95"' in text(answer)
    assert post(client, f"{where}/RD-001/show").status_code == 303
    with book.reading() as conn:
        assert not redactions_of(conn, vehicle_of(conn, "0007").id)
    # A file that no buyer sees is no picture here.
    assert client.get("/histories/0007/pictures/D-005").status_code == 404
    assert client.get("/histories/0008/pictures/D-001").status_code == 404


def test_a_withdrawal_says_why_holds_nothing_private_and_gives_a_signed_notice(book: Book) -> None:
    dealer, seller = signed_in(book), signed_in(book, "seller")
    where = "/histories/0007/editions/1"
    refused = post(seller, f"{where}/withdraw", reason=f"was {PRIVATE}")
    assert refused.status_code == 422
    told, _, typed = text(refused).partition("holds something private")
    assert typed
    assert "Harrow" not in told
    assert f'value="was {PRIVATE}"' in typed  # what was typed is there to be put right
    assert post(dealer, f"{where}/withdraw", reason=" ").status_code in (400, 422)
    assert post(dealer, f"{where}/notice").status_code == 422
    assert post(dealer, f"{where}/withdraw", reason="a wrong panel was named").status_code == 303
    notice = post(dealer, f"{where}/notice")
    assert b"a wrong panel was named" in notice.data
    assert "work-history-withdrawn.json" in notice.headers["Content-Disposition"]


def test_what_is_sent_twice_from_one_page_is_entered_once(book: Book) -> None:
    client = signed_in(book)
    place = {"from_left": "10", "from_top": "10", "width": "20", "height": "20", "why": "plate"}
    consent = {"shows": "hours", "given_by": "asked at the bench", "vehicle": "0007"}
    for _ in range(2):
        post(client, "/histories/0007/pictures/D-001", key="page-1", **place)
        post(client, "/histories/0007/consents", key="page-1", **consent)
    # Gone back to, and another place drawn: that is another one.
    post(client, "/histories/0007/pictures/D-001", key="page-1", **place | {"from_left": "50"})
    with book.reading() as conn:
        kept = [len(reading.stored(conn, kind)) for kind in ("redaction", "consent")]
    assert kept == [2, 1]
    for at, form in (("/histories/0007", "consents"), ("/histories/0007/pictures/D-001", "hide")):
        assert form in text(client.get(at))
        assert re.search(r'name="key" value="[0-9a-f]{32}"', text(client.get(at)))


def test_a_consent_of_a_day_ahead_is_asked_about(book: Book) -> None:
    client = signed_in(book)
    consent = {"shows": "hours", "given_by": "asked", "vehicle": "0007", "given_on": "2099-11-27"}
    said = post_json(client, "/histories/0007/consents", **consent).get_json()["said"]
    assert "given 2099-11-27 lies ahead of today. Was another day meant?" in said[1]


def test_the_page_that_asks_names_whom_the_sheet_may_name(book: Book) -> None:
    client = signed_in(book)
    row = {"shows": "person", "given_by": "asked", "vehicle": "0007", "person": "HK"}
    post(client, "/histories/0007/consents", given_on="2031-03-04", **row)
    with book.reading() as conn:
        name = str(reading.one(conn, "person", "HK").entry.name)
    looked(client)
    page = text(client.get("/histories/0007/release"))
    assert f"<dt>May be shown besides</dt><dd>person {name}</dd>" in page
