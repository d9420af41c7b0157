"""Figures of readings against those worked out by hand, first and last of one place."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from typing import TYPE_CHECKING, Any

import pytest

from recondition.condition.film import UM_PER_MIL, Principle, in_mil
from recondition.condition.findings import When
from recondition.history.layout import Table
from recondition.history.measures import DropSet, FilmSet, GlossSet
from recondition.history.saying import Saying
from tests.check_values import check_values
from tests.history.invented import sheet
from tests.history.invented_seen import FIRST, LAST, film, readings
from tests.history.reading import page_of
from tests.history.storing import stored

if TYPE_CHECKING:
    from recondition.history.measures import MeasureRow
    from recondition.ledger.drafts import Stored


def rows(*told: Any) -> tuple[MeasureRow, ...]:
    """Give the rows of film readings, recorded in this order."""
    made = tuple(
        stored("film reading", f"m-{n}", entry, sequence=n, at=f"{entry.read_on}T18:00:00+02:00")
        for n, entry in enumerate(told)
    )
    return sheet(readings=made).measures


def test_lowest_mean_and_count_are_those_worked_out_by_hand() -> None:
    # 96 + 104 + 93 + 99 = 392, a quarter of it 98; 91 + 95 + 92 + 94 = 372, a quarter of it 93.
    (bonnet,) = [row for row in sheet().measures if row.panel == "bonnet" and _is_film(row)]
    first, last = bonnet.first, bonnet.last
    assert isinstance(first, FilmSet)
    assert isinstance(last, FilmSet)
    assert (first.lowest_um, first.mean_um, first.count) == (Decimal(93), Decimal(98), 4)
    assert (last.lowest_um, last.mean_um, last.count) == (Decimal(91), Decimal(93), 4)
    assert (bonnet.place, first.when, last.when) == ("centre", When.BEFORE, When.AFTER)


def _is_film(row: MeasureRow) -> bool:
    return isinstance(row.first, FilmSet)


def test_the_gauge_is_told_with_its_uncertainty_and_checks() -> None:
    first = sheet().measures[0].first
    assert isinstance(first, FilmSet)
    assert (first.principle, first.uncertainty_um) == (Principle.BOTH, Decimal("2.5"))
    checks = (first.zero_um, first.foil_um, first.foil_read_um)
    assert checks == (Decimal(0), Decimal(50), Decimal(51))
    assert (first.zero_after_um, first.foil_after_um) == (Decimal("0.5"), Decimal(50))
    assert first.instrument is None  # a product name, which nobody agreed to


# The international yard of 1959 makes the inch 25.4 mm exactly; a mil is a thousandth of it.
def test_a_mil_is_exactly_25_4_micrometres() -> None:
    published = {row["from"]: row for row in check_values("units_exact")}["mil (0.001 inch)"]
    assert (Decimal(published["factor"]), published["exact"]) == (UM_PER_MIL, "yes")


def test_readings_in_mil_become_micrometres_and_back() -> None:
    # 12.2, 12.6 and 11.8 mil: lowest 299.72 um, mean 12.2 mil = 309.88 um, each to a tenth.
    (wing,) = [row for row in sheet().measures if row.panel == "right front wing"]
    assert isinstance(wing.first, FilmSet)
    assert (wing.first.lowest_um, wing.first.mean_um) == (Decimal("299.7"), Decimal("309.9"))
    assert wing.last is None
    assert in_mil(Decimal("309.88")) == Decimal("12.20")
    assert Saying("en_US").film(Decimal("309.88")) == "12.2 mil (309.9 µm)"
    assert Saying("en_GB").film(Decimal("309.88")) == "309.9 µm (12.2 mil)"


def test_a_mean_is_rounded_half_away_from_zero_to_a_tenth() -> None:
    # (100 + 100.1) / 2 = 100.05, which is 100.1; (100 + 100 + 101) / 3 = 100.33..., 100.3.
    (one,) = rows(film("roof", "100 100.1", FIRST))
    (two,) = rows(film("roof", "100 100 101", FIRST))
    assert (one.first.mean_um, two.first.mean_um) == (Decimal("100.1"), Decimal("100.3"))


def test_gloss_is_compared_at_one_angle_and_place_whatever_its_capitals() -> None:
    (bonnet,) = [row for row in sheet().measures if isinstance(row.first, GlossSet)]
    assert isinstance(bonnet.last, GlossSet)
    # (41 + 43 + 45) / 3 = 43; (64 + 66 + 68) / 3 = 66.
    assert (bonnet.first.mean_gu, bonnet.last.mean_gu) == (Decimal(43), Decimal(66))
    assert (bonnet.first.angle, bonnet.first.count) == (60, 3)


def test_another_angle_is_another_row() -> None:
    told = [
        replace(each, entry=replace(each.entry, unit="GU20"))
        if each.kind == "gloss reading" and each.entry.read_on == LAST
        else each
        for each in readings()
    ]
    found = [row for row in sheet(readings=tuple(told)).measures if isinstance(row.first, GlossSet)]
    assert [(row.first.angle, row.last) for row in found] == [(60, None), (20, None)]


def test_drops_give_their_angle_and_never_less_than_the_usual_spread() -> None:
    # A cap as high as half its width is a half ball: 90 degrees.
    (roof,) = [row for row in sheet().measures if isinstance(row.first, DropSet)]
    assert (roof.first.mean_deg, roof.first.count) == (Decimal(90), 2)
    assert roof.first.spread_deg > 0


def test_first_and_last_are_of_one_place_in_the_order_of_time() -> None:
    told = (
        film("bonnet", "95", LAST, place="centre"),
        film("bonnet", "97", FIRST, place="Centre "),
        film("bonnet", "80", LAST, place="edge"),
        film("roof", "70", FIRST, place="centre"),
    )
    found = [(row.panel, row.first.mean_um, row.last and row.last.mean_um) for row in rows(*told)]
    assert found == [("bonnet", 97, 95), ("bonnet", 80, None), ("roof", 70, None)]


def test_on_one_day_before_a_step_comes_first_and_after_it_last() -> None:
    told = (
        film("bonnet", "93", FIRST, place="centre", when=When.AFTER),
        film("bonnet", "95", FIRST, place="centre"),
        film("bonnet", "97", FIRST, place="centre", when=When.BEFORE),
    )
    (row,) = rows(*told)
    assert row.last is not None
    assert (row.first.mean_um, row.last.mean_um) == (Decimal(97), Decimal(93))


def test_readings_between_first_and_last_are_not_shown() -> None:
    told = [film("roof", each, FIRST, place="centre") for each in ("100", "98", "96")]
    (row,) = rows(*told)
    assert row.last is not None
    assert (row.first.mean_um, row.last.mean_um) == (Decimal(100), Decimal(96))


def _changes(*told: Any) -> list[str]:
    """Give what is said of the change of the mean, row by row."""
    made = tuple(stored("film reading", f"m-{n}", each, sequence=n) for n, each in enumerate(told))
    page = page_of(sheet(readings=made))
    (section,) = [section for section in page.sections if section.anchor == "measured"]
    table = next(block for block in section.blocks if isinstance(block, Table))
    return [row[-1].lines[0] for row in table.rows]


@pytest.mark.parametrize(
    ("first", "last", "said"),
    [
        ("98", "93", "5 µm (0.2 mil) less"),
        ("93", "98", "5 µm (0.2 mil) more"),
        ("98", "98", "no change"),
    ],
)
def test_a_change_is_told_in_words(first: str, last: str, said: str) -> None:
    told = (film("roof", first, FIRST, place="a"), film("roof", last, LAST, place="a"))
    assert _changes(*told) == [said]


def test_readings_of_a_whole_panel_are_not_compared() -> None:
    (said,) = _changes(film("roof", "98", FIRST), film("roof", "93", LAST))
    assert said == "not compared: no one place was named"


def test_a_test_that_was_not_made_is_none() -> None:
    (row,) = sheet().tests
    assert (row.panel, row.answer, row.tested_on) == ("roof", "colour on the cloth", FIRST)


def test_readings_recorded_late_say_when() -> None:
    late: Stored[Any] = replace(readings()[0], recorded_at="2025-04-11T08:00:00+02:00")
    (row,) = sheet(readings=(late,)).measures
    assert str(row.first.recorded_on) == "2025-04-11"


def test_a_panel_that_was_worked_on_since_says_so_and_one_that_was_not_does_not() -> None:
    (section,) = [part for part in page_of(sheet()).sections if part.anchor == "measured"]
    tables = [block for block in section.blocks if isinstance(block, Table)]
    notes = {row[0].lines[0]: row[2].notes for table in tables for row in table.rows}
    wing = [note for note in notes["right front wing"] if "not read after" in note]
    assert wing == ["not read after the work of 22 April 2025"]
    assert not [note for note in notes["bonnet"] if "not read after" in note]
