"""Several vehicles and the days of the shop, on their page."""

from __future__ import annotations

from time import monotonic, sleep
from typing import TYPE_CHECKING

import pytest

from recondition.book import reading
from tests.book.make import counted
from tests.web.visitors import mark_of, post, signed_in

if TYPE_CHECKING:
    from recondition.book.engine import Book


def test_the_vehicles_that_can_be_planned_are_there_to_pick(shop_book: Book) -> None:
    dealer = signed_in(shop_book)
    post(dealer, "/enter/vehicles", ref="0020", designation="1966 Tarvo Lume coupe")
    page = dealer.get("/week").get_data(as_text=True)
    assert 'value="0007" checked' in page
    assert 'value="0020" disabled' in page
    assert "it has no sale terms yet" in page
    answer = post(dealer, "/week")
    assert answer.status_code == 400
    assert "no vehicle was picked" in answer.get_data(as_text=True)
    assert "no longer kept" in dealer.get("/week?job=none").get_data(as_text=True)
    for role in ("preparer", "bookkeeper", "seller"):
        assert signed_in(shop_book, role).get("/week").status_code == 403


@pytest.mark.parametrize(
    ("cash", "words"),
    [
        ("-1", "A purse of -1.00 is below zero"),
        ("abc", "That is not a number."),
        ("1,5,0", "That is not a number."),
        ("1.005", "more decimals than USD"),
    ],
)
def test_what_is_no_purse_is_refused_before_anything_is_worked_out(
    shop_book: Book, cash: str, words: str
) -> None:
    dealer = signed_in(shop_book)
    answer = post(dealer, "/week", vehicles=["0007", "0012"], cash=cash)
    page = answer.get_data(as_text=True)
    assert answer.status_code == 422
    assert words in page
    assert "Where: cash" in page
    assert f'name="cash" value="{cash}"' in page
    headers = {"X-CSRF": mark_of(dealer)}
    body = {"vehicles": ["0007", "0012"], "cash": cash}
    assert dealer.post("/api/v1/jobs/plan", json=body, headers=headers).status_code == 422
    assert not dealer.get("/api/v1/jobs").get_json()["work"]


@pytest.mark.long
def test_picked_vehicles_are_planned_together_beside_the_pages(shop_book: Book) -> None:
    dealer, before = signed_in(shop_book), counted(shop_book)
    answer = post(dealer, "/week", vehicles=["0007", "0012"], cash="5000")
    assert answer.status_code == 303
    to = answer.headers["Location"]
    waiting = dealer.get(to).get_data(as_text=True)
    job = to.rpartition("=")[2]
    assert f'data-waits="/jobs/{job}"' in waiting or "Bays by day" in waiting
    until = monotonic() + 120
    while not dealer.get(f"/jobs/{job}", headers={"Accept": "application/json"}).get_json()[
        "ended"
    ]:
        assert monotonic() < until
        sleep(0.2)
    page = dealer.get(to).get_data(as_text=True)
    assert "of cash of a purse of 5,000.00" in page
    assert "Bays by day" in page
    assert "Vehicles, the most net for an hour first" in page
    with shop_book.reading() as conn:
        name = reading.one(conn, "candidate", "C-001").entry.name
    assert f'<a href="/vehicles/0007/plan">0007</a> C-001 {name}<br>' in page
    assert '<a href="/records/candidate/C-001">C-001</a>' in page
    assert "it may choose otherwise than a vehicle&#39;s own plan" in page.replace(
        "vehicle's", "vehicle&#39;s"
    )
    assert '<a href="/vehicles/0012/plan">the plan of 0012</a>' in page
    assert 'value="5000"' in page
    assert counted(shop_book) == before
