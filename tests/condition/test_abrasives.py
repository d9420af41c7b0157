"""Abrasive grades and ladders, against the published grain sizes and the trade rule."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from recondition.condition.abrasives import (
    SERIES,
    STEP_MAX,
    GradeNotNamed,
    NoSuchGrade,
    NotFiner,
    SeriesMixed,
    StepTooWide,
    check_ladder,
    grade,
    ladder,
    ratio,
)
from tests.check_values import check_values


def names(way: tuple[object, ...]) -> str:
    return " ".join(each.name for each in way)  # type: ignore[attr-defined]


@pytest.mark.parametrize("row", check_values("fepa_p_grades"), ids=lambda row: row["designation"])
def test_grain_sizes_are_the_published_ones(row: dict[str, str]) -> None:
    """Source: stusshed.wordpress.com/2008/03/24; FEPA P12 to P120 again in sizes.com."""
    series = "P" if row["system"].startswith("FEPA") else "US"
    found = SERIES[series][int(row["designation"].removeprefix("P"))]
    published = row["median_or_mean_um_source_A"]
    assert found.grain_um == (Decimal(published) if published else None)
    if row["um_source_B"] and series == "P":
        assert found.grain_um == Decimal(row["um_source_B"])


def test_the_table_holds_no_grade_beyond_the_published_list() -> None:
    listed = {(row["system"][:4], row["designation"].removeprefix("P"))
              for row in check_values("fepa_p_grades")}  # fmt: skip
    held = {("FEPA", str(n)) for n in SERIES["P"]} | {("CAMI", str(n)) for n in SERIES["US"]}
    assert held == listed


def test_one_number_is_two_papers() -> None:
    """Check-values 17, trap 1: P1000 is 18.3 um, US 1000 is 10.3 um, as P2000."""
    assert grade("P1000").grain_um == Decimal("18.3")
    assert grade("US 1000").grain_um == grade("P2000").grain_um == Decimal("10.3")
    with pytest.raises(GradeNotNamed, match=r"P1000 has 18\.3 um, US 1000 has 10\.3 um"):
        grade("1000")
    with pytest.raises(SeriesMixed):
        ladder(grade("P800"), grade("US 1000"))


@pytest.mark.parametrize(
    ("us", "p"),
    [("320", "400"), ("400", "800"), ("600", "1200"), ("800", "1500"), ("1000", "2000")],
)
def test_the_nearest_p_grade_of_a_us_one_is_as_published(us: str, p: str) -> None:
    """Nearest on a log scale; computed from the published sizes, cross-read in several charts."""
    grain = Fraction(str(grade(f"US {us}").grain_um))
    known = [g for g in SERIES["P"].values() if g.grain_um]
    apart = {g.name: max(Fraction(g.grain_um) / grain, grain / Fraction(g.grain_um)) for g in known}
    assert min(apart, key=lambda name: apart[name]) == f"P{p}"


def test_the_trades_rule_of_steps() -> None:
    """Check-values 18: accept 1000-2000-3000-4000-5000, refuse 600-4000; no source."""
    check_ladder([grade(f"P{n}") for n in (1000, 2000, 3000, 4000, 5000)])
    with pytest.raises(StepTooWide, match="P600 to P4000") as refused:
        check_ladder([grade("P600"), grade("P4000")])
    assert "P1200, P2000" in refused.value.todo or "P" in refused.value.todo
    assert "show again after finishing" in str(refused.value)


def test_a_ladder_takes_the_fewest_steps_and_evens_them() -> None:
    assert names(ladder(grade("P800"), grade("P2500"))) == "P800 P1500 P2500"
    assert names(ladder(grade("P1500"), grade("P2500"))) == "P1500 P2500"
    have = [grade("P1000"), grade("P2000")]
    assert names(ladder(grade("P800"), grade("P2500"), have)) == "P800 P1000 P2000 P2500"


def test_papers_that_do_not_reach_are_refused_with_the_gap() -> None:
    with pytest.raises(StepTooWide, match="P600 to P2500") as refused:
        ladder(grade("P600"), grade("P2500"), [grade("P2500")])
    assert "Go through P1200" in refused.value.todo
    with pytest.raises(NotFiner):
        ladder(grade("P2000"), grade("P1000"))
    for typed in ("P1001", "X400", "", "P"):
        with pytest.raises(NoSuchGrade):
            grade(typed)


GRADES = st.sampled_from([g for series in SERIES.values() for g in series.values()])


@given(GRADES, GRADES)
def test_every_ladder_goes_down_by_steps_that_are_allowed(one: object, other: object) -> None:
    try:
        way = ladder(one, other)  # type: ignore[arg-type]
    except (SeriesMixed, NotFiner, StepTooWide):
        return
    assert (way[0], way[-1]) == (one, other)
    assert all(1 < ratio(coarse, fine) <= STEP_MAX for coarse, fine in pairwise(way))
    check_ladder(way)
