"""Entries from the bench: uses, findings with photographs, film; each once, the rest refused."""

from __future__ import annotations

import io
import re
from dataclasses import replace
from datetime import UTC, date, datetime
from typing import TYPE_CHECKING, Any

import pytest

from recondition.book import reading
from recondition.intake.form import one_row
from tests.pictures import photograph, picture
from tests.web.visitors import but_chance, post, post_json, signed_in

if TYPE_CHECKING:
    from flask.testing import FlaskClient

    from recondition.book.engine import Book

NOW = datetime(2031, 4, 20, 12, tzinfo=UTC)
START = {"vehicle": "0007", "words": "Take the water spots off", "links": "F-006",
         "candidate": "C-007", "panel": "all glass"}  # fmt: skip


@pytest.fixture
def book(shop_book: Book) -> Book:
    """Give the demo's book on a day after its last entries."""
    return replace(shop_book, now=lambda: NOW)


@pytest.fixture
def bench(book: Book) -> FlaskClient:
    """Give a preparer at the bench of the demo's shop."""
    return signed_in(book, "preparer", "TA")


def stored(book: Book, kind: str) -> list[Any]:
    with book.reading() as conn:
        return reading.stored(conn, kind)


def newest(book: Book, kind: str) -> Any:
    return max(stored(book, kind), key=lambda each: (each.recorded_at, each.sequence))


def names(book: Book, *ids: str) -> list[str]:
    with book.reading() as conn:
        return [reading.names_of(conn, [each])[each] for each in ids]


def taken(content: bytes, name: str = "IMG_1.jpg") -> tuple[io.BytesIO, str]:
    return io.BytesIO(content), name


def page(client: FlaskClient, path: str) -> str:
    answer = client.get(path)
    assert answer.status_code == 200, answer.get_data(as_text=True)
    return answer.get_data(as_text=True)


def test_a_weighed_use_goes_to_the_work_of_the_clock(bench: FlaskClient, book: Book) -> None:
    post(bench, "/bench/clock/start", **START)
    form = page(bench, "/bench/0007/use")
    assert 'name="clock.candidate" value="C-007"' in form
    assert 'name="clock.links" value="F-006 1"' in form
    weighed = {
        "way": "weigh", "container": "K-02", "measure.gross_before": "320.5", "for": "clock",
        "measure.gross_after": "301.2", "clock.candidate": "C-007", "clock.links": "F-006 1",
        "clock.panel": "all glass", "key": "use-1", "at": "2031-04-20T23:30:00+00:00",
    }  # fmt: skip
    first = post_json(bench, "/bench/0007/use", **weighed)
    assert first.status_code == 200, first.json
    assert first.json["said"][1].startswith("weighed: 19.3 g ± ")
    assert "USD" not in but_chance(str(first.json))
    # The clock may have stopped before an entry that was kept is sent, and sent again.
    post(bench, "/bench/clock/drop", why="a try")
    again = post_json(bench, "/bench/0007/use", **weighed)
    assert again.json["said"][0].endswith("already there")
    line = newest(book, "consumable")
    assert line.entry.work_date == date(2031, 4, 20)
    assert line.entry.panel == "all glass"
    assert names(book, line.entry.candidate, line.entry.links[0].finding) == ["C-007", "F-006"]


def test_who_sees_money_is_told_what_was_used_up(book: Book) -> None:
    dealer = signed_in(book, "dealer", "TA")
    used = {"way": "weigh", "container": "K-02", "measure.gross_before": "320.5",
            "measure.gross_after": "301.2"}  # fmt: skip
    assert "USD" in post_json(dealer, "/bench/0007/use", **used).json["said"][1]


