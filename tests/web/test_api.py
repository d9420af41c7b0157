"""The machine interface: what the pages and the command line do, as JSON."""

from __future__ import annotations

import base64
import json
from typing import TYPE_CHECKING, Any

import pytest

from recondition.book import reading, trail
from recondition.web.api_call import BODY_BYTES_MAX
from tests.places import copied_book, opened
from tests.web.test_enter import PNG
from tests.web.visitors import PASSWORD, app_of, login_of, mark_of, signed_in

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from flask.testing import FlaskClient
    from werkzeug.test import TestResponse

    from recondition.book.engine import Book

FINDING = {"vehicle": "0007", "panel": "bonnet", "defect": "swirls", "severity": "2"}


@pytest.fixture(scope="module")
def book(demo: tuple[Path, str], tmp_path_factory: pytest.TempPathFactory) -> Iterator[Book]:
    to = tmp_path_factory.mktemp("api") / "demo.book"
    made = opened(copied_book(demo[0] / "made" / "demo.book", to), keep=True)
    yield made
    made.close()


class _Script:
    """A script that signs each call with its token."""

    def __init__(self, client: FlaskClient, token: str) -> None:
        self.client = client
        self.headers = {"Authorization": f"Bearer {token}"}

    def get(self, path: str, **query: Any) -> Any:
        return self.answer("GET", path, query_string=query)

    def post(self, path: str, **body: Any) -> Any:
        return self.answer("POST", path, json=body)

    def answer(self, method: str, path: str, status: int = 200, **more: Any) -> Any:
        said = self.client.open(f"/api/v1{path}", method=method, headers=self.headers, **more)
        assert said.status_code == status, said.get_data(as_text=True)
        return said.get_json()

    def refused(self, status: int, method: str, path: str, **more: Any) -> str:
        said = self.answer(method, path, status, **more)
        assert set(said) == {"what", "where", "todo", "more"}
        return str(said["what"])


def _script(book: Book, role: str = "dealer") -> _Script:
    client = app_of(book).test_client()
    name = login_of(book, role)
    said = client.post("/api/v1/session", json={"name": name, "password": PASSWORD})
    assert said.status_code == 200
    assert "Set-Cookie" not in said.headers
    return _Script(client, said.get_json()["token"])


def test_a_session_begins_and_ends(book: Book) -> None:
    script = _script(book, "bookkeeper")
    assert script.get("/session")["rights"] == ["books", "money"]
    script.answer("DELETE", "/session")
    assert "nobody is signed in" in script.refused(401, "GET", "/session")
    wrong = {"name": "bookkeeper login", "password": "x"}
    assert script.client.post("/api/v1/session", json=wrong).status_code == 403


def test_a_row_is_entered_once_under_its_key(book: Book) -> None:
    script = _script(book)
    first = script.post("/rows/findings", values=FINDING, key="api-1")
    assert (first["kind"], first["status"]) == ("finding", "new")
    again = script.post("/rows/findings", values=FINDING, key="api-1")
    assert (again["ref"], again["status"]) == (first["ref"], "already there")
    other = {"values": {**FINDING, "defect": "a dent"}, "key": "api-1"}
    script.refused(409, "POST", "/rows/findings", json=other)
    with book.reading() as conn:
        newest = max(reading.all_refs(conn, "finding"))
    assert newest == first["ref"]


def test_a_file_comes_with_its_row(book: Book) -> None:
    script = _script(book)
    values = {"vehicle": "0007", "kind": "photograph", "title": "sill"}
    file = {"name": "sill.png", "content": base64.b64encode(PNG).decode()}
    made = script.post("/rows/documents", values=values, file=file)
    record = script.get(f"/records/document/{made['ref']}")
    assert record["file"]["media_type"] == "image/png"
    with script.client.get(record["file"]["address"], headers=script.headers) as kept:
        assert kept.data == PNG
    broken = {"values": values, "file": {"name": "x.png", "content": "AAA"}}
    assert "file.content" in script.refused(400, "POST", "/rows/documents", json=broken)
    nothing = {"values": values, "file": {"name": "x.png", "content": "AAAA"}}
    script.refused(422, "POST", "/rows/documents", json=nothing)


