"""The decision on its page: what is moved is tried and not kept, what is decided is entered."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import datetime, timedelta
from decimal import Decimal
from threading import Event, Thread
from time import monotonic, sleep
from typing import TYPE_CHECKING, Any

import pytest

from recondition.book import reading
from recondition.book.questions import question_of, vehicle_of
from recondition.intake.sheets import sheet_named
from recondition.intake.written import ids_named, texts_of
from recondition.web.answers import Answers, Overtaken
from recondition.worth.decision import decide
from recondition.worth.what_if import Change, Figure, asked_with
from tests.book.make import counted
from tests.browsing import ARGUMENTS, chromium
from tests.web.serving import served
from tests.web.visitors import PASSWORD, login_of, mark_of, post, signed_in

if TYPE_CHECKING:
    from flask.testing import FlaskClient
    from werkzeug.test import TestResponse

    from recondition.book.engine import Book

NOW = datetime(2031, 4, 1, 9, 0)  # noqa: DTZ001 - the shop's own wall clock


def state_of_plan(page: str) -> str:
    """Read from a plan's page which plan it shows."""
    found = re.search(r'name="state" value="([0-9a-f]{64})"', page)
    assert found is not None
    return found[1]


def ready(client: FlaskClient, stock: str) -> str:
    """Wait until a plan is worked out; give its page."""
    until = monotonic() + 30
    while not client.get(f"/vehicles/{stock}/plan/answer").get_json()["ready"]:
        assert monotonic() < until
        sleep(0.05)
    return client.get(f"/vehicles/{stock}/plan").get_data(as_text=True)


def tried(client: FlaskClient, stock: str, figures: dict[str, Any]) -> TestResponse:
    """Move estimates as the page's script does."""
    return client.post(
        f"/vehicles/{stock}/plan/what-if",
        json=figures,
        headers={"X-CSRF": mark_of(client), "Accept": "application/json"},
    )


def test_the_plan_says_it_is_worked_out_and_then_shows_every_verdict(demo_book: Book) -> None:
    dealer = signed_in(demo_book)
    page = ready(dealer, "0007")
    assert "data-waits" not in page
    for words in ("No allowed set of work is worth more: proven", "above 539.93 USD done; between",
                  'id="work-C-002"', "Freeze it", "What would change this advice"):  # fmt: skip
        assert words in page
    assert '<a href="/records/candidate/C-005">C-005</a>' in page
    assert " style=" not in page


def test_the_last_answer_stays_while_a_newer_one_is_worked_out(shop_book: Book) -> None:
    answers = Answers(shop_book)
    assert answers.look("0007", NOW).known is None
    first = answers.look("0007", NOW, wait=30)
    assert first.holds
    assert answers.look("0007", NOW).known is first.known
    post(signed_in(shop_book), "/vehicles/0007/reverse", line="L-001", why="typed twice")
    second = answers.look("0007", NOW)
    assert second.known is first.known
    assert not second.holds
    assert answers.look("0007", NOW, wait=30).holds
    late = answers.look("0007", NOW + timedelta(hours=1))
    assert not late.holds
    answers.close()


def test_a_vehicle_without_terms_says_what_to_do_first(shop_book: Book) -> None:
    dealer = signed_in(shop_book)
    post(dealer, "/enter/vehicles", ref="0020", designation="1966 Tarvo Lume coupe")
    page = ready(dealer, "0020")
    assert "There are no sale terms yet" in page
    assert 'href="/enter/terms?vehicle=0020' in page
    assert "no sale terms yet" in dealer.get("/vehicles/0020/cost").get_data(as_text=True)
    assert dealer.get("/vehicles/0020/timeline").status_code == 200
    assert tried(dealer, "0020", {"cash:C-1": "1"}).status_code == 422


