"""The bench without a browser: cars, the day's list, the clock, marks; entered once by its key."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any

import pytest

from recondition.book import reading
from recondition.book.clocks import open_clocks
from recondition.intake.form import one_row
from recondition.ledger.lines import HoursTaken, Unlinked
from recondition.worth.estimates import CandidateState
from tests.web.visitors import app_of, post, post_json, signed_in

if TYPE_CHECKING:
    from flask.testing import FlaskClient

    from recondition.book.engine import Book

NOW = datetime(2031, 4, 20, 12, tzinfo=UTC)
MONEY = re.compile(r"\d\.\d\d\b")
START = {"vehicle": "0007", "words": "Take the water spots off", "links": "F-006",
         "candidate": "C-007"}  # fmt: skip


@pytest.fixture
def book(shop_book: Book) -> Book:
    """Give the demo's book on a day after its last entries, hours after a shift began."""
    return replace(shop_book, now=lambda: NOW)


@pytest.fixture
def bench(book: Book) -> FlaskClient:
    """Give a preparer at the bench of the demo's shop."""
    return signed_in(book, "preparer", "TA")


def page(client: FlaskClient, path: str) -> str:
    answer = client.get(path)
    assert answer.status_code == 200, answer.get_data(as_text=True)
    return answer.get_data(as_text=True)


def stored(book: Book, kind: str) -> list[Any]:
    with book.reading() as conn:
        return reading.stored(conn, kind)


def test_the_cars_that_are_here_stand_on_the_first_page(bench: FlaskClient, book: Book) -> None:
    found = page(bench, "/bench")
    assert 'href="/bench/0007"' in found
    assert 'href="/bench/0012"' in found
    assert "No clock of yours runs" in found
    row = {"vehicle": "0007", "sold_on": "2031-05-01", "price": "30000", "result": "sold"}
    sold = one_row(book, "sales", row, author_ref="TA")
    assert sold.refused is None
    assert 'href="/bench/0007"' not in page(bench, "/bench")


def test_an_empty_shop_says_who_enters_the_first_car(empty_book: Book) -> None:
    made = one_row(empty_book, "people", {"ref": "MR", "name": "Mara Ridd", "role": "dealer"},
                   author_ref="MR", ref="MR")  # fmt: skip
    assert made.refused is None
    assert "A dealer enters each vehicle" in page(signed_in(empty_book, "preparer"), "/bench")
    assert 'href="/enter/vehicles"' in page(signed_in(empty_book, "dealer"), "/bench")


def test_the_day_s_list_says_what_waits_and_why_without_money(bench: FlaskClient) -> None:
    found = page(bench, "/bench/0007")
    ready, waiting = found.split("<h2>Waits</h2>")
    assert "Take the water spots off the glass" in ready
    assert "F-006 all glass: water spots" in ready
    assert "2.5 h (1.5 to 4)" in ready
    assert "Needs C-001" in waiting
    assert "more than its headroom 9 um" in waiting
    assert "The safety data sheet, local codes and licensed practice come first." in waiting
    assert not MONEY.search(found)
    assert "Waits for the owner&#39;s answer: asked on 2031-03-12 (CR-001)" in page(
        bench, "/bench/0012"
    )


def test_what_stands_in_a_name_is_text(bench: FlaskClient, book: Book) -> None:
    row = {"ref": "0099", "designation": "<b>Ostra</b> 9", "holding": "own stock"}
    assert one_row(book, "vehicles", row, author_ref="TA", ref="0099").refused is None
    for path in ("/bench", "/bench/0099", "/bench/0099/finding"):
        assert "&lt;b&gt;Ostra" in page(bench, path)


