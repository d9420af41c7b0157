"""What the device gets from here: its worker, its mark, and the page of what it keeps."""

from __future__ import annotations

import json
import shutil
from datetime import datetime
from typing import TYPE_CHECKING

from recondition.book import reading
from recondition.intake.sheets import SHEETS
from recondition.web import bench_sheets, device
from recondition.web.forms import made_at
from tests.web.keeping import stock_of
from tests.web.visitors import app_of, mark_of, post_json, signed_in

if TYPE_CHECKING:
    from pathlib import Path

    import pytest
    from flask.testing import FlaskClient
    from werkzeug.datastructures import Headers

    from recondition.book.engine import Book


def status_and_headers(client: FlaskClient, path: str) -> tuple[int, Headers]:
    with client.get(path) as answer:
        return answer.status_code, answer.headers


def test_the_mark_says_whose_session_it_is_and_lets_an_entry_in(shop_book: Book) -> None:
    nobody = app_of(shop_book).test_client().get("/device/mark").get_json()
    assert nobody["login"] is None
    assert "csrf" not in nobody
    client = signed_in(shop_book, "preparer")
    answer = client.get("/device/mark")
    who = answer.get_json()
    assert (who["name"], who["csrf"]) == ("preparer login", mark_of(client))
    assert abs((datetime.fromisoformat(who["now"]) - shop_book.now()).total_seconds()) < 60
    assert answer.headers["Cache-Control"] == "no-store"
    headers = {"Accept": "application/json", "X-CSRF": who["csrf"]}
    stock = stock_of(shop_book)
    sent = {"panel_typed": "roof", "defect_typed": "sent once", "key": "one key",
            "pressed": "2031-03-04T16:05:00-05:00"}  # fmt: skip
    said = [
        client.post(f"/bench/{stock}/finding", data=sent, headers=headers).get_json()["said"][0]
        for _ in range(2)
    ]
    assert [line.partition(": ")[2] for line in said] == ["new", "already there"]
    other = client.post(
        f"/bench/{stock}/finding", data=sent | {"defect_typed": "something else"}, headers=headers
    )
    assert other.status_code == 422
    assert "this form was sent before, and made finding" in other.get_json()["what"]


def test_an_entry_is_of_the_day_on_which_it_was_made(shop_book: Book) -> None:
    made = "2024-02-29T23:58:00-05:00"
    with app_of(shop_book).test_request_context(method="POST", data={"pressed": made}):
        assert made_at().isoformat() == made
    for wrong in ("", "yesterday", made[:19], "2999-01-01T00:00:00+00:00"):
        with app_of(shop_book).test_request_context(method="POST", data={"pressed": wrong}):
            assert abs((made_at() - shop_book.now()).total_seconds()) < 60


def test_the_worker_names_every_file_and_changes_with_each(
    shop_book: Book, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    client = app_of(shop_book).test_client()
    answer = client.get("/worker.js")
    assert answer.headers["Service-Worker-Allowed"] == "/"
    assert answer.mimetype == "text/javascript"
    first = answer.get_data(as_text=True).splitlines()[0]
    shell = json.loads(first.removeprefix("const SHELL = ").removesuffix(";"))
    assert {"/static/queue.js", "/static/keep.js", "/static/site.css"} <= set(shell["files"])
    for path in shell["files"]:
        assert status_and_headers(client, path)[0] == 200
    folder = tmp_path / "static"
    shutil.copytree(device._static(), folder)  # noqa: SLF001 - where the files lie
    (folder / "site.css").write_text("/* another look */", encoding="utf-8")
    monkeypatch.setattr(device, "_static", lambda: folder)
    device.worker.cache_clear()
    changed = client.get("/worker.js").get_data(as_text=True).splitlines()[0]
    device.worker.cache_clear()
    other = json.loads(changed.removeprefix("const SHELL = ").removesuffix(";"))
    assert other["version"] != shell["version"]
    assert other["files"] == shell["files"]


def test_only_pages_of_the_bench_are_marked_to_be_kept(shop_book: Book) -> None:
    client = signed_in(shop_book, "dealer")
    with shop_book.reading() as conn:
        stock = min(reading.all_refs(conn, "vehicle"))
    login = client.get("/device/mark").get_json()["login"]
    for path in ("/bench", f"/bench/{stock}", "/unsent"):
        assert status_and_headers(client, path)[1][device.FOR] == login
    for path in ("/", "/device/mark", "/static/site.css", f"/vehicles/{stock}", "/benches"):
        assert device.FOR not in status_and_headers(client, path)[1]
    nobody = app_of(shop_book).test_client()
    assert device.FOR not in nobody.get("/unsent").headers
    assert nobody.get("/unsent").status_code == 200
    assert nobody.get("/bench").status_code == 302


def test_forms_of_the_bench_are_kept_for_whoever_sees_no_money(shop_book: Book) -> None:
    preparer, dealer = signed_in(shop_book, "preparer"), signed_in(shop_book, "dealer")
    for sheet in SHEETS:
        path = f"/enter/{sheet.name.replace(' ', '-')}"
        kept = sheet.name in bench_sheets.KEPT
        assert (device.FOR in status_and_headers(preparer, path)[1]) == kept, sheet.name
        assert device.FOR not in status_and_headers(dealer, path)[1]
        assert (" data-keep" in dealer.get(path).get_data(as_text=True)) == kept, sheet.name
    assert device.FOR in status_and_headers(preparer, "/enter")[1]
    assert {sheet.name for sheet in SHEETS} >= bench_sheets.KEPT
    ahead = 'href="/enter/gloss-readings?vehicle=0007&amp;to=/bench/0007" data-ahead'
    assert ahead in preparer.get("/bench/0007").get_data(as_text=True)
    assert " data-ahead" not in dealer.get("/bench/0007").get_data(as_text=True)


def test_a_device_can_put_the_pages_among_its_programs(shop_book: Book) -> None:
    client = app_of(shop_book).test_client()
    answer = client.get("/manifest.webmanifest")
    assert answer.mimetype == "application/manifest+json"
    made = json.loads(answer.get_data())
    assert made["start_url"] == "/bench"
    assert status_and_headers(client, made["icons"][0]["src"])[0] == 200
    page = client.get("/sign-in").get_data(as_text=True)
    assert '<link rel="manifest" href="/manifest.webmanifest">' in page


def test_a_page_that_is_got_ahead_takes_no_words_away(shop_book: Book) -> None:
    client = signed_in(shop_book, "preparer")
    stock = stock_of(shop_book)
    client.post(
        f"/bench/{stock}/finding",
        data={"csrf": mark_of(client), "panel_typed": "roof", "defect_typed": "plainly sent"},
    )
    ahead = client.get(f"/bench/{stock}", headers={"X-Ahead": "yes"}).get_data(as_text=True)
    assert '<div class="said"' not in ahead
    assert '<div class="said"' in client.get(f"/bench/{stock}").get_data(as_text=True)


def test_a_form_without_a_mark_is_no_reason_to_lose_the_entry(shop_book: Book) -> None:
    client = signed_in(shop_book, "preparer")
    answer = client.post("/bench/clock/pause", headers={"Accept": "application/json"})
    assert answer.status_code in (400, 403)  # the device then asks whose session it is
    assert "older than your session" in answer.get_json()["what"]
    assert post_json(client, "/bench/clock/pause").status_code == 422
