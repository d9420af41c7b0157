"""What is decided on the plan's page: the owner's word, work left and taken up, the plan frozen."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from recondition.book import reading
from recondition.book.questions import vehicle_of
from recondition.intake.sheets import sheet_named
from recondition.intake.written import ids_named, texts_of
from tests.book.make import counted
from tests.web.test_plan_page import ready, state_of_plan
from tests.web.visitors import mark_of, post, post_json, signed_in

if TYPE_CHECKING:
    from flask.testing import FlaskClient

    from recondition.book.engine import Book
    from recondition.ledger.drafts import Stored
    from recondition.worth.estimates import Candidate

AT = "/vehicles/0012/plan"


def _work(book: Book, ref: str) -> Stored[Candidate]:
    with book.reading() as conn:
        return reading.one(conn, "candidate", ref)


def _answer(book: Book, **more: str) -> dict[str, str]:
    """Give a form with the owner's answer on C-010, which cannot be undone."""
    with book.reading() as conn:
        owner = vehicle_of(conn, "0012").entry.owner
        assert owner is not None
        by = reading.names_of(conn, [owner])[owner]
    return {"candidates": "C-010", "amount": "2500.00", "how": "telephone", "by": by, **more}


def _card(page: str, ref: str) -> str:
    return page.split(f'id="work-{ref}"')[1].split("</article>", maxsplit=1)[0]


def test_an_owner_agrees_to_what_cannot_be_undone_with_the_answer(shop_book: Book) -> None:
    dealer = signed_in(shop_book)
    card = _card(ready(dealer, "0012"), "C-010")
    assert "no consent to that is on record" in card
    assert 'name="agreed"' in card
    assert 'name="agreed"' not in _card(ready(dealer, "0012"), "C-011")
    asked = {"candidates": "C-010", "amount": "2500.00", "words": "cannot be undone"}
    post(dealer, f"{AT}/ask", **asked)
    form = _answer(shop_book, agreed="yes", key="k1", limit="4000.00")
    first = post_json(dealer, f"{AT}/approve", **form).get_json()["said"]
    assert first[-1] == "The owner agrees to what cannot be undone: it is on record."
    before = counted(shop_book)
    again = post_json(dealer, f"{AT}/approve", **form).get_json()["said"]
    assert [line.rpartition(": ")[2] for line in again[:2]] == ["already there"] * 2
    assert counted(shop_book) == before
    assert _work(shop_book, "C-010").entry.consent_given
    card = _card(ready(dealer, "0012"), "C-010")
    assert "no consent is recorded" not in card
    assert "the consent to that is on record" in card
    assert 'name="agreed"' not in card
    assert " asked the owner, 2,500.00 USD (" in card
    assert f"approved by {form['by']}, telephone, 2,500.00 USD, up to 4,000.00 USD in all" in card
    assert '<a href="/records/approval/AP-' in card


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ({"answer": "declined"}, "declines the work and agrees"),
        ({"by": "nobody here"}, "is not among the people"),
    ],
)
def test_an_answer_and_its_consent_are_entered_both_or_neither(
    shop_book: Book, more: dict[str, str], words: str
) -> None:
    dealer, before = signed_in(shop_book), counted(shop_book)
    answer = post(dealer, f"{AT}/approve", **_answer(shop_book, agreed="yes") | more)
    assert answer.status_code in (400, 422)
    assert words in answer.get_data(as_text=True)
    assert counted(shop_book) == before
    assert not _work(shop_book, "C-010").entry.consent_given


def test_a_program_enters_an_answer_with_its_consent_both_or_neither(shop_book: Book) -> None:
    dealer, seller = signed_in(shop_book), signed_in(shop_book, "seller")
    values, before = {"vehicle": "0012", **_answer(shop_book)}, counted(shop_book)

    def sent(client: FlaskClient, **more: str) -> Any:
        body = {"values": values | more, "agreed": True, "key": "a-1"}
        headers = {"X-CSRF": mark_of(client)}
        return client.post("/api/v1/answers", json=body, headers=headers)

    assert sent(seller).status_code == 403
    refused = sent(dealer, answer="declined")
    assert refused.status_code == 422
    assert "declines the work and agrees" in refused.get_json()["what"]
    assert counted(shop_book) == before
    for status in ("new", "already there"):
        answer, consent = sent(dealer).get_json()["entered"]
        assert (answer["kind"], answer["status"]) == ("approval", status)
        assert (consent["kind"], consent["ref"]) == ("candidate", "C-010")
    assert _work(shop_book, "C-010").entry.consent_given