def test_a_clock_is_started_paused_and_stopped_with_what_comes_next(
    bench: FlaskClient, book: Book
) -> None:
    answer = post(bench, "/bench/clock/start", **START)
    assert (answer.status_code, answer.location) == (303, "/bench/0007")
    found = page(bench, "/bench")
    assert "Your clock runs" in found
    assert "Take the water spots off" in found
    post(bench, "/bench/clock/pause")
    assert "Your clock is paused" in page(bench, "/bench")
    post(bench, "/bench/clock/resume")
    refused = post_json(bench, "/bench/clock/stop")
    assert refused.status_code == 422
    assert "less than half a minute" in refused.json["what"]
    dropped = post_json(bench, "/bench/clock/drop", why="tapped by mistake")
    assert dropped.json["said"] == ["clock CK-001: dropped, no hours were posted"]
    with book.reading() as conn:
        assert open_clocks(conn) == []


def test_a_clock_that_cannot_be_stopped_for_want_of_a_rate_says_so(empty_book: Book) -> None:
    made = {"ref": "MR", "name": "Mara Ridd", "role": "preparer"}
    assert one_row(empty_book, "people", made, author_ref="MR", ref="MR").refused is None
    car = {"designation": "Ostra 9", "holding": "own stock"}
    assert one_row(empty_book, "vehicles", car, author_ref="MR", ref="0099").refused is None
    book = replace(empty_book, now=lambda: NOW)
    bench = signed_in(book, "preparer")
    began = {"at": "2031-04-20T08:00:00+00:00"}
    begun = post_json(bench, "/bench/clock/start", vehicle="0099", words="Wash", **began)
    said = begun.json["said"]
    wanted = "o cost rate of MR holds on 2031-04-20: the dealer or bookkeeper has to enter one"
    assert said[-1].startswith(f"note: n{wanted}")
    for path in ("/bench", "/bench/0099"):
        assert f"N{wanted}" in page(bench, path)
        assert "/enter/rates" not in page(bench, path)
    assert 'href="/enter/rates?to=/bench"' in page(signed_in(book, "dealer"), "/bench")
    ended = post_json(bench, "/bench/clock/stop", at="2031-04-20T09:00:00+00:00")
    assert ended.json["todo"].startswith("A dealer or bookkeeper enters one in the form 'rates'")
    rate = {"person": "MR", "from_date": "2031-01-01", "cost_rate": "40"}
    assert one_row(book, "rates", rate, author_ref="MR").refused is None
    assert wanted not in page(bench, "/bench")
    assert post_json(bench, "/bench/clock/stop").status_code == 200


def test_a_consigned_car_needs_what_an_hour_is_charged_out_at(book: Book) -> None:
    bare = {"person": "TA", "from_date": "2031-04-20", "cost_rate": "40"}
    assert one_row(book, "rates", bare, author_ref="TA").refused is None
    bench = signed_in(book, "preparer", "TA")
    said = post_json(bench, "/bench/clock/start", vehicle="0012", words="Wash").json["said"]
    assert said[-1].startswith("note: no charge-out rate of TA holds on 2031-04-20")


def clocked(client: FlaskClient) -> Any:
    """Start a clock hours ago, as a phone that was away says, and stop it."""
    began = {"at": "2031-04-20T08:00:00+00:00", "key": "began"}
    assert post_json(client, "/bench/clock/start", **START, **began).status_code == 200
    return post_json(client, "/bench/clock/stop", at="2031-04-20T09:30:00+00:00", key="ended")


def test_hours_are_said_and_posted_once_without_their_cost(bench: FlaskClient, book: Book) -> None:
    said = clocked(bench).json["said"]
    assert re.fullmatch(r"labour L-\d+: 1 h 30 min hands-on, 1 h 30 min by the clock", said[0])
    assert said[1].startswith("to do next on 0007: C-001 ")
    again = clocked(bench)
    assert "already there" in again.json["said"][0]
    lines = [each for each in stored(book, "labour") if each.entry.clock]
    assert [str(each.entry.quantity) for each in lines] == ["90 min"]
    assert lines[0].entry.started_at == "2031-04-20T08:00:00+00:00"


def test_who_sees_money_is_told_what_the_hours_cost(book: Book) -> None:
    said = clocked(signed_in(book, "dealer", "TA")).json["said"][0]
    assert MONEY.search(said)


