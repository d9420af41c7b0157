"""Typing an inspection sheet back: short lines, all or nothing, every slip named."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING

import pytest

from recondition.book import reading
from recondition.book.engine import Book
from recondition.condition.bodies import body_of
from recondition.condition.findings import Ended, ExtentKind, When
from recondition.intake.load import load
from recondition.intake.problems import ImportRefused
from recondition.intake.typed import enter
from tests.intake.sheetmaker import base, write_folder

if TYPE_CHECKING:
    from pathlib import Path

GAUGE = [["instrument", "name", "principle", "uncertainty"],
         ["G1", "film gauge", "magnetic and eddy current", "2.5"]]  # fmt: skip


@pytest.fixture
def shop(book: Book, tmp_path: Path) -> Book:
    sheets = base() | {"instruments": GAUGE}
    load(book, write_folder(tmp_path / "sheets", sheets), author_ref="HK")
    return book


def test_rows_of_the_sheet_are_typed_back(shop: Book) -> None:
    number = body_of(None).panels().index("roof") + 1
    lines = (
        f"""
        # by lamp
        lamp = spot lamp
        gauge = G1
        day = 2031-03-04
        step = before polish
        {number} swirls; 2; 40 %
        lfw: scratch through; 3; 40 mm; lower edge; nail catches
        {number} film 104 108.5 111; centre
        {number} gloss60 64 65 63
        underside: - ; covered by wax
    """.replace("underside", "floor")
        .replace("lfw", "l f wing")
        .splitlines()
    )
    results = enter(shop, "0007", lines, author_ref="HK")
    assert len(results) == 6
    with shop.reading() as conn:
        found = {item.ref: item.entry for item in reading.stored(conn, "finding")}
        (film,) = reading.stored(conn, "film reading")
        (gloss,) = reading.stored(conn, "gloss reading")
        (outcome,) = reading.stored(conn, "outcome")
    swirls, scratch, floor = (found[f"F-00{n}"] for n in (3, 4, 5))
    assert (swirls.panel, swirls.severity, str(swirls.extent)) == ("roof", 2, "40 percent")
    assert (swirls.extent_kind, swirls.lamp) == (ExtentKind.PART_OF_PANEL, "spot lamp")
    assert (swirls.when, swirls.step) == (When.BEFORE, "polish")
    assert (scratch.panel, scratch.spot, scratch.words) == (
        "left front wing", "lower edge", "nail catches",
    )  # fmt: skip
    assert scratch.extent_kind is ExtentKind.LENGTH
    assert film.entry.readings == (Decimal(104), Decimal("108.5"), Decimal(111))
    assert (film.entry.place, film.entry.when) == ("centre", When.BEFORE)
    assert (gloss.entry.unit, gloss.entry.panel) == ("GU60", "roof")
    assert (floor.severity, outcome.entry.ended) == (None, Ended.NOT_INSPECTED)
    assert outcome.entry.reason == "covered by wax"


@pytest.mark.parametrize(
    ("line", "word"),
    [
        ("bonnet swirls", "names no panel"),
        ("999 swirls", "rows 1 to"),
        ("bonnet: swirls; 7", "not a severity"),
        ("door: chip; 2", "may mean"),
        ("bonnet: a; 1; 1 mm; b; c; d", "5 are the most"),
        ("bonnet: -", "needs its reason"),
        ("bonnet: film 104", "no gauge is set"),
    ],
)
def test_a_slip_is_named_with_its_line_and_nothing_is_kept(
    shop: Book, line: str, word: str
) -> None:
    with pytest.raises(ImportRefused) as refused:
        enter(shop, "0007", ["roof: dull; 2", line], author_ref="HK", name="typed.txt")
    assert word in refused.value.words()
    assert "typed.txt, row 2" in refused.value.words()
    with shop.reading() as conn:
        assert len(reading.stored(conn, "finding")) == 2
