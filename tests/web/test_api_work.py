"""Long work over the machine interface, begun, asked after and cancelled; and a vehicle's day."""

from __future__ import annotations

import io
import time
from typing import TYPE_CHECKING, Any

import pytest

from recondition.book import reading, trail
from tests.places import copied_book, opened
from tests.web.test_api import _Script, _script
from tests.web.test_jobs import BAD, FIRMS, sent
from tests.web.visitors import but_chance
from tests.web.working import AT_MOST_SECONDS

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from recondition.book.engine import Book

JOBS = "/jobs"


@pytest.fixture(scope="module")
def book(demo: tuple[Path, str], tmp_path_factory: pytest.TempPathFactory) -> Iterator[Book]:
    to = tmp_path_factory.mktemp("work") / "demo.book"
    made = opened(copied_book(demo[0] / "made" / "demo.book", to), keep=True)
    yield made
    made.close()


def _ended(script: _Script, begun: dict[str, Any]) -> dict[str, Any]:
    """Ask after some work until it has ended."""
    until = time.monotonic() + AT_MOST_SECONDS
    while time.monotonic() < until:
        now = dict(script.get(f"{JOBS}/{begun['id']}"))
        if now["ended"]:
            return now
        time.sleep(0.05)
    message = "the work took too long"
    raise AssertionError(message)


def _begin(script: _Script, kind: str, **body: Any) -> dict[str, Any]:
    return dict(script.answer("POST", f"{JOBS}/{kind}", 202, json=body))


def _checked(script: _Script, rows: list[list[Any]]) -> dict[str, Any]:
    """Send a workbook as a form, and wait for what its check says."""
    form = {"workbook": sent(rows)}
    return _ended(script, script.answer("POST", f"{JOBS}/check", 202, data=form))


def test_a_workbook_is_checked_and_then_entered(book: Book) -> None:
    script = _script(book)
    wrong = _checked(script, BAD)
    assert (wrong["state"], wrong["refused"]["more"] != []) == ("not done", True)
    script.refused(422, "POST", f"{JOBS}/import", json={"checked": wrong["id"]})
    checked = _checked(script, FIRMS)
    assert (checked["state"], checked["result"]["changed"]) == ("done", "2")
    with book.reading() as conn:
        before = reading.all_refs(conn, "supplier")
    entered = _ended(script, _begin(script, "import", checked=checked["id"]))
    assert entered["state"] == "done"
    with book.reading() as conn:
        assert len(reading.all_refs(conn, "supplier")) == len(before) + 2
    again = _ended(script, _begin(script, "import", checked=checked["id"]))
    assert again["result"]["changed"] == "0"


_NO_WORKBOOK: tuple[tuple[dict[str, Any], int], ...] = (
    ({"json": {"workbook": "x"}}, 415),
    ({"data": {}, "content_type": "multipart/form-data"}, 400),
    ({"data": {"workbook": "a text"}, "content_type": "multipart/form-data"}, 400),
    ({"data": {"more": (io.BytesIO(b"x"), "x.xlsx")}}, 400),
    ({"data": {"workbook": (io.BytesIO(b"x"), "x.csv")}}, 422),
)


@pytest.mark.parametrize(("body", "status"), _NO_WORKBOOK)
def test_what_brings_no_workbook_begins_nothing(
    book: Book, body: dict[str, Any], status: int
) -> None:
    script = _script(book)
    before = len(script.get("/jobs")["work"])
    assert script.refused(status, "POST", f"{JOBS}/check", **body)
    assert len(script.get("/jobs")["work"]) == before


