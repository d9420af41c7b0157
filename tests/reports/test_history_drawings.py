"""Drawings of the public sheet: equal tiles before and after, and the days on one line."""

from __future__ import annotations

import base64
import io
import re
from dataclasses import replace
from datetime import UTC, date, datetime
from typing import Any, cast
from xml.etree import ElementTree as ET

import pytest
import typst
from PIL import Image
from playwright.sync_api import sync_playwright

from recondition.condition.findings import Ended
from recondition.condition.panels import Area
from recondition.history.sheet import Ending, FindingRow, Issue, Sheet
from recondition.reports.drawing import Figure
from recondition.reports.history_drawings import panel_maps, standalone, timeline
from recondition.reports.typeset import STANDARDS
from tests.browsing import ARGUMENTS, chromium
from tests.history.invented import sheet as invented_sheet

MADE_ON = date(2025, 6, 20)
_SVG = "{http://www.w3.org/2000/svg}"
PAPER = (251, 249, 244)


def sheet(**changes: Any) -> Sheet:
    issue = Issue(number=None, made_on=MADE_ON)
    return replace(invented_sheet(), **({"issue": issue} | changes))


def drawn(made: Sheet) -> list[Figure]:
    line = timeline(made)
    assert line is not None
    return [*panel_maps(made), line]


def words(figure: Figure) -> list[str]:
    return re.findall(r"<text[^>]*>([^<]*)</text>", figure.svg)


def tiles(figure: Figure) -> list[str]:
    """Give the places of a map in their order, each once."""
    names = [row.panel for row in sheet().findings if row.area is Area.EXTERIOR]
    places = {*names, "interior", "underside", "front bumper", "left sill", "boot lid"}
    return [word for word in words(figure) if word in places]


def boxes(figure: Figure) -> list[tuple[float, float, float, float]]:
    """Give the room that each line of words takes, as wide as the widest common typeface."""
    found = []
    for text in ET.fromstring(figure.svg).iter(f"{_SVG}text"):  # noqa: S314 - our own drawing
        style = text.get("style", "")
        place = re.match(r"translate\(([\d.-]+) ([\d.-]+)\)", text.get("transform", ""))
        across = float(place[1] if place else text.get("x", "nan"))
        down = float(place[2] if place else text.get("y", "nan"))
        wide = 5.5 * len(text.text or "")
        shift = {"middle": wide / 2, "end": wide}.get(_anchor(style), 0.0)
        found.append((across - shift, down - 7, across - shift + wide, down + 2))
    return found


def _anchor(style: str) -> str:
    told = re.search(r"text-anchor: (\w+)", style)
    return told[1] if told else "start"


def finding(number: int, severity: int | None, **more: Any) -> FindingRow:
    row = next(row for row in sheet().findings if row.panel == "bonnet")
    return replace(row, number=number, severity=severity, **({"endings": ()} | more))


def ended(how: Ended, after: int | None) -> tuple[Ending, ...]:
    return (
        Ending(
            ended=how, ended_on=MADE_ON, severity_after=after, words=None, reason="it was so",
            recorded_on=None,
        ),
    )  # fmt: skip


def test_both_maps_have_the_same_tiles_and_say_how_each_place_stood() -> None:
    found, now = panel_maps(sheet())
    assert tiles(found) == tiles(now)
    assert len(tiles(found)) == 9
    assert found.title == "Findings as found"
    assert now.title == "Findings as they stand on 20 June 2025"
    assert "bonnet (findings 1, 9): close in daylight" in found.description
    assert "bonnet (findings 1, 9): under the lamp" in now.description
    assert "left side stripe (finding 3): from two metres" in found.description
    assert "left side stripe (finding 3): nothing left" in now.description
    assert "underside (findings 7, 8): from two metres, some unseen" in now.description
    for figure in (found, now):
        said = words(figure)
        assert {"Worst severity", "none", "damage", "none recorded", "findings 1, 9"} <= set(said)
        assert "none found" not in said
    assert "nothing left" not in words(found)


BONNET = [
    ([finding(1, None)], "finding 1): not inspected", "finding 1): not inspected"),
    ([finding(1, 0)], "no fault found", "no fault found"),
    ([finding(1, 4)], "damage", "damage"),
    ([finding(1, 3, endings=ended(Ended.RESOLVED, 0))], "from two metres", "nothing left"),
    ([finding(1, 3, endings=ended(Ended.RESOLVED, None))], "from two metres", "not stated"),
    ([finding(1, 2, endings=ended(Ended.LEFT_ALONE, None))], "close in day", "close in daylight"),
    ([finding(1, 3, endings=ended(Ended.NOT_INSPECTED, None))], "from two",
     "from two metres, unseen at the end"),
    ([finding(1, 3, endings=ended(Ended.NOT_INSPECTED, None)), finding(2, 4),
      finding(3, 2, endings=ended(Ended.RESOLVED, None))], "damage", "damage, some unseen"),
    ([finding(1, 3, endings=ended(Ended.RESOLVED, None)), finding(2, 1)],
     "from two metres", "under the lamp, some not stated"),
    ([finding(n, 1) for n in range(1, 8)], "7 findings", "7 findings"),
]  # fmt: skip


@pytest.mark.parametrize(("rows", "before", "after"), BONNET)
def test_every_way_a_place_can_stand_is_told(
    rows: list[FindingRow], before: str, after: str
) -> None:
    found, now = panel_maps(sheet(findings=tuple(rows)))
    assert before in found.description
    assert after in now.description