@pytest.mark.parametrize(
    ("way", "given", "said"),
    [
        ("pour", {"product": "iron", "quantity": "35"}, "dispensed: 35 ml"),
        ("spray", {"mixed": "X-2", "measure.sprayed": "20"}, "share of a mixed batch: 2 ml"),
        ("count", {"product": "blade", "quantity": "2"}, "2 piece"),
        ("level", {"container": "K-03", "measure.level_before": "40", "measure.level_after": "35"},
         "level mark: 50 ml ± 50"),
        ("pump", {"product": "iron", "measure.strokes": "3", "measure.per_stroke": "4"},
         "dispensed: 12 ml"),
    ],
)  # fmt: skip
def test_other_ways_have_their_own_fields(
    bench: FlaskClient, book: Book, way: str, given: dict[str, str], said: str
) -> None:
    mixed = {"product": "iron", "mixed_on": "2031-04-20", "concentrate": "50", "water": "450"}
    assert one_row(book, "mixed batches", mixed, author_ref="TA", ref="X-2").refused is None
    form = page(bench, f"/bench/0007/use?way={way}")
    assert all(f'name="{field}"' in form for field in given)
    answer = post_json(bench, "/bench/0007/use", way=way, finding="F-006", **given)
    assert answer.status_code == 200, answer.json
    assert said in answer.json["said"][1]


def test_a_use_that_cannot_be_comes_back_with_what_was_typed(bench: FlaskClient) -> None:
    turned = {"way": "weigh", "container": "K-02", "measure.gross_before": "301.2",
              "measure.gross_after": "320.5"}  # fmt: skip
    answer = post(bench, "/bench/0007/use", **turned)
    text = answer.get_data(as_text=True)
    assert answer.status_code == 422
    assert "stands at 320.5 g after and 301.2 g before" in text
    assert 'value="301.2"' in text
    assert "Container label is empty" in post_json(bench, "/bench/0007/use").json["what"]
    assert post_json(bench, "/bench/0007/use", way="guess").status_code == 400
    assert bench.get("/bench/0007/use?way=guess").status_code == 400


@pytest.mark.parametrize(
    ("way", "label"),
    [("weigh", "Container label"), ("pour", "Product"), ("spray", "Mixed batch")],
)
def test_blanks_alone_are_said_by_the_label_on_the_page(
    bench: FlaskClient, way: str, label: str
) -> None:
    blank = {"container": " ", "product": " ", "mixed": " "}
    page_ = post(bench, "/bench/0007/use", way=way, **blank).get_data(as_text=True)
    assert f"<strong>{label} is empty.</strong>" in page_
    assert "Where: " not in page_


def test_a_label_that_is_not_there_is_said_without_a_workbook(bench: FlaskClient) -> None:
    unknown = {"way": "weigh", "container": "K-99", "measure.gross_before": "3",
               "measure.gross_after": "2"}  # fmt: skip
    page_ = post(bench, "/bench/0007/use", **unknown).get_data(as_text=True)
    assert "&#39;K-99&#39; is not among the containers in the book" in page_
    assert "Correct it, or enter it first" in page_
    assert "sheet" not in page_.split("<main")[1]


def test_what_was_said_leads_to_the_record_where_it_is_taken_back(
    bench: FlaskClient, book: Book
) -> None:
    answer = post(bench, "/bench/0007/use", way="pour", product="iron", quantity="35")
    ref = newest(book, "consumable").ref
    found = page(bench, answer.location)
    assert f'<p>consumable <a href="/records/consumable/{ref}">{ref}</a>: new</p>' in found
    assert "Take it back" in page(bench, f"/records/consumable/{ref}")


def test_a_device_whose_clock_runs_ahead_enters_today(bench: FlaskClient, book: Book) -> None:
    ahead = {"way": "pour", "product": "iron", "quantity": "35", "at": "2099-01-01T10:00:00+00:00"}
    assert post_json(bench, "/bench/0007/use", **ahead).status_code == 200
    assert newest(book, "consumable").entry.work_date == NOW.date()


@pytest.mark.parametrize("number", ["\u00b2", "9" * 5_000, "-1", "01", "\u0662"])
def test_a_number_of_no_material_is_no_defect(bench: FlaskClient, number: str) -> None:
    answer = post_json(bench, "/bench/0007/finding", panel="roof", defect=f"{number} run")
    assert (answer.status_code, answer.json["what"]) == (400, "What is wrong is empty.")


def test_no_paint_is_claimed_that_nobody_named(bench: FlaskClient, book: Book) -> None:
    assert re.search(r'name="defect" value="paint [a-z]', page(bench, "/bench/0007/finding"))
    found = {"panel": "boot lid", "defect": "paint wash swirls", "severity": "2"}
    assert post_json(bench, "/bench/0007/finding", **found).status_code == 200
    entry = newest(book, "finding").entry
    assert (entry.defect, entry.material) == ("wash swirls", None)
    unknown = post_json(bench, "/bench/0007/finding", **found | {"defect": "paint no such word"})
    assert (unknown.status_code, unknown.json["what"]) == (400, "What is wrong is empty.")


