"""The panel map: legible in grey, without colour, and told in words."""

from __future__ import annotations

import re
from decimal import Decimal
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st
from matplotlib.textpath import TextPath

from recondition.condition.bodies import body_of
from recondition.condition.film import Headroom, figures
from recondition.reports.film import PanelFilm
from recondition.reports.panel_map import (
    Seen,
    Tile,
    colour_of,
    contrast,
    film_map,
    findings_map,
    ink_on,
    luminance,
    plan,
    tile_map,
)
from tests.check_values import check_values

if TYPE_CHECKING:
    from collections.abc import Iterator

COUPE = body_of("two-door coupe")


def film(panel: str, low: int, room: str) -> PanelFilm:
    found = figures(Decimal(value) for value in (low, low + 6))
    head = Headroom(panel, Decimal(low), Decimal(0), Decimal("2.5"),
                    Decimal(low) - Decimal("2.5") - Decimal(room), None, ())  # fmt: skip
    return PanelFilm(panel, found, head, ())


FILMS = [film("bonnet", 104, "21.5"), film("roof", 92, "9"), film("left front wing", 84, "-1"),
         film("right front wing", 238, "155.5")]  # fmt: skip


def words(svg: str) -> str:
    return " ".join(re.findall(r"<text[^>]*>([^<]*)</text>", svg))


def test_every_figure_stands_on_the_map_in_words() -> None:
    figure = film_map(COUPE, FILMS, name="m", title="Film")
    said = words(figure.svg)
    for word in ("bonnet", "low 104 um", "room 21.5", "low 92 um", "no headroom", "no reading",
                 "left", "right", "front", "or more"):  # fmt: skip
        assert word in said, word
    assert "roof: lowest 92 um, headroom 9 um" in figure.description
    assert "rear door" not in said
    assert "clear" not in said


def test_findings_are_told_by_severity_and_area() -> None:
    seen = {"bonnet": Seen(2, 3), "floor": Seen(1, None, 1), "all seats": Seen(1, 2),
            "left side stripe": Seen(1, 4)}  # fmt: skip
    said = words(findings_map(COUPE, seen, name="m", title="Findings").svg)
    for word in ("2 findings", "worst 3", "underside", "not inspected", "interior", "worst 4",
                 "left side stripe", "none found"):  # fmt: skip
        assert word in said, word


@pytest.mark.parametrize("style", ["saloon", "two-door coupe", "cabriolet", "roadster", "estate",
                                   "pick-up", "van", "hatchback", None])  # fmt: skip
def test_every_body_has_its_own_plan(style: str | None) -> None:
    body = body_of(style)
    rows = plan(body, ["badges"])
    placed = [name for row in rows for name in row if name]
    assert len(placed) == len(set(placed))
    assert all(body.has(name) for name in placed)
    assert {"bonnet", "left front wing", "right front wing", "badges"} <= set(placed)
    assert ("left rear door" in placed) == body.rear_doors


@given(st.floats(0, 1), st.floats(0, 1))
def test_the_scale_is_told_apart_in_grey_and_its_ink_can_be_read(one: float, other: float) -> None:
    """A perceptual map: lightness rises with the value; WCAG 2.2, 1.4.3 asks for 4.5 to 1."""
    low, high = sorted((one, other))
    if high - low > 0.05:
        assert luminance(colour_of(low)) < luminance(colour_of(high))
    assert contrast(ink_on(colour_of(one)), colour_of(one)) >= 4.5
    assert contrast(ink_on(colour_of(None)), colour_of(None)) >= 4.5


@pytest.mark.parametrize("row", check_values("wcag_contrast_examples"))
def test_contrast_is_that_of_wcag(row: dict[str, str]) -> None:
    """WCAG 2.2 worked examples, computed (check-values 14)."""
    fore, back, ratio = list(row.values())[:3]
    assert contrast(fore.lower(), back.lower()) == pytest.approx(float(ratio), abs=0.001)


LONG = "lower valance behind the left-hand auxiliary driving lamp bracket"
BOX = re.compile(r'<path d="(M [^"]*Q [^"]*)"[^>]*style="([^"]*)"')
LINE = re.compile(r'<text[^>]*text-anchor: middle[^>]* x="([0-9.]+)" y="([0-9.]+)"[^>]*>([^<]+)<')


def under_words(svg: str) -> Iterator[tuple[str, tuple[float, float], str]]:
    """Give every line on a tile, how far it stands in from the nearest sides, and its ground."""
    boxes = []
    for path, look in BOX.findall(svg):
        numbers = [float(each) for each in re.findall(r"[0-9.]+", path)]
        across, down = numbers[::2], numbers[1::2]
        boxes.append((min(across), min(down), max(across), max(down), look))
    for x, y, text in LINE.findall(svg):
        shape = TextPath((float(x), -float(y)), text, size=9).get_extents()
        half, top, bottom = shape.width / 2, -shape.y1, -shape.y0
        middle, high = float(x), float(y) - 3
        on = [each for each in boxes if each[0] < middle < each[2] and each[1] < high < each[3]]
        if on:
            left, above, right, below, look = on[-1]
            aside = min(middle - half - left, right - middle - half)
            yield text, (aside, min(top - above, below - bottom)), look


def test_words_stand_on_a_plain_ground_and_never_on_a_hatch() -> None:
    seen = {"floor": Seen(1, None, 1), LONG: Seen(1, None, 1), "bonnet": Seen(2, 1)}
    findings = findings_map(COUPE, seen, name="m", title="Findings").svg
    films = film_map(COUPE, FILMS, name="m", title="Film").svg
    for svg, what in ((findings, "not inspected"), (films, "no reading")):
        grounds = [look for text, _, look in under_words(svg) if text == what]
        assert grounds
        assert "url(" not in "".join(grounds)
        assert "url(" in svg  # it is hatched all the same, round the words


def test_a_hatch_has_a_colour_of_the_page_light_and_dark() -> None:
    svg = findings_map(COUPE, {"floor": Seen(1, None, 1)}, name="m", title="Findings").svg
    (pattern,) = re.findall(r"<pattern.*?</pattern>", svg, re.DOTALL)
    colours = re.findall(r"(?:fill|stroke): (?!none)([^;]+)", pattern)
    assert set(colours) == {"var(--rule, #c9c3b6)"}


@pytest.mark.parametrize("said", [("finding 4", "from two metres"), ("1 finding", "worst 4"),
                                  ("findings 10, 11, 12, 13", "not inspected"),
                                  ("12 findings", "worst 2, some unseen")])  # fmt: skip
@pytest.mark.parametrize("panel", ["bonnet", "right rear quarter", LONG, LONG.upper()])
def test_what_a_tile_says_stays_inside_of_it(panel: str, said: tuple[str, str]) -> None:
    tiles = {panel: Tile(panel, said, 0.2), "boot": Tile("boot", said, None, "xxxx")}
    empty = Tile("", ("none recorded",), None)
    figure = tile_map(COUPE, tiles, empty, ("", "", ""), name="m", title="Map", told="told")
    room = {text: room for text, room, _ in under_words(figure.svg)}
    assert {word for line in said for word in line.split()} <= set(" ".join(room).split())
    near = {text: (aside, up) for text, (aside, up) in room.items() if aside < 0.5 or up < 2}
    assert near == {}