def test_nothing_found_gives_no_map_and_no_day_no_line() -> None:
    bare = sheet(findings=(), work=())
    assert panel_maps(bare) == ()
    line = timeline(bare)
    assert line is not None
    assert line.description == "Arrival: 2 April 2025; Date of this sheet: 20 June 2025."
    assert timeline(replace(bare, identity=replace(bare.identity, arrived_on=None))) is None


def test_the_line_tells_what_happened_when() -> None:
    made = sheet()
    line = timeline(made)
    assert line is not None
    entries = len(made.work)
    for told in ("Arrival: 2 April 2025", "Date of this sheet: 20 June 2025",
                 "9 findings on 3 days, up to 7 on one day, 3 April 2025 to 16 April 2025",
                 f"{entries} entries of work on", "7 outcomes on 7 days, 4 April"):  # fmt: skip
        assert told in line.description, told
    dots = 9 + entries + 7 + 2
    assert len(re.findall(r"<use ", line.svg)) == dots


def crowded() -> Sheet:
    """Many events, long months, an arrival and a date close to each other."""
    days = [date(2024, 9, 1 + n % 28) for n in range(60)] + [date(2025, 12, 30)] * 40
    rows = tuple(finding(n, 2, found_on=day) for n, day in enumerate(days, start=1))
    made = sheet(findings=rows, issue=Issue(number=None, made_on=date(2025, 12, 31)))
    return replace(made, identity=replace(made.identity, arrived_on=date(2025, 12, 28)))


@pytest.mark.parametrize("made", [sheet(), crowded()], ids=["invented", "crowded"])
def test_no_words_overlap_or_run_over_the_edge(made: Sheet) -> None:
    for figure in drawn(made):
        wide = float((re.search(r'viewBox="0 0 ([\d.]+)', figure.svg) or [0, 0])[1])
        rooms = boxes(figure)
        assert rooms
        for at, one in enumerate(rooms):
            assert one[0] >= -1, figure.name
            assert one[2] <= wide + 1, figure.name
            for other in rooms[at + 1 :]:
                apart = one[2] <= other[0] or other[2] <= one[0]
                assert apart or one[3] <= other[1] or other[3] <= one[1], figure.name


def test_a_place_writes_its_own_dates() -> None:
    made = sheet(issue=Issue(number=None, made_on=MADE_ON, locale="en_US"))
    assert panel_maps(made)[1].title.endswith("June 20, 2025")
    assert "Arrival: April 2, 2025" in drawn(made)[-1].description


def test_a_file_of_its_own_needs_nothing_from_outside() -> None:
    for figure in drawn(sheet()):
        content = standalone(figure)
        root = ET.fromstring(content)  # noqa: S314 - our own drawing
        text = content.decode()
        assert root.tag == f"{_SVG}svg"
        assert "var(" not in text
        assert not re.search(r"<script|javascript:|@import|\son\w+=", text)
        assert {*re.findall(r"https?://[^\"' ]+", text)} <= {
            "http://www.w3.org/2000/svg",
            "http://www.w3.org/1999/xlink",
        }
        assert all(link.startswith("#") for link in re.findall(r'href="([^"]*)"', text))
        assert {*re.findall(r"font(?:-family)?: ([^;\"]*)", text)} == {"sans-serif"}
        shown = [each.text for each in root.iter(f"{_SVG}text")]
        assert shown == words(figure)
        assert root.findtext(f"{_SVG}desc") == figure.description


def test_the_same_sheet_gives_the_same_bytes() -> None:
    one, other = ([standalone(figure) for figure in drawn(sheet())] for _ in range(2))
    assert one == other


def test_the_typesetter_places_them_in_a_kept_page() -> None:
    """Tagged and made to be kept, with an alternative text each."""
    figures = drawn(sheet())
    inputs = {f"p{n}": standalone(figure).decode() for n, figure in enumerate(figures)}
    page = '#set document(title: "Drawings")\n' + "\n".join(
        f'#image(bytes(sys.inputs.p{n}), format: "svg", alt: "drawing {n}", width: 60%)'
        for n in range(len(figures))
    )
    made = typst.compile(
        page.encode(), ignore_system_fonts=True, sys_inputs=inputs,
        pdf_standards=cast("Any", STANDARDS), timestamp=datetime(2025, 6, 20, tzinfo=UTC),
    )  # fmt: skip
    assert bytes(made or b"").startswith(b"%PDF-")


@pytest.mark.long
def test_a_browser_shows_them_as_pictures() -> None:
    figures = drawn(sheet())
    sources = [base64.b64encode(standalone(figure)).decode() for figure in figures]
    images = "".join(
        f'<p style="margin:0"><img alt="" style="width:100%" src="data:image/svg+xml;base64,{s}">'
        for s in sources
    )
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=chromium(), args=ARGUMENTS)
        page = browser.new_page(viewport={"width": 360, "height": 800})
        page.set_content(f'<body style="margin:0;background:#000">{images}')
        sizes = page.evaluate("[...document.images].map(i => [i.naturalWidth, i.naturalHeight])")
        shot = Image.open(io.BytesIO(page.screenshot()))
        browser.close()
    assert [wide for wide, _ in sizes] == [394, 394, 394]
    assert all(high > 200 for _, high in sizes)
    assert shot.convert("RGB").getpixel((3, 3)) == PAPER