def test_what_is_moved_is_answered_as_the_search_does_and_nothing_is_kept(demo_book: Book) -> None:
    dealer = signed_in(demo_book)
    ready(dealer, "0007")
    before = counted(demo_book)
    found = tried(dealer, "0007", {"uplift:C-005": "550", "cash:C-001": "70.00"}).get_json()
    with demo_book.reading() as conn:
        asked = question_of(conn, vehicle_of(conn, "0007"), NOW)
    item = next(i for i in asked.candidates if asked.ref(i) == "C-005")
    after = decide(asked_with(asked, [Change(item, Figure.UPLIFT, Decimal(550))]))
    assert found["net"] == {"amount": str(after.plan.net), "currency": "USD"}
    assert found["turned"] == [{"ref": "C-005", "was": "leave", "now": "do"}]
    assert found["proven"] is True
    assert found["verdicts"]["C-002"] == "leave"
    assert found["levers"]["uplift:C-005"]["turn"] == "50771"
    assert "would be left" in found["levers"]["uplift:C-005"]["words"]
    near = tried(dealer, "0007", {"uplift:C-005": "508"}).get_json()
    assert near["turned"] == []
    assert re.fullmatch(r"proven; it gives up 0\.2\d to touch less", near["known"])
    assert counted(demo_book) == before


def test_without_a_script_the_same_form_shows_the_plan_with_what_was_typed(
    demo_book: Book,
) -> None:
    dealer = signed_in(demo_book)
    ready(dealer, "0007")
    form = {"uplift:C-005": "550.00", "hours:C-001": "9"}
    page = post(dealer, "/vehicles/0007/plan/what-if", **form).get_data(as_text=True)
    assert "Tried, not kept" in page
    assert "<li>C-005: leave becomes do</li>" in page
    assert 'name="uplift:C-005" form="what-if" value="550.00"' in page


@pytest.mark.parametrize(
    ("figures", "status", "words"),
    [
        ({"uplift:C-005": "5,50"}, 400, "'5,50' is not a figure"),
        ({"uplift:C-005": "1e9"}, 400, "is not a figure"),
        ({"uplift:C-099": "5"}, 422, "C-099 is not candidate work"),
        ({"uplift_percent:C-005": "5"}, 422, "no estimate of its uplift percent"),
        ({"uplift:C-005": "5.001"}, 422, "more decimals than USD"),
        ({"cash:C-005": "-900000"}, 422, "The cash of C-005 cannot be below zero"),
        ({"hours:C-005": "-0.5"}, 422, "The hours of C-005 cannot be below zero"),
        ({"uplift:C-005": "-900000"}, 200, "worth more"),
    ],
)
def test_what_is_no_figure_of_this_vehicle_is_refused(
    demo_book: Book, figures: dict[str, Any], status: int, words: str
) -> None:
    dealer = signed_in(demo_book)
    ready(dealer, "0007")
    answer = tried(dealer, "0007", figures)
    assert answer.status_code == status
    assert words in answer.get_data(as_text=True)


def test_a_moved_estimate_is_entered_as_a_new_version_with_all_else_kept(shop_book: Book) -> None:
    dealer = signed_in(shop_book)
    ready(dealer, "0007")
    with shop_book.reading() as conn:
        was = reading.one(conn, "candidate", "C-005")
    answer = post(
        dealer, "/vehicles/0007/plan/estimate", enter="C-005",
        **{"uplift:C-005": "550.00", "cash:C-005": "130.00", "uplift:C-001": "1.00"},
    )  # fmt: skip
    assert answer.status_code == 303, answer.get_data(as_text=True)
    with shop_book.reading() as conn:
        now = reading.one(conn, "candidate", "C-005")
        other = reading.one(conn, "candidate", "C-001")
    assert now.version == was.version + 1
    assert str(now.entry.uplift.likely) == "550.00"
    assert str(now.entry.uplift.low) == "320.00"
    same = {"uplift": was.entry.uplift, "estimated_by": was.entry.estimated_by,
            "estimated_on": was.entry.estimated_on}  # fmt: skip
    assert replace(now.entry, **same) == was.entry
    assert str(other.entry.uplift.likely) == "1900.00"
    assert "<strong data-said>Do</strong>" in ready(dealer, "0007").split('id="work-C-005"')[1]


def test_every_piece_of_work_is_the_same_when_written_as_a_row_again(demo_book: Book) -> None:
    from recondition.intake.form import draft_of  # noqa: PLC0415 - this test alone

    sheet = sheet_named("candidates")
    with demo_book.reading() as conn:
        settings = reading.settings_of(conn)
        found = reading.stored(conn, "candidate")
        for each in found:
            names = reading.names_of(conn, ids_named(sheet, each.entry))
            row = texts_of(sheet, each.ref, each.entry, names, settings)
            assert draft_of(conn, "candidates", row, ref=each.ref).entry == each.entry
    assert len(found) > 8


