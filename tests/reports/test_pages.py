"""Figures and pages: the same bytes each time, named for those who cannot see, nothing let in."""

from __future__ import annotations

from xml.etree import ElementTree as ET

import pytest

from recondition.amounts import Money
from recondition.reports.cost_and_uplift import build, kind_by_area, picture
from recondition.reports.drawing import DARK_END, INK, LIGHT_END
from recondition.reports.figures import Bar, Stair, bars, stairs
from recondition.reports.html import Page, Pictured, Section, to_html
from recondition.reports.table import Column, Table
from tests.reports.work import data, progress

SVG = "{http://www.w3.org/2000/svg}"
HOSTILE = "<script>alert(1)</script> & $x^2$ \x1b[31m"
PAPER = "#fbf9f4"


def dollars(text: str) -> Money:
    return Money.of(text, "USD")


def some_bars(label: str) -> list[Bar]:
    three = (dollars("-100.00"), dollars("50.00"), dollars("400.00"))
    return [Bar(label, *three, verdict) for verdict in ("do", "leave", "ask")]


def test_a_figure_is_the_same_each_time_and_well_formed() -> None:
    first, second = (bars(some_bars(HOSTILE), name="b", title=HOSTILE) for _ in range(2))
    assert first == second
    root = ET.fromstring(first.svg)  # noqa: S314 - our own drawing
    assert root.get("role") == "img"
    assert root.find(f"{SVG}title") is not None
    assert "-100.00 to 400.00, likely 50.00, do" in (root.findtext(f"{SVG}desc") or "")
    assert "<script" not in first.svg
    assert "dc:date" not in first.svg


def test_the_ids_of_two_figures_on_a_page_differ() -> None:
    steps = [Stair("C1", dollars("10.00"), dollars("-5.00"))]
    ids = [
        {e.get("id") for e in ET.fromstring(stairs(steps, name=name, title="t").svg).iter()}  # noqa: S314
        for name in ("one", "two")
    ]
    assert (ids[0] & ids[1]) == {None}
    svg = stairs(steps, name="one", title="t").svg
    assert all(f'id="{ref}"' in svg for ref in _referred(svg))


def _referred(svg: str) -> set[str]:
    return {part.split(")")[0] for part in svg.split("url(#")[1:]} | {
        part.split('"')[0] for part in svg.split('href="#')[1:]
    }


def test_verdicts_stand_in_words_beside_their_marks() -> None:
    svg = bars(some_bars("C1"), name="b", title="t").svg
    for verdict in ("do", "leave", "ask"):
        assert svg.count(f">{verdict}<") == 2  # beside the bar, and in the key


def test_nothing_to_draw_is_no_figure() -> None:
    with pytest.raises(ValueError, match="unpack"):
        stairs([], name="s", title="t")


def _luminance(colour: str) -> float:
    """WCAG 2.2 relative luminance; threshold 0.04045."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def _contrast(one: str, other: str) -> float:
    high, low = sorted((_luminance(one), _luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_contrast_of_words_and_shapes() -> None:
    # WCAG 2.2: 1.4.3 asks 4.5 for text, 1.4.11 asks 3 for what a figure is read by. The
    # light fill is always edged in ink.
    assert _contrast("#767676", "#ffffff") == pytest.approx(4.542, abs=0.001)
    for ink, paper in ((INK, PAPER), ("#0f4c5c", PAPER), ("#55626a", PAPER)):
        assert _contrast(ink, paper) >= 4.5
    for ink, paper in (("#e6e2d8", "#12191c"), ("#8cc4d2", "#12191c"), ("#a9b3b6", "#12191c")):
        assert _contrast(ink, paper) >= 4.5
    assert _contrast(DARK_END, PAPER) >= 3
    assert _contrast("#6f97cf", "#12191c") >= 3
    assert _contrast(INK, LIGHT_END) >= 3


def test_a_page_lets_nothing_in_and_asks_nothing_of_elsewhere() -> None:
    table = Table(HOSTILE, (Column("a", HOSTILE),), ((HOSTILE,),), note=HOSTILE)
    figure = bars(some_bars(HOSTILE), name="b", title=HOSTILE)
    page = to_html(
        Page(
            title=HOSTILE,
            subject=HOSTILE,
            lead=HOSTILE,
            sections=(Section(HOSTILE, (HOSTILE,), (table, Pictured(figure, table))),),
            foot=HOSTILE,
        )
    )
    assert "<script" not in page
    assert "\x1b" not in page
    without_names = page.replace("http://www.w3.org/", "")
    assert "http" not in without_names
    assert "prefers-color-scheme: dark" in page
    assert "<details" in page


def test_the_report_has_a_table_for_every_side_and_crosses_kinds_with_areas() -> None:
    tables = build(data())
    titles = [table.title for table in tables]
    assert titles == [
        "Candidate work",
        "By finding",
        "By area",
        "By kind of cost",
        "Posted, by kind of line and area",
        "Lines of the work",
        "Lines outside any estimate",
    ]
    crossed = tables[4]
    # f1 and f3 are on the exterior, f2 on a wheel: 150.00 + 12.34 and 150.00 of charges.
    assert crossed.rows == (
        ("charge", dollars("162.34"), dollars("150.00"), dollars("312.34")),
        ("labour", dollars("155.00"), dollars("0.00"), dollars("155.00")),
    )
    assert crossed.total == ("all", dollars("317.34"), dollars("150.00"), dollars("467.34"))


def test_no_lines_give_an_empty_cross_table() -> None:
    assert kind_by_area((), progress()).rows == ()


def test_left_work_without_cost_is_not_drawn() -> None:
    figure = picture(progress(), "steps")
    assert figure is not None
    assert "C4" not in figure.svg
    assert "C3, started: cost 455.00, uplift 600.00" in figure.description