_NOT_TAKEN: tuple[tuple[str, dict[str, Any], int], ...] = (
    ("no JSON", {"data": "values=1"}, 415),
    ("half of it", {"data": '{"values":', "content_type": "application/json"}, 400),
    ("a list", {"json": []}, 400),
    (
        "a name twice",
        {"data": '{"values":{},"values":{}}', "content_type": "application/json"},
        400,
    ),
    ("a broken number", {"data": '{"values":NaN}', "content_type": "application/json"}, 400),
    ("a fraction", {"data": '{"values":1.5}', "content_type": "application/json"}, 400),
    ("no UTF-8", {"data": b'{"key":"\xff"}', "content_type": "application/json"}, 400),
    ("half a sign", {"data": '{"key":"\\ud800"}', "content_type": "application/json"}, 400),
    ("too deep", {"data": "[" * 5000 + "]" * 5000, "content_type": "application/json"}, 400),
    ("an unknown name", {"json": {"values": FINDING, "more": "x"}}, 400),
    ("an unknown field", {"json": {"values": {**FINDING, "colour": "x"}}}, 400),
    ("a number for a text", {"json": {"values": {**FINDING, "severity": 2}}}, 400),
    ("a sign that is not kept", {"json": {"values": {**FINDING, "words": "a\0b"}}}, 400),
    ("a needed field missing", {"json": {"values": {"vehicle": "0007"}}}, 400),
    ("no such severity", {"json": {"values": {**FINDING, "severity": "9"}}}, 400),
    ("no such day", {"json": {"values": {**FINDING, "found_on": "2031-02-30"}}}, 422),
    ("too much", {"data": b" " * (BODY_BYTES_MAX + 1), "content_type": "application/json"}, 413),
)


@pytest.mark.parametrize(("name", "sent", "status"), _NOT_TAKEN, ids=[n[0] for n in _NOT_TAKEN])
def test_what_is_not_written_as_documented_is_not_taken(
    book: Book, name: str, sent: dict[str, Any], status: int
) -> None:
    with book.reading() as conn:
        before = reading.all_refs(conn, "finding")
    assert _script(book).refused(status, "POST", "/rows/findings", **sent), name
    with book.reading() as conn:
        assert reading.all_refs(conn, "finding") == before


def test_a_query_is_held_as_well(book: Book) -> None:
    script = _script(book)
    script.refused(400, "GET", "/lists/findings?colour=x")
    script.refused(400, "GET", "/lists/findings?vehicle=0007&vehicle=0008")
    script.refused(400, "GET", "/vehicles/0007/plan?seconds=soon")
    script.refused(400, "GET", "/vehicles/0007/plan?seconds=10000")
    script.refused(400, "GET", "/search")
    script.refused(404, "GET", "/lists/nothing")
    script.refused(404, "GET", "/vehicles/nothing")
    script.refused(404, "GET", "/records/finding/F-999999")
    script.refused(405, "PUT", "/lists/findings")


def test_the_work_of_a_day_at_the_bench(book: Book) -> None:
    script = _script(book, "preparer")
    work = {"vehicle": "0007", "words": "wash", "unlinked": "whole vehicle"}
    started = script.post("/clock/start", values=work, key="api-clock")
    assert "started at" in started["said"][0]
    assert "already there" in script.post("/clock/start", values=work, key="api-clock")["said"][0]
    assert script.get("/clocks")["clocks"][0]["vehicle"] == "0007"
    script.post("/clock/pause")
    script.refused(422, "POST", "/clock/pause", json={})
    script.post("/clock/resume")
    assert "dropped" in script.post("/clock/drop", why="a trial")["said"][0]
    script.refused(422, "POST", "/clock/stop", json={})
    with book.reading() as conn:
        products = {p.ref: p.entry.unit for p in reading.stored(conn, "product")}
    ref = next(name for name, unit in products.items() if unit == "ml")
    values = {"product": ref, "quantity": "1 ml", "vehicle": "0007", "unlinked": "whole vehicle"}
    used = script.post("/uses/pour", values=values, key="api-use")
    assert used["kind"] == "consumable"
    assert not any("USD" in line for line in used["told"])
    priced = {**values, "price": "3.00"}
    script.refused(403, "POST", "/uses/pour", json={"values": priced})


