"""A full car: 60 findings and 200 readings come in, are drawn and printed."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

import pytest

from recondition.book.check import check
from recondition.condition.bodies import body_of
from recondition.condition.findings import SEVERITY_WORDS
from recondition.condition.panels import PAINTED
from recondition.intake.load import load
from recondition.reports.html import to_html
from recondition.reports.inspection import inspection_page
from recondition.reports.pages import REPORTS, page_of
from recondition.reports.report_pdf import to_pdf
from tests.intake.sheetmaker import base, write_folder
from tests.pdf_text import pages_of

if TYPE_CHECKING:
    from pathlib import Path

    from recondition.book.engine import Book

APRIL = datetime(2031, 4, 8)  # noqa: DTZ001 - the shop's own wall clock
NOW = datetime(2031, 3, 9, 12, tzinfo=UTC)
BENCH = ("arrival", "condition", "changes")
Rows = list[list[Any]]


def full_car() -> dict[str, Rows]:
    """Give a four-door saloon with 60 findings and 200 readings, two sets a place."""
    panels = body_of("four-door saloon").panels()
    findings: Rows = [["ref", "vehicle", "panel", "defect", "found", "severity", "extent", "lamp",
                       "material"]]  # fmt: skip
    for n in range(60):
        panel = panels[n % len(panels)]
        severity = n % (len(SEVERITY_WORDS) + 1)
        known = severity if severity < len(SEVERITY_WORDS) else ""
        findings.append([f"F-{n + 1:03}", "0007", panel, "swirls", "2031-03-04", known,
                         f"{n + 1} mm", "spot lamp", "clear coat"])  # fmt: skip
    readings: Rows = [["ref", "vehicle", "panel", "readings", "instrument", "read on", "place",
                       "step", "before or after"]]  # fmt: skip
    painted = [panel for panel in panels if panel in PAINTED]
    at = ("front edge", "centre", "rear edge")
    places = [(panel, place) for panel in painted for place in at]
    for n, (panel, place) in enumerate(places[:20]):
        for side, shift in (("before", 0), ("after", -3)):
            values = " ".join(str(100 + n + k + shift) for k in range(5))
            readings.append([f"T-{len(readings):03}", "0007", panel, values, "G1", "2031-03-05",
                             place, "one-step polish", side])  # fmt: skip
    sheets = base()
    sheets["vehicles"][1:] = [["0007", "1966 Ostrava Linden saloon", "own stock"]]
    sheets["vehicles"][0].append("body style")
    sheets["vehicles"][1].append("four-door saloon")
    gauge = [["instrument", "name", "principle", "uncertainty"],
             ["G1", "film gauge", "magnetic and eddy current", "2.5"]]  # fmt: skip
    floor = [["setting", "value"], ["film floor", "80"]]
    ended = [["ref", "vehicle", "finding", "how it ended", "on", "severity after",
              "reason (a buyer may read)", "decided by"],
             ["O-001", "0007", "F-003", "left alone on purpose", "2031-03-06", "2",
              "part of its age", "HK"],
             ["O-002", "0007", "F-001", "resolved", "2031-03-06", "0", "", ""]]  # fmt: skip
    labour = [["ref", "vehicle", "work date", "person", "hours", "words (a buyer may read)",
               "findings", "operation"],
              ["L-001", "0007", "2031-03-05", "HK", 2, "polished", "F-001", "polish"]]  # fmt: skip
    return sheets | {"instruments": gauge, "settings": floor, "findings": findings,
                     "film readings": readings, "outcomes": ended, "labour": labour}  # fmt: skip


@pytest.fixture
def car(book: Book, tmp_path: Path) -> Book:
    report = load(book, write_folder(tmp_path / "sheets", full_car()), author_ref="HK")
    counts = {count.sheet: count.new for count in report.counts}
    assert (counts["findings"], counts["film readings"]) == (60, 40)
    return book


def test_a_full_car_comes_in_is_drawn_and_printed(car: Book) -> None:
    assert check(car).damages == []
    for name in BENCH:
        with car.reading() as conn:
            page = page_of(name, REPORTS[name](conn, ("0007",), APRIL), made_at=NOW)
        html = to_html(page)
        text = "\n".join(pages_of(to_pdf(page, NOW.date())))
        drawn = {"arrival": 1, "condition": 2, "changes": 0}[name]
        assert html.count('role="img"') == drawn
        if drawn:
            assert "left" in text
            assert "worst" in text
            assert 'class="scroll"' in html
        assert "Ostrava Linden" in text
        assert "clear coat thickness" not in html
    assert "Total film" in text or "compared only at the same place" in text


def test_what_moved_and_by_what(car: Book) -> None:
    with car.reading() as conn:
        (part,) = REPORTS["changes"](conn, ("0007",), APRIL)
    moved, film, new = part.tables
    by = {row[0]: row[-1] for row in moved.rows}
    assert by == {"F-003": "decision: part of its age", "F-001": "L-001"}
    assert {row[6] for row in film.rows} == {3}
    assert len(film.rows) == 20
    assert new.rows == ()
    assert part.words.startswith("2 of 60 findings moved")


def test_the_inspection_sheet_has_a_row_for_every_panel_of_the_body(car: Book) -> None:
    with car.reading() as conn:
        page = inspection_page(conn, "0007", NOW)
    rows = [row for section in page.sections[1:-1] for row in section.blocks[0].rows]  # type: ignore[union-attr]
    named = {row[0]: row[1] for row in rows if row[0] is not None}
    panels = body_of("four-door saloon").panels()
    assert named == dict(enumerate(panels, start=1))
    text = "\n".join(pages_of(to_pdf(page, NOW.date())))
    assert "left rear door" in text
    assert "soft-top" not in text
    assert 'class="ruled"' in to_html(page)
