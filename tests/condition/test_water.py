"""Drops and hardness, against published formulas, classes and worked values."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from recondition.amounts import Quantity
from recondition.condition.water import (
    DropReading,
    NotAHardness,
    SoapNotRinsed,
    WaterHardness,
    angle,
    drops,
    hardness,
    hardness_class,
    meaning,
    names,
    spot_risk,
    volume_ul,
)
from recondition.fields import Id
from tests.check_values import check_values

DAY = date(2031, 3, 4)


@pytest.mark.parametrize("row", check_values("contact_angle_examples"))
def test_the_angle_of_a_drop(row: dict[str, str]) -> None:
    """Theta = 2 atan(2h/w): check-values 3, computed; 90 and 150 degrees are exact."""
    found = angle(Decimal(row["height"]), Decimal(row["base_width"]))
    assert round(found, 4) == Decimal(row["theta_deg_computed"])


def test_the_trades_own_example_of_two_drops() -> None:
    """The job, A.1 step 6: h = 1.2, d = 3.0 gives 77.3 degrees; d = 3.4 gives 70.4."""
    height = Decimal("1.2")
    assert [round(angle(height, Decimal(w)), 1) for w in ("3.0", "3.4")] == [
        Decimal("77.3"), Decimal("70.4"),
    ]  # fmt: skip


def test_the_volume_of_a_cap() -> None:
    """Check-values 3: h = 1, a = 2 gives V = 6.806784."""
    assert round(volume_ul(Decimal(1), Decimal(4)), 6) == Decimal("6.806784")
    assert not drops([Decimal(1)], [Decimal(4)]).too_large
    assert "reads low" in meaning(drops([Decimal(2)], [Decimal(5)]))


@pytest.mark.parametrize(
    ("deg", "common", "astm"),
    [
        ("44.9", "hydrophilic", "hydrophilic"),
        ("45", "hydrophilic", "in between"),
        ("70", "hydrophilic", "in between"),
        ("90", "on the line", "in between"),
        ("90.1", "hydrophobic", "hydrophobic"),
    ],
)
def test_both_conventions_name_an_angle(deg: str, common: str, astm: str) -> None:
    """Check-values 3 and 17, trap 2: 90 degrees against 45 and 90 (ASTM D7334-08(2022), 5.5)."""
    assert list(names(Decimal(deg)).values()) == [common, astm]


def test_what_drops_mean_for_the_next_step() -> None:
    """Check-values 18: well above 90, near 90, clearly below; common practice, no source."""
    tall, near, flat = (drops([Decimal(h)], [Decimal(3)]) for h in ("2.4", "1.5", "0.8"))
    assert meaning(tall).startswith("a water-repelling layer is there")
    assert meaning(near).startswith("a water-repelling layer is wearing out")
    assert meaning(flat).startswith("assume that no water-repelling layer is there")
    assert all("Beading alone is no proof" in meaning(each) for each in (tall, near, flat))


def test_the_spread_is_never_less_than_the_usual_one() -> None:
    """About 3 degrees between measurements is normal (the job, A.1 step 6)."""
    same = drops([Decimal("1.2")] * 5, [Decimal(3)] * 5)
    assert (same.spread_deg, same.margin_deg, same.count) == (0, 3, 5)
    apart = drops([Decimal("1.2"), Decimal("1.2")], [Decimal("3.0"), Decimal("3.4")])
    assert round(apart.margin_deg, 1) == Decimal("4.9")  # (77.320 - 70.435) / sqrt 2


def test_soap_makes_a_reading_no_evidence() -> None:
    reading = DropReading(
        vehicle=Id("v"), panel="roof", heights=(Decimal(1),), widths=(Decimal(3),),
        soap_rinsed=False, read_on=DAY,
    )  # fmt: skip
    with pytest.raises(SoapNotRinsed):
        reading.check()


@pytest.mark.parametrize("row", check_values("water_hardness"))
def test_hardness_from_calcium_and_magnesium(row: dict[str, str]) -> None:
    """Standard Methods 2340 B, computed; the page's own misprints are not followed (17, 4)."""
    found = hardness(Decimal(row["ca_mg_l"]), Decimal(row["mg_mg_l"]))
    assert found == Decimal(row["hardness_mg_l_caco3_computed"])
    assert hardness_class(found) == row["class_usgs"]


@pytest.mark.parametrize(
    ("mg_l", "named"),
    [("0", "soft"), ("60", "soft"), ("60.5", "moderately hard"), ("120", "moderately hard"),
     ("120.4", "hard"), ("180", "hard"), ("180.1", "very hard")],
)  # fmt: skip
def test_usgs_classes_at_their_bounds(mg_l: str, named: str) -> None:
    """USGS: 0-60, 61-120, 121-180, above 180; the gaps are closed upwards, as documented."""
    assert hardness_class(Decimal(mg_l)) == named
    assert spot_risk(Decimal(mg_l))


def test_a_strip_may_be_in_grains() -> None:
    """1 grain per US gallon = 17.118 mg/l (check-values 5, computed)."""
    strip = Quantity.of("10", "gpg")
    assert round(WaterHardness(tap="yard", read_on=DAY, strip=strip).mg_l, 2) == Decimal("171.18")
    mg = Quantity.of("10", "mg_l")
    for ways in ({"calcium": mg}, {"calcium": mg, "magnesium": mg, "strip": mg}, {}):
        with pytest.raises(NotAHardness):
            WaterHardness(tap="yard", read_on=DAY, **ways).check()


SIZES = st.decimals("0.01", "20", places=2)


@given(SIZES, SIZES)
def test_an_angle_rises_with_the_height_and_stays_on_the_circle(h: Decimal, w: Decimal) -> None:
    found = angle(h, w)
    assert 0 < found < 180
    assert found < angle(h + 1, w)
    assert (found > 90) == (2 * h > w)