def test_work_that_was_begun_is_taken_up_again_as_begun(shop_book: Book) -> None:
    dealer = signed_in(shop_book)
    sheet, work = sheet_named("candidates"), _work(shop_book, "C-007")
    with shop_book.reading() as conn:
        names = reading.names_of(conn, ids_named(sheet, work.entry))
        row = texts_of(sheet, work.ref, work.entry, names, reading.settings_of(conn))
    begun = post(dealer, "/enter/candidates", **row | {"state": "started"})
    assert begun.status_code == 303
    for _ in range(2):
        post(dealer, "/vehicles/0007/plan/leave", candidates="C-007", left_reason="no time")
    answer = post_json(dealer, "/vehicles/0007/plan/take-up", candidates="C-007").get_json()
    assert answer["said"][-1] == "C-007 stands as before it was left: started."
    work = _work(shop_book, "C-007")
    assert (work.entry.state.value, work.entry.left_reason) == ("started", None)
    post(dealer, "/vehicles/0007/plan/take-up", candidates="C-007")
    assert _work(shop_book, "C-007").version == work.version


def _frozen(client: FlaskClient, **form: str) -> list[str]:
    answer = post_json(client, "/vehicles/0007/plan/freeze", **form)
    return list(answer.get_json()["said"])


def test_a_decision_frozen_again_by_the_same_form_is_there_already(shop_book: Book) -> None:
    dealer = signed_in(shop_book)
    page = ready(dealer, "0007")
    assert ':freeze">' in page
    state = state_of_plan(page)
    first, sentence = _frozen(dealer, note="spring", key="k:freeze", state=state)
    assert sentence.split("add ")[1].split()[0] in page
    before = counted(shop_book)
    again = _frozen(dealer, note="spring", key="k:freeze", state=state)
    assert again == [first.replace("new", "already there")]
    assert counted(shop_book) == before
    other = post(dealer, "/vehicles/0007/plan/freeze", note="autumn", key="k:freeze",
                 state=state)  # fmt: skip
    assert other.status_code == 422
    assert counted(shop_book) == before
    body = {"note": "by a program", "key": "p1"}
    headers = {"X-CSRF": mark_of(dealer)}
    said = [
        dealer.post("/api/v1/vehicles/0007/decisions", json=body, headers=headers).get_json()
        for _ in range(2)
    ]
    assert said[1]["said"] == [said[0]["said"][0].replace("new", "already there")]


def test_what_was_shown_is_frozen_and_nothing_newer_unseen(shop_book: Book) -> None:
    dealer, other = signed_in(shop_book), signed_in(shop_book)
    shown = state_of_plan(ready(dealer, "0007"))
    before = counted(shop_book)
    post(other, "/vehicles/0007/plan/leave", candidates="C-007", left_reason="no time")
    assert "DC-" in _frozen(dealer, note="as it was shown", state=shown)[0]
    now = state_of_plan(ready(other, "0007"))
    assert now != shown
    kept = counted(shop_book)
    assert kept != before
    refused = post(dealer, "/vehicles/0007/plan/freeze", note="too late", state=shown)
    assert refused.status_code == 409
    page = refused.get_data(as_text=True)
    assert "has moved since it was shown" in page
    assert ">too late</textarea>" in page
    assert state_of_plan(page) == state_of_plan(ready(dealer, "0007")) != shown
    assert counted(shop_book) == kept


@pytest.mark.parametrize("figure", ["hours:C-005=-5", "cash:C-005=-500"])
def test_an_estimate_below_zero_is_not_entered(shop_book: Book, figure: str) -> None:
    dealer, before = signed_in(shop_book), counted(shop_book)
    ready(dealer, "0007")
    name, _, text = figure.partition("=")
    answer = post(dealer, "/vehicles/0007/plan/estimate", enter="C-005", **{name: text})
    assert answer.status_code == 422
    kind = name.partition(":")[0]
    assert f"The {kind} of C-005 cannot be below zero" in answer.get_data(as_text=True)
    assert counted(shop_book) == before


def test_json_that_nests_without_end_or_is_too_long_moves_nothing(demo_book: Book) -> None:
    dealer = signed_in(demo_book)
    ready(dealer, "0007")
    headers = {"X-CSRF": mark_of(dealer), "Accept": "application/json"}
    deep, long = "[" * 100_000 + "]" * 100_000, '{"uplift:C-005": "' + "9" * 70_000 + '"}'
    for body in ("[" * 30_000, deep[:60_000], '{"a":' * 12_000, deep, long, "{", '"x"'):
        answer = dealer.post(
            "/vehicles/0007/plan/what-if", data=body, headers=headers,
            content_type="application/json",
        )  # fmt: skip
        assert answer.status_code == 200, answer.get_data(as_text=True)
        assert answer.get_json()["turned"] == []


def test_what_work_leaves_the_seller_is_the_figure_that_its_reason_names(demo_book: Book) -> None:
    page, held = ready(signed_in(demo_book), "0007"), 0
    for ref in ("C-001", "C-005", "C-006", "C-007", "C-008"):
        card = _card(page, ref)
        named = card.split(": expected ")[1].split(" USD")[0]
        held += f"beside the rest of the plan leaves the seller {named}" in card
    assert held == 5