def test_a_file_of_the_books_is_written_and_handed_out(book: Book) -> None:
    script = _script(book, "bookkeeper")
    lines = _ended(
        script,
        _begin(script, "lines", vehicle="0007", columns="column,heading\r\nline_id,Line\r\n"),
    )
    with script.client.get(lines["file"]["address"], headers=script.headers) as taken:
        assert (taken.mimetype, taken.data.splitlines()[0]) == ("text/csv", b"Line")
    made = _ended(script, _begin(script, "workbook", vehicle="0007"))
    assert made["state"] == "done", made
    with script.client.get(made["file"]["address"], headers=script.headers) as answer:
        assert answer.mimetype.endswith("spreadsheetml.sheet")
        assert made["file"]["name"] in answer.headers["Content-Disposition"]
        assert answer.data.startswith(b"PK")
    with book.reading() as conn:
        assert "downloaded" in [row.action for row in trail.listed(conn, limit=3)]
    script.refused(422, "POST", f"{JOBS}/journal", json={"period": "2031-01", "vehicle": "none"})
    script.refused(400, "POST", f"{JOBS}/journal", json={"period": "January"})


def test_vehicles_are_planned_together(book: Book) -> None:
    script = _script(book)
    begun = _begin(script, "plan", vehicles=["0007"], cash="500.00")
    assert begun["state"] in {"waiting in line", "under way"}
    said = script.post(f"{JOBS}/{begun['id']}/cancel")["said"]
    assert said in (["Plan several vehicles: cancelled."], ["It had ended before."])
    now = _ended(script, begun)
    assert now["file"] is None
    assert script.post(f"{JOBS}/{begun['id']}/cancel")["said"] == ["It had ended before."]
    script.refused(404, "GET", f"{JOBS}/{begun['id']}/file")
    nowhere = _ended(script, _begin(script, "plan", vehicles=["nowhere"]))
    assert "nowhere" in nowhere["refused"]["what"]
    script.refused(400, "POST", f"{JOBS}/plan", json={"vehicles": []})


def test_no_work_history_is_released_that_was_not_looked_at(book: Book) -> None:
    script = _script(book, "seller")
    nowhere = {"vehicle": "nowhere", "seen": "x"}
    script.refused(422, "POST", f"{JOBS}/work-history", json=nowhere)
    said = script.refused(
        422, "POST", f"{JOBS}/work-history", json={"vehicle": "0007", "seen": "x"}
    )
    assert "looked at" in said
    assert script.get("/jobs")["work"] == []


def test_work_is_for_whoever_began_it_and_for_its_rights(book: Book) -> None:
    preparer, bookkeeper = _script(book, "preparer"), _script(book, "bookkeeper")
    for kind, body in (
        ("plan", {"vehicles": ["0007"]}), ("workbook", {}), ("journal", {}), ("lines", {}),
        ("import", {"checked": "x"}), ("trial-copy", {"vehicle": "0007"}),
        ("work-history", {"vehicle": "0007", "seen": "x"}),
    ):  # fmt: skip
        preparer.refused(403, "POST", f"{JOBS}/{kind}", json=body)
    preparer.refused(403, "POST", f"{JOBS}/check", data={"workbook": sent(FIRMS)})
    begun = _begin(bookkeeper, "journal", vehicle="0007")
    dealer = _script(book)
    assert begun["id"] in [each["id"] for each in dealer.get("/jobs")["work"]]
    assert preparer.get("/jobs")["work"] == []
    for method, path in (("GET", ""), ("GET", "/file"), ("POST", "/cancel")):
        preparer.refused(404, method, f"{JOBS}/{begun['id']}{path}")
        preparer.refused(404, method, f"{JOBS}/nothing{path}")
    _ended(bookkeeper, begun)


def test_the_day_of_a_vehicle_says_what_can_be_begun(book: Book) -> None:
    script = _script(book, "preparer")
    day = script.get("/vehicles/0007/today")
    assert day["vehicle"] == "0007"
    ready = next(each for each in day["todo"] if each["ready"])
    assert ready["clock"]["candidate"] == ready["ref"]
    started = script.post("/clock/start", values=ready["clock"])
    assert "started at" in started["said"][0]
    script.post("/clock/drop", why="a trial")
    assert "USD" not in but_chance(str(day))
    script.refused(404, "GET", "/vehicles/nowhere/today")
    _script(book, "seller").refused(403, "GET", "/vehicles/0007/today")