def test_work_is_left_with_a_reason_and_taken_up_again(shop_book: Book) -> None:
    dealer = signed_in(shop_book)
    ready(dealer, "0007")
    answer = post(dealer, "/vehicles/0007/plan/leave", candidates="C-007", left_reason=" ")
    assert answer.status_code == 400
    assert "Why it is not to be done is empty" in answer.get_data(as_text=True)
    answer = post(dealer, "/vehicles/0007/plan/leave", candidates="C-007", left_reason="no time")
    assert answer.status_code == 303
    with shop_book.reading() as conn:
        entry = reading.one(conn, "candidate", "C-007").entry
    assert (entry.state.value, entry.left_reason) == ("left", "no time")
    page = ready(dealer, "0007")
    assert "Take C-007 up again" in page
    answer = post(dealer, "/vehicles/0007/plan/take-up", candidates="C-007")
    with shop_book.reading() as conn:
        entry = reading.one(conn, "candidate", "C-007").entry
    assert (entry.state.value, entry.left_reason) == ("open", None)
    other = post(dealer, "/vehicles/0007/plan/leave", candidates="C-009", left_reason="no")
    assert other.status_code == 422
    assert "candidate work C-009 is on vehicle 0012" in other.get_data(as_text=True)


def test_an_owner_is_asked_and_the_answer_is_entered_once(shop_book: Book) -> None:
    dealer = signed_in(shop_book)
    page = ready(dealer, "0012")
    assert "Ask the owner" in page
    assert "Enter the owner&#39;s answer" in page or "Enter the owner's answer" in page
    with shop_book.reading() as conn:
        people = reading.all_refs(conn, "person")
        owner = vehicle_of(conn, "0012").entry.owner
        by = reading.names_of(conn, [owner])[owner] if owner else min(people)
    ask = {"candidates": "C-010", "amount": "2500.00", "words": "cannot be undone", "key": "k1"}
    for _ in range(2):
        assert post(dealer, "/vehicles/0012/plan/ask", **ask).status_code == 303
    with shop_book.reading() as conn:
        request = reading.stored(conn, "change request")[-1]
    assert f'name="request" value="{request.ref}"' in ready(dealer, "0012")
    answer = {"candidates": "C-010", "amount": "2500.00", "how": "telephone", "by": by,
              "request": request.ref}  # fmt: skip
    assert post(dealer, "/vehicles/0012/plan/approve", **answer).status_code == 303
    with shop_book.reading() as conn:
        car = vehicle_of(conn, "0012").id
        asked = reading.stored(conn, "change request", vehicle=car)
        approved = reading.stored(conn, "approval", vehicle=car)
    assert asked[-1].entry.words == "cannot be undone"
    assert sum(each.entry.words == "cannot be undone" for each in asked) == 1
    assert str(approved[-1].entry.amount) == "2500.00"
    assert approved[-1].entry.request == request.id
    assert f'name="request" value="{request.ref}"' not in ready(dealer, "0012")
    refused = post(dealer, "/vehicles/0012/plan/approve", **answer | {"how": "by pigeon"})
    assert refused.status_code in (400, 422)
    assert 'name="amount" value="2500.00"' in refused.get_data(as_text=True)


def test_own_stock_has_no_owner_to_ask(shop_book: Book) -> None:
    dealer = signed_in(shop_book)
    assert "Ask the owner" not in ready(dealer, "0007")
    ask = {"candidates": "C-001", "amount": "1", "words": "why"}
    answer = post(dealer, "/vehicles/0007/plan/ask", **ask)
    assert answer.status_code == 422
    assert "own stock" in answer.get_data(as_text=True)