def test_a_finding_is_tapped_and_its_photographs_hang_on_it(bench: FlaskClient, book: Book) -> None:
    form = page(bench, "/bench/0007/finding")
    assert '<input type="radio" name="panel" value="left front wing">' in form
    assert '<input type="radio" name="severity" value="3">' in form
    found = {
        "panel": "left front wing", "defect": "2 wash swirls", "severity": "2", "extent": "120 mm",
        "stage": "during work", "key": "find-1", "at": "2031-04-19T23:30:00+02:00",
    }  # fmt: skip
    shots = [
        photograph("2031:04:19 23:29:00"),
        photograph("2031:04:19 23:29:30", "+01:00", shade=7),
    ]
    for turn in range(2):
        files = [taken(shot, f"IMG_{turn}.jpg") for shot in shots]
        answer = post_json(bench, "/bench/0007/finding", **found, photo=files)
        assert answer.status_code == 200, answer.json
    finding = newest(book, "finding")
    entry = finding.entry
    assert (entry.panel, entry.defect, entry.severity) == ("left front wing", "wash swirls", 2)
    assert (entry.found_on, entry.material) == (date(2031, 4, 19), "clear-coat paint")
    assert (str(entry.extent), entry.stage.value) == ("120 mm", "during work")
    kept = [each.entry for each in stored(book, "document") if each.entry.finding == finding.id]
    assert [each.title for each in kept] == ["left front wing: wash swirls, photographed"] * 2
    moments = [each.moment.isoformat() for each in kept]
    assert moments == ["2031-04-19T23:29:00+02:00", "2031-04-19T23:29:30+01:00"]


def test_what_not_to_do_is_said_at_once(bench: FlaskClient, book: Book) -> None:
    seat = {"panel": "left front seat", "defect": "5 crack", "severity": "3"}
    said = post_json(bench, "/bench/0007/finding", **seat).json["said"]
    assert said[1].startswith("note: leather: no soaking")
    own = {"panel_typed": "aerial base", "area": "exterior", "defect_typed": "dull",
           "defect": "2 wash swirls"}  # fmt: skip
    assert post_json(bench, "/bench/0007/finding", **own).status_code == 200
    entry = newest(book, "finding").entry
    assert (entry.panel, entry.defect, entry.severity) == ("aerial base", "dull", None)


def test_a_finding_without_its_parts_or_with_a_false_picture_enters_nothing(
    bench: FlaskClient, book: Book
) -> None:
    before = len(stored(book, "finding"))
    given = {"panel": "roof", "defect": "2 run", "severity": "1"}
    bad = [
        {"defect": "2 run"},
        {"panel": "roof", "defect": "2 no such word"},
        {"panel": "roof", "defect": "99 run"},
        given | {"photo": taken(b"<svg onload=alert(1)>", "x.jpg")},
        given | {"photo": [taken(picture(shade=n), f"{n}.png") for n in range(13)]},
    ]
    for each in bad:
        assert post_json(bench, "/bench/0007/finding", **each).status_code in (400, 422)
    again = given | {"photo": taken(b"GIF89a", "x.jpg")}
    answer = post(bench, "/bench/0007/finding", **again)
    assert answer.status_code == 422
    assert 'value="roof" checked' in answer.get_data(as_text=True)
    assert len(stored(book, "finding")) == before


def test_a_photograph_to_a_finding_that_is_there(bench: FlaskClient, book: Book) -> None:
    assert 'value="F-002" checked' in page(bench, "/bench/0007/photograph?finding=F-002")
    for _ in range(2):
        sent = {"finding": "F-002", "key": "shot-1", "photo": taken(picture(shade=33), "a.png")}
        answer = post_json(bench, "/bench/0007/photograph", **sent)
        assert answer.status_code == 200, answer.json
    entry = newest(book, "document").entry
    assert names(book, entry.finding) == ["F-002"]
    assert (entry.panel, entry.title, entry.moment) == (
        "roof",
        "roof: oxidation, photographed",
        None,
    )
    shown = post_json(bench, "/bench/0007/photograph", title="arrival, left side",
                      photo=taken(picture(shade=34), "b.png"))  # fmt: skip
    assert shown.status_code == 200, shown.json
    entry = newest(book, "document").entry
    assert (entry.finding, entry.title) == (None, "arrival, left side")
    assert post_json(bench, "/bench/0007/photograph").status_code == 422