def test_what_was_posted_is_taken_back_with_its_reason(book: Book) -> None:
    script = _script(book)
    values = {"vehicle": "0007", "price": "12.00", "words": "a permit", "unlinked": "whole vehicle"}
    line = script.post("/rows/charges", values=values)
    address = f"/reversals/charge/{line['ref']}"
    script.refused(400, "POST", address, json={})
    _script(book, "preparer").refused(404, "POST", address, json={"why": "x"})
    made = script.post(address, why="entered twice")
    assert made == {"kind": "reversal", "ref": f"{line['ref']}-reversed"}
    script.refused(409, "POST", address, json={"why": "once more"})
    record = script.get(f"/records/charge/{line['ref']}")
    assert record["undo"]["way"] == "none"
    assert made["ref"] in record["undo"]["words"]
    script.refused(409, "POST", "/reversals/finding/F-001", json={"why": "x"})


def test_a_plan_is_made_and_kept(book: Book) -> None:
    script = _script(book)
    plan = script.get("/vehicles/0007/plan", on="2032-01-05", seconds="5")
    assert plan["vehicle"] == "0007"
    assert json.dumps(plan["plan"])
    _script(book, "preparer").refused(403, "GET", "/vehicles/0007/plan")


def test_a_stock_number_may_hold_a_slash(book: Book) -> None:
    script = _script(book)
    car = {"ref": "2031/findings/4", "designation": "1966 Ostra 9", "holding": "own stock"}
    script.post("/rows/vehicles", values=car)
    for address in ("2031/findings/4", "2031%2Ffindings%2F4"):
        facts = script.get(f"/vehicles/{address}")["tables"]
        assert "1966 Ostra 9" in str(facts)
        found = script.get(f"/vehicles/{address}/findings")["tables"][0]
        assert found["rows"] == []
        assert script.get(f"/vehicles/{address}/today")["vehicle"] == "2031/findings/4"
        tried = script.get(f"/vehicles/{address}/position", hammers="9,000")["tables"]
        assert [table["title"] for table in tried][1] == "What a hammer would clear"
        assert "2031/findings/4" in script.refused(422, "GET", f"/vehicles/{address}/plan")
    assert "0007/nothing" in script.refused(404, "GET", "/vehicles/0007/nothing")


def test_a_month_is_closed_and_reopened_and_the_trail_says_so(book: Book) -> None:
    script = _script(book, "bookkeeper")
    months = script.get("/reports/periods")["tables"][0]["rows"]
    first = next(row["period"] for row in months if row["state"] == "open")
    closed = script.post(f"/periods/{first}/close", why="month end")
    assert closed["debits"]["currency"]
    script.refused(409, "POST", f"/periods/{first}/close", json={"why": "again"})
    script.post(f"/periods/{first}/reopen", why="a late invoice")
    with book.reading() as conn:
        noted = [row.action for row in trail.listed(conn, limit=5)]
    assert {"period closed", "period reopened"} <= set(noted)
    _script(book).get("/reports/journal", period=first, vehicles=["0007"])
    _script(book, "seller").refused(403, "POST", f"/periods/{first}/close", json={"why": "x"})


def test_the_book_is_whole(book: Book) -> None:
    said = _script(book).get("/check")
    assert said["whole"] is True
    assert said["looked_at"]["records"] > 100


def test_a_cookie_alone_enters_nothing_here(book: Book) -> None:
    client = signed_in(book)
    body = {"values": FINDING}
    answer: TestResponse = client.post("/api/v1/rows/findings", json=body)
    assert answer.status_code == 400
    assert "older than your session" in answer.get_json()["what"]
    marked = client.post("/api/v1/rows/findings", json=body, headers={"X-CSRF": mark_of(client)})
    assert marked.status_code == 200


def test_people_can_read_about_it(book: Book) -> None:
    page = signed_in(book).get("/api").get_data(as_text=True)
    assert "POST /api/v1/rows/findings" in page
    assert "/api/v1/openapi.json" in page