def test_a_decision_is_frozen_with_its_note(shop_book: Book) -> None:
    dealer = signed_in(shop_book)
    form = {"note": "before the catalogue", "state": state_of_plan(ready(dealer, "0007"))}
    answer = post(dealer, "/vehicles/0007/plan/freeze", **form)
    assert answer.status_code == 303
    with shop_book.reading() as conn:
        made = reading.stored(conn, "decision", vehicle=vehicle_of(conn, "0007").id)[-1]
    assert made.entry.note == "before the catalogue"
    assert f'Last frozen as <a href="/records/decision/{made.ref}">' in ready(dealer, "0007")


def test_a_bookkeeper_sees_the_plan_and_decides_nothing(demo_book: Book) -> None:
    page = ready(signed_in(demo_book, "bookkeeper"), "0007")
    assert "No allowed set of work is worth more" in page
    for kept_back in ("Freeze it", "what-if", "Leave it", "decision.js"):
        assert kept_back not in page
    for role in ("bookkeeper", "preparer", "seller"):
        visitor = signed_in(demo_book, role)
        for verb in ("what-if", "estimate", "leave", "take-up", "approve", "ask", "freeze"):
            assert post(visitor, f"/vehicles/0007/plan/{verb}").status_code == 403


def test_an_older_question_of_the_same_person_is_dropped(shop_book: Book) -> None:
    answers, go_on = Answers(shop_book), Event()
    holding = [answers._pool.submit(go_on.wait, 20) for _ in range(2)]  # noqa: SLF001 - both busy
    said: list[object] = []

    def ask(name: str) -> None:
        try:
            said.append(answers.ask("somebody", lambda: name, wait=20))
        except Overtaken as overtaken:
            said.append(overtaken.http_status)

    threads = []
    for name in ("first", "second"):
        threads.append(Thread(target=ask, args=(name,)))
        threads[-1].start()
        sleep(0.2)
    go_on.set()
    for thread in threads:
        thread.join()
    assert said == [409, "second"]
    assert all(each.result() for each in holding)
    answers.close()


@pytest.mark.long
def test_a_slider_answers_at_once_and_the_search_agrees(shop_book: Book) -> None:
    from playwright.sync_api import sync_playwright  # noqa: PLC0415 - this test alone

    name, before = login_of(shop_book, "dealer"), counted(shop_book)
    with served(shop_book) as url, sync_playwright() as play:
        browser = play.chromium.launch(executable_path=chromium(), args=ARGUMENTS)
        page = browser.new_page(base_url=url, viewport={"width": 390, "height": 844})
        wrong: list[str] = []
        page.on("console", lambda each: wrong.append(each.text) if each.type == "error" else None)
        page.on("pageerror", lambda each: wrong.append(str(each)))
        page.goto("/sign-in")
        page.fill("#name", name)
        page.fill("#password", PASSWORD)
        page.click("main button")
        page.goto("/vehicles/0007/plan")
        page.wait_for_selector("article.work", timeout=30000)
        work = page.locator("article.work[data-work='C-005']")
        work.locator("summary").first.click()
        slider, turn = work.locator("input[type=range]").first, work.locator(".turn").first
        slider.focus()
        page.keyboard.press("ArrowRight")
        assert re.match(r"At 485.00 USD the plans with and without it", turn.inner_text())
        field = work.locator("input[name='uplift:C-005']")
        field.fill("475.40")
        assert "would still be left; the turn is 0.10 USD away" in turn.inner_text()
        field.fill("539.92")
        assert "what touches less is taken" in turn.inner_text()
        field.fill("540.00")
        assert "this would be done: it is 0.07 USD beyond the turn" in turn.inner_text()
        field.fill("560.00")
        page.wait_for_selector("#moved:not(.old)", timeout=30000)
        assert "C-005: leave becomes do" in page.locator("#moved").inner_text()
        assert "would become: do" in work.locator(".verdict").inner_text()
        field.fill("not a figure")
        assert "no figure" in turn.inner_text()
        cash = work.locator("input[name='cash:C-005']")
        cash.fill("-1.00")
        assert "cannot be below zero" in work.locator(".turn").nth(1).inner_text()
        page.click("[data-moved-back]")
        assert field.input_value() == "480.00"
        assert turn.inner_text().startswith("Below 475.50 USD this would be left, above")
        assert not page.locator("#moved").is_visible()
        browser.close()
    assert wrong == []
    assert counted(shop_book) == before