def test_a_clock_left_running_is_asked_about(bench: FlaskClient, book: Book) -> None:
    yesterday = (NOW - timedelta(days=1)).isoformat()
    post(bench, "/bench/clock/start", **START, at=yesterday)
    found = page(bench, "/bench")
    assert "Was it forgotten?" in found
    assert 'name="ended" type="datetime-local" required' in found
    assert "forgotten" in post_json(bench, "/bench/clock/stop").json["todo"]
    ended = (NOW - timedelta(hours=22)).astimezone().replace(tzinfo=None)
    said = post_json(bench, "/bench/clock/stop", ended=ended.isoformat(timespec="minutes"))
    assert "2 h hands-on" in said.json["said"][0]
    (line,) = [each for each in stored(book, "labour") if each.entry.clock]
    assert line.entry.taken is HoursTaken.AFTERWARDS


def test_other_work_serves_the_findings_that_are_ticked(bench: FlaskClient, book: Book) -> None:
    other = {"vehicle": "0007", "words": "Brush the seams out"}
    post(bench, "/bench/clock/start", **other, finding=["F-011", "F-999"])
    with book.reading() as conn:
        (clock,) = open_clocks(conn)
        linked = reading.names_of(conn, [link.finding for link in clock.entry.links])
    assert list(linked.values()) == ["F-011"]
    post(bench, "/bench/clock/drop", why="a try")
    post(bench, "/bench/clock/start", **other)
    with book.reading() as conn:
        (clock,) = open_clocks(conn)
    assert clock.entry.unlinked is Unlinked.WHOLE_VEHICLE


def test_work_that_film_stops_is_refused_at_the_start(bench: FlaskClient) -> None:
    cut = {"vehicle": "0007", "words": "Machine polish", "candidate": "C-002", "links": "F-002",
           "panel": "roof", "film_removal": "14"}  # fmt: skip
    answer = post_json(bench, "/bench/clock/start", **cut)
    assert answer.status_code == 422
    assert "more than its headroom" in answer.json["what"]
    waiting = page(bench, "/bench/0007").split("<h2>Waits</h2>")[1]
    assert 'name="override" autocomplete="off" required' in waiting
    started = post_json(bench, "/bench/clock/start", **cut, override="the owner wants it")
    assert started.json["said"][0].startswith("clock CK-001: started at")
    assert any(
        line.startswith("note: overridden (the owner wants it): the work is expected to take")
        for line in started.json["said"]
    )


def test_a_turn_that_there_is_not(bench: FlaskClient) -> None:
    assert post_json(bench, "/bench/clock/wind").status_code == 400
    assert post_json(bench, "/bench/clock/pause").status_code == 422
    assert post_json(bench, "/bench/clock/start", words="Wash").json["where"] == "vehicle"
    blank = post_json(bench, "/bench/clock/start", vehicle="0007", words="  ").json
    assert (blank["what"], blank["where"]) == ("What you do is empty.", "")
    assert (
        "Why it is dropped without hours is empty"
        in post_json(bench, "/bench/clock/drop").json["what"]
    )


def test_work_is_marked_as_done_and_leaves_the_list(bench: FlaskClient, book: Book) -> None:
    done = {"candidate": "C-007", "state": "done", "key": "mark-1"}
    for _ in range(2):
        answer = post_json(bench, "/bench/0007/state", **done)
        assert answer.json["said"] == ["C-007: done"]
    (marked,) = [each for each in stored(book, "candidate") if each.ref == "C-007"]
    assert (marked.version, marked.entry.state) == (2, CandidateState.DONE)
    to_do, over = page(bench, "/bench/0007").split("<summary>Done (")
    assert "C-007" not in to_do
    assert 'name="candidate" value="C-007"' in over
    assert "No, it is still open" in over
    assert post_json(bench, "/bench/0012/state", **done).status_code == 422