def test_film_readings_say_what_they_come_to_and_what_is_left(
    bench: FlaskClient, book: Book
) -> None:
    assert "data-pad" in page(bench, "/bench/0007/film")
    given = {"panel": "bonnet", "readings": "104 108 111 106 118", "instrument": "G1",
             "unit": "um", "place": "middle", "key": "film-1"}  # fmt: skip
    said = post_json(bench, "/bench/0007/film", **given).json["said"]
    assert said[1].startswith("note: total film: lowest 104 um (4.09 mil), mean 109.4 um")
    assert said[-1].startswith("headroom ")
    again = post_json(bench, "/bench/0007/film", **given)
    assert again.json["said"][0].endswith("already there")
    entry = newest(book, "film reading").entry
    assert (entry.panel, entry.read_on, len(entry.readings)) == ("bonnet", NOW.date(), 5)
    answer = post(
        bench, "/bench/0007/film", **given | {"key": "", "unit": "mil", "readings": "4.1"}
    )
    assert answer.location == "/bench/0007/film?instrument=G1&unit=mil&place=middle"
    assert 'value="mil" checked' in page(bench, answer.location)


def test_film_that_cannot_be_comes_back_with_what_was_typed(bench: FlaskClient) -> None:
    given = {"panel": "bonnet", "readings": "104 1o8", "instrument": "G1", "unit": "um"}
    answer = post(bench, "/bench/0007/film", **given)
    assert answer.status_code in (400, 422)
    text = answer.get_data(as_text=True)
    assert 'value="104 1o8"' in text
    assert 'value="bonnet" checked' in text
    assert post_json(bench, "/bench/0007/film", readings="104").json["what"] == "Panel is empty."


def test_without_a_gauge_the_page_says_what_comes_first(empty_book: Book) -> None:
    person = {"ref": "MR", "name": "Mara Ridd", "role": "dealer"}
    assert one_row(empty_book, "people", person, author_ref="MR", ref="MR").refused is None
    car = {"designation": "Ostra 9", "holding": "own stock"}
    assert one_row(empty_book, "vehicles", car, author_ref="MR", ref="0099").refused is None
    client = signed_in(empty_book, "preparer")
    assert 'href="/enter/instruments"' in page(client, "/bench/0099/film")
    assert "No container is on record yet" in page(client, "/stock/labels")
    assert "Nobody has looked this car over yet" in page(client, "/bench/0099")
    assert "The dealer or bookkeeper enters each product" in page(client, "/bench/0099/use")
    dealer = signed_in(empty_book, "dealer")
    for path in ("/bench/0099/use", "/bench/use?way=pour"):
        found = page(dealer, path)
        assert 'href="/enter/products"' in found
        assert "Enter the use" not in found
    cut = {"name": "Cut 3", "material_type": "compound", "unit": "ml"}
    assert one_row(empty_book, "products", cut, author_ref="MR", ref="P-1").refused is None
    assert 'href="/enter/containers"' in page(client, "/bench/0099/use")
    assert 'href="/enter/mixed-batches"' in page(client, "/bench/0099/use?way=spray")
    assert "Enter the use" in page(client, "/bench/0099/use?way=pour")


def test_what_a_preparer_cannot_mend_says_who_can(bench: FlaskClient, book: Book) -> None:
    film = {"panel": "bonnet", "instrument": "G-01", "readings": "104,5 108 111 106 118"}
    dealer = signed_in(book, "dealer")
    for client, told in ((bench, True), (dealer, False)):
        answer = post_json(client, "/bench/0007/film", **film)
        assert answer.status_code in (400, 422), answer.json
        said = " ".join([answer.json["todo"], *answer.json["more"]])
        assert "sheet settings" in said
        assert ("A dealer does that." in said) is told, said
