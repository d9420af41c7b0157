"""Sampling after SSPC-PA 2, on its published examples."""

from __future__ import annotations

from decimal import Decimal

import pytest

from recondition.amounts import Quantity
from recondition.condition.film import in_mil, um
from recondition.condition.sampling import NoArea, judge, sample, spot_limits


def test_the_published_counting_example() -> None:
    """12,500 ft2 needs 15 areas, 75 spots, 225 readings: paintsquare.com/news/view/?12356."""
    found = sample(Quantity.of("12500", "ft2"))
    assert (found.areas, found.spots, found.readings) == (15, 75, 225)


@pytest.mark.parametrize(
    ("surface", "unit", "areas"),
    [("9", "m2", 1), ("10", "m2", 1), ("29", "m2", 3), ("30", "m2", 3), ("100", "m2", 3),
     ("101", "m2", 4), ("200", "m2", 4), ("300", "ft2", 3), ("1000", "ft2", 3),
     ("1001", "ft2", 4)],
)  # fmt: skip
def test_how_many_areas(surface: str, unit: str, areas: int) -> None:
    """Under 30 m2 every 10 m2, to 100 m2 any three, above that one for each further 100 m2."""
    assert sample(Quantity.of(surface, unit)).areas == areas


def test_the_published_spot_limits() -> None:
    """Range 8 to 12 mil gives spot limits 6.4 and 14.4 mil: slideplayer.com/slide/1430003."""
    low, high = spot_limits(um(Quantity.of("8", "mil")), um(Quantity.of("12", "mil")))
    assert (in_mil(low), in_mil(high)) == (Decimal("6.4"), Decimal("14.4"))


def test_an_area_fits_by_its_mean_and_its_spots() -> None:
    spots = [Decimal(n) for n in (100, 110, 120, 130, 140)]
    assert judge(spots, Decimal(100), Decimal(150)).fits
    thin = judge([Decimal(79), *spots[1:]], Decimal(100), Decimal(150))
    assert (thin.fits, thin.outside) == (False, (79,))
    assert judge([Decimal(80), *spots[1:]], Decimal(100), Decimal(150)).fits
    assert not judge([Decimal(99)], Decimal(100), Decimal(150)).fits
    with pytest.raises(NoArea):
        sample(Quantity.of("0", "m2"))
    with pytest.raises(ValueError, match="at least one spot"):
        judge([], Decimal(1), Decimal(2))