@pytest.mark.parametrize("before", [CandidateState.OPEN, CandidateState.STARTED])
def test_work_that_is_not_done_after_all_stands_as_before(
    bench: FlaskClient, book: Book, before: CandidateState
) -> None:
    if before is CandidateState.STARTED:
        post(bench, "/bench/0007/state", candidate="C-007", state="started")
    post(bench, "/bench/0007/state", candidate="C-007", state="done")
    for _ in range(2):
        again = {"candidate": "C-007", "state": "open", "key": "still"}
        answer = post_json(bench, "/bench/0007/state", **again)
        assert answer.json["said"] == [f"C-007: {before.value}"]
    (stands,) = [each for each in stored(book, "candidate") if each.ref == "C-007"]
    assert stands.entry.state is before
    to_do, over = page(bench, "/bench/0007").split("<summary>Done (")
    assert ("C-007" in to_do, "C-007" in over) == (True, False)


def limited(book: Book) -> None:
    """Let the owner of the consigned car allow one thing, for less than an hour's work."""
    row = {"vehicle": "0012", "answered_on": "2031-04-19", "candidates": "C-009", "amount": "10",
           "limit": "10", "how": "message", "by": "KE"}  # fmt: skip
    assert one_row(book, "approvals", row, author_ref="TA").refused is None


@pytest.mark.parametrize(
    ("role", "where"), [("preparer", "the owner has not let"), ("dealer", "the owner's limit of")]
)
def test_an_owner_s_limit_shows_its_figures_only_to_whoever_sees_money(
    book: Book, role: str, where: str
) -> None:
    limited(book)
    client = signed_in(book, role, "TA")
    work = {"vehicle": "0012", "words": "Clean and polish", "candidate": "C-009",
            "unlinked": "whole vehicle", "at": "2031-04-20T06:00:00+00:00"}  # fmt: skip
    assert post_json(client, "/bench/clock/start", **work).status_code == 200
    answer = post_json(client, "/bench/clock/stop", at="2031-04-20T11:00:00+00:00")
    assert answer.status_code == 422
    assert answer.json["what"].startswith(where)
    assert bool(MONEY.search(str(answer.json))) == (role == "dealer")


def test_each_measure_stands_once_with_its_way_back(bench: FlaskClient) -> None:
    found = page(bench, "/bench/0007")
    for name in ("gloss-readings", "water-drops", "surface-tests", "outcomes"):
        assert found.count(f'href="/enter/{name}?vehicle=0007&amp;to=/bench/0007"') == 1
    assert found.count("/enter/gloss") == 1


def test_the_list_goes_by_all_that_is_on_record_whatever_day_the_machine_has(
    shop_book: Book,
) -> None:
    early = replace(shop_book, now=lambda: datetime(2026, 11, 26, 12, tzinfo=UTC))
    found = page(signed_in(early, "preparer", "TA"), "/bench/0007")
    assert "lowest 92.5" in found
    assert "readings before abrasives" not in found.lower()
    assert "test panel before correction" not in found.lower()
    assert "wipe-down before coating" in found.lower()


def test_who_has_no_work_at_the_car_sees_none_of_it(book: Book) -> None:
    seller, nobody = signed_in(book, "seller", "TA"), app_of(book).test_client()
    for path in ("", "/0007", "/0007/use", "/0007/finding", "/0007/film", "/0007/photograph"):
        assert seller.get(f"/bench{path}").status_code == 403
        assert nobody.get(f"/bench{path}").status_code == 302
    assert post_json(seller, "/bench/clock/pause").status_code == 403


def test_a_car_that_is_not_there(bench: FlaskClient) -> None:
    assert bench.get("/bench/0099").status_code == 404
    assert bench.get("/bench/0099/finding").status_code == 404


def test_every_form_can_be_kept_on_the_device(bench: FlaskClient) -> None:
    post(bench, "/bench/clock/start", **START)
    for path in ("", "/0007", "/0007/use", "/0007/finding", "/0007/film", "/0007/photograph"):
        main = page(bench, f"/bench{path}").split("<main")[1]
        forms = re.findall(r"<form [^>]*method=\"post\".*?</form>", main, re.DOTALL)
        assert forms
        for form in forms:
            assert "data-keep" in form
            assert '<input type="hidden" name="key" value="">' in form
            assert '<input type="hidden" name="at" value="">' in form
