"""Film readings and headroom: the worked case, the figures, what a gauge can read."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from statistics import mean, stdev

import pytest
from hypothesis import given
from hypothesis import strategies as st

from recondition.amounts import Quantity
from recondition.condition.film import (
    CheckFailed,
    FilmReading,
    HalfACheck,
    NotAFilm,
    NotReadable,
    Placed,
    Principle,
    Taken,
    check_reading,
    figures,
    headroom,
    in_mil,
    removed,
    um,
)
from recondition.condition.findings import When
from recondition.condition.panels import Substrate
from recondition.condition.pattern import remarks
from recondition.fields import Id
from tests.book.make_bench import instrument

DAY = date(2031, 3, 4)
U = Decimal("2.5")


def reading(values: str, **more: object) -> FilmReading:
    given_ = {"panel": "bonnet", "place": "centre", "read_on": DAY, "unit": "um"} | more
    readings = tuple(Decimal(value) for value in values.split())
    return FilmReading(vehicle=Id("v"), instrument=Id("g"), readings=readings, **given_)  # type: ignore[arg-type]


def placed(values: str, order: int = 0, **more: object) -> Placed:
    return Placed(reading(values, **more), U, order, f"T-{order}")


BEFORE = placed("90 91 92 93 94", 1, when=When.BEFORE)
AFTER = placed("84 86 87 88 89", 2, when=When.AFTER)


def test_the_worked_case() -> None:
    """84 to 89 um after one pass, uncertainty 2.5, floor 80: 1.5, less than 4.0; removed 5.2."""
    room = headroom("bonnet", [BEFORE, AFTER], [], Decimal(80))
    assert room is not None
    assert (room.um, room.removed_um) == (Decimal("1.5"), Decimal("5.2"))
    assert not room.allows(Decimal("4.0"))
    assert room.allows(Decimal("1.5"))
    assert "84 - uncertainty 2.5 - floor 80" in room.words()
    assert "mean removed so far 5.2 um" in room.words()


def test_the_mean_never_hides_the_thin_spot() -> None:
    room = headroom("bonnet", [placed("120 118 82 121 119")], [], Decimal(80))
    assert room is not None
    assert (room.lowest_um, room.um) == (82, Decimal("-0.5"))


def test_work_since_a_reading_counts_against_it() -> None:
    first = placed("100 104 102", 1)
    later = Taken(DAY + timedelta(days=1), 2, Decimal(4))
    room = headroom("bonnet", [first], [later], Decimal(80))
    assert room is not None
    assert (room.since_um, room.um) == (4, Decimal("13.5"))
    again = placed("97 100 99", 3, read_on=DAY + timedelta(days=1), when=When.AFTER)
    after = headroom("bonnet", [first, again], [later], Decimal(80))
    assert after is not None
    assert (after.since_um, after.um) == (0, Decimal("14.5"))


def test_a_place_that_was_not_read_again_keeps_its_own_reading_less_the_work() -> None:
    edge, centre = placed("96 97 99", 1, place="edge"), placed("120 121 122", 1)
    passed = Taken(DAY, 2, Decimal(3))
    fresh = placed("117 118 119", 3, when=When.AFTER)
    room = headroom("bonnet", [edge, centre, fresh], [passed], Decimal(80))
    assert room is not None
    assert (room.lowest_um, room.since_um, room.um) == (96, 3, Decimal("10.5"))


def test_before_and_after_are_compared_only_at_the_same_place() -> None:
    other = replace(AFTER, reading=replace(AFTER.reading, place="rear edge"))
    nowhere = replace(AFTER, reading=replace(AFTER.reading, place=None))
    assert removed([BEFORE, other]) is None
    assert removed([replace(BEFORE, reading=replace(BEFORE.reading, place=None)), nowhere]) is None
    assert removed([BEFORE, AFTER]) == Decimal("5.2")
    capital = replace(AFTER, reading=replace(AFTER.reading, place=" Centre"))
    assert removed([BEFORE, capital]) == Decimal("5.2")


def test_nobody_knows_without_a_reading_or_a_floor() -> None:
    assert headroom("bonnet", [], [], Decimal(80)) is None
    assert headroom("bonnet", [BEFORE], [], None) is None


def test_a_mil_is_25_4_micrometres() -> None:
    """The inch of 1959; 6 to 8 mil is given as 150 to 200 um (the job, A.1 step 6)."""
    thick = reading("4.1 6 8", unit="mil")
    assert thick.in_um == (Decimal("104.14"), Decimal("152.4"), Decimal("203.2"))
    assert in_mil(Decimal("203.2")) == 8
    assert um(Quantity.of("1", "mil")) == Decimal("25.4")


def test_figures_are_those_of_iso_2360() -> None:
    """Readings, mean, maximum, minimum, standard deviation (ISO 2360 clauses 7 to 9)."""
    found = figures(Decimal(v) for v in (104, 108, 111, 106, 118))
    assert (found.lowest_um, found.highest_um, found.count) == (104, 118, 5)
    assert found.mean_um == Decimal("109.4")
    assert round(found.deviation_um or 0, 12) == round(
        Decimal(stdev([104, 108, 111, 106, 118])), 12
    )
    assert figures([Decimal(90)]).deviation_um is None


@pytest.mark.parametrize(
    ("principle", "substrate", "reads"),
    [
        (Principle.MAGNETIC, Substrate.STEEL, True),
        (Principle.MAGNETIC, Substrate.ALUMINIUM, False),
        (Principle.EDDY_CURRENT, Substrate.ALUMINIUM, True),
        (Principle.EDDY_CURRENT, Substrate.STEEL, False),
        (Principle.BOTH, Substrate.STEEL, True),
        (Principle.BOTH, Substrate.COMPOSITE, False),
        (Principle.BOTH, Substrate.PLASTIC, False),
        (Principle.ULTRASONIC, Substrate.PLASTIC, True),
        (Principle.MAGNETIC, Substrate.UNKNOWN, True),
    ],
)
def test_which_metal_a_gauge_reads(
    principle: Principle, substrate: Substrate, *, reads: bool
) -> None:
    """Magnetic on steel (ISO 2178), eddy current on aluminium (ISO 2360): titles and scopes."""
    gauge = instrument(principle)
    if reads:
        check_reading(reading("104 106"), gauge, substrate)
    else:
        with pytest.raises(NotReadable):
            check_reading(reading("104 106"), gauge, substrate)


def test_a_gauge_that_is_off_proves_nothing() -> None:
    ok = {"zero": q("1"), "foil": q("102"), "foil_read": q("101"), "foil_after": q("104.5")}
    check_reading(reading("104", **ok), instrument(), Substrate.STEEL)
    for off in ({"zero": q("3")}, {"zero_after": q("-2.6")}, {"foil_after": q("104.6")}):
        with pytest.raises(CheckFailed):
            check_reading(reading("104", **(ok | off)), instrument(), Substrate.STEEL)
    for half in ({"foil": q("102")}, {"foil_read": q("101")}):
        with pytest.raises(HalfACheck):
            check_reading(reading("104", **half), instrument(), Substrate.STEEL)
    for wrong in ("0", "-4", "3001"):
        with pytest.raises(NotAFilm):
            check_reading(reading(wrong), instrument(), Substrate.STEEL)


def q(text: str) -> Quantity:
    return Quantity.of(text, "um")


def test_a_panel_that_stands_out_is_a_remark_with_its_evidence() -> None:
    means = {f"p{n}": figures([Decimal(100 + n), Decimal(102 + n)]) for n in range(4)}
    means["wing"] = figures([Decimal(240), Decimal(260)])
    found = remarks(means, Decimal("1.5"))
    assert list(found) == ["wing"]
    assert "mean 250 um of 2 readings, against 101 to 104 um" in found["wing"]
    assert "a remark, no verdict" in found["wing"]
    assert remarks({k: means[k] for k in ("p0", "p1", "wing")}, Decimal("1.5")) == {}


VALUES = st.lists(st.decimals("60", "400", places=1), min_size=1, max_size=8)
TAKES = st.lists(st.decimals("0", "9", places=1), max_size=5)


@given(VALUES, TAKES, st.decimals("50", "120", places=1))
def test_headroom_is_the_lowest_less_everything(
    values: list[Decimal], takes: list[Decimal], floor: Decimal
) -> None:
    one = placed(" ".join(map(str, values)), 1)
    taken = [Taken(DAY, n + 2, amount) for n, amount in enumerate(takes)]
    room = headroom("bonnet", [one], taken, floor)
    assert room is not None
    assert room.um == min(values) - sum(takes) - U - floor
    assert room.allows(room.um) is True
    assert room.allows(room.um + Decimal("0.1")) is False


@given(VALUES)
def test_figures_agree_with_the_standard_library(values: list[Decimal]) -> None:
    found = figures(values)
    assert abs(found.mean_um - mean(values)) < Decimal("1e-20")
    assert found.lowest_um <= found.mean_um <= found.highest_um
    if len(values) > 1:
        assert abs((found.deviation_um or 0) - stdev(values)) < Decimal("1e-20")
