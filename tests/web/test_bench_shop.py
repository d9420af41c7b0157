"""At the bench and for no car: a use for the shop, and a container that is thrown away."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime
from typing import TYPE_CHECKING, Any

import pytest

from recondition.book import reading
from recondition.ledger.lines import Unlinked
from tests.web.visitors import but_chance, post, post_json, signed_in

if TYPE_CHECKING:
    from flask.testing import FlaskClient

    from recondition.book.engine import Book

NOW = datetime(2031, 4, 20, 12, tzinfo=UTC)
AWAY = {"container": "K-02", "why": "past its life", "rest": "12 g", "key": "away-1",
        "at": "2031-04-19T23:30:00+00:00"}  # fmt: skip


@pytest.fixture
def book(shop_book: Book) -> Book:
    """Give the demo's book on a day after its last entries."""
    return replace(shop_book, now=lambda: NOW)


@pytest.fixture
def bench(book: Book) -> FlaskClient:
    """Give a preparer at the bench of the demo's shop."""
    return signed_in(book, "preparer", "TA")


def uses(book: Book) -> list[Any]:
    with book.reading() as conn:
        return [line for line in reading.lines(conn) if line.kind == "consumable"]


def container(book: Book, ref: str) -> Any:
    with book.reading() as conn:
        return reading.one(conn, "container", ref).entry


def test_a_use_for_the_shop_is_on_no_car_and_entered_once(bench: FlaskClient, book: Book) -> None:
    assert 'href="/bench/use"' in bench.get("/bench").get_data(as_text=True)
    form = bench.get("/bench/use?way=pour").get_data(as_text=True)
    assert 'name="quantity"' in form
    assert "USD" not in but_chance(form)
    sent = {"way": "weigh", "container": "K-02", "measure.gross_before": "320.5",
            "measure.gross_after": "301.2", "key": "shop-1", "at": AWAY["at"]}  # fmt: skip
    before = len(uses(book))
    said = [post_json(bench, "/bench/use", **sent).json for _ in range(2)]
    assert [each["said"][0].rpartition(": ")[2] for each in said] == ["new", "already there"]
    assert said[0]["to"] == "/bench/use?way=weigh"
    assert "USD" not in but_chance(str(said))
    line = max(uses(book), key=lambda each: each.recorded_at).entry
    assert len(uses(book)) == before + 1
    assert (line.vehicle, line.unlinked, line.work_date) == (
        None, Unlinked.OVERHEAD, date(2031, 4, 19),
    )  # fmt: skip


def test_a_container_is_thrown_away_once_with_what_was_left_in_it(
    bench: FlaskClient, book: Book
) -> None:
    said = [post_json(bench, "/bench/scrap", **AWAY, **{"for": "shop"}).json for _ in range(2)]
    assert [each["said"][0].rpartition(": ")[2] for each in said] == ["new", "already there"]
    assert said[0]["said"][-1] == "container K-02: emptied"
    assert "USD" not in but_chance(str(said))
    assert container(book, "K-02").emptied_on == date(2031, 4, 19)
    line = max(uses(book), key=lambda each: each.recorded_at).entry
    assert (line.vehicle, str(line.use), line.private_note) == (None, "wasted", "past its life")


def test_a_container_goes_to_the_car_of_its_last_use(bench: FlaskClient, book: Book) -> None:
    with book.reading() as conn:
        holder = reading.one(conn, "container", "K-02")
        last = [u for u in uses(book) if u.entry.container == holder.id and u.entry.vehicle][-1]
    answer = post(bench, "/bench/scrap", **AWAY)
    assert answer.status_code == 303, answer.get_data(as_text=True)
    line = max(uses(book), key=lambda each: each.recorded_at).entry
    assert line.vehicle == last.entry.vehicle


def test_what_cannot_be_comes_back_with_what_was_typed(bench: FlaskClient, book: Book) -> None:
    before = len(uses(book))
    answer = post(bench, "/bench/scrap", **AWAY | {"rest": "", "why": "it leaks"})
    page = answer.get_data(as_text=True)
    assert answer.status_code == 400
    assert 'value="it leaks"' in page
    assert "how much was left in K-02 is not known" in page
    assert "Why is empty" in post_json(bench, "/bench/scrap", container="K-02").json["what"]
    unknown = post(bench, "/bench/use", way="weigh", container="K-99", **{
        "measure.gross_before": "3", "measure.gross_after": "2"})  # fmt: skip
    assert unknown.status_code in (404, 422)
    assert 'value="K-99"' in unknown.get_data(as_text=True)
    assert bench.get("/bench/use?way=guess").status_code == 400
    assert post_json(bench, "/bench/use", way="guess").status_code == 400
    assert len(uses(book)) == before
    assert signed_in(book, "seller").get("/bench/use").status_code == 403
