"""How many readings an area wants, and what a range asks of them, after SSPC-PA 2.

Source: SSPC-PA 2 (2015, editorial revisions 2017 and 2018) as told in the society's own
newsletter and a slide set: a spot is the mean of at least three readings within about 4 cm,
an area of 10 m2 (100 ft2) is the mean of five spots; up to 30 m2 every area is measured, up
to 100 m2 any three, above that three for the first 100 m2 and one for each further 100 m2 or
part. At the usual level each spot lies from 80 % of the lowest to 120 % of the highest
thickness wanted; single readings are not judged. It was written for steelwork: for a car it
is an option, not the rule.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from math import ceil

from recondition.amounts import Quantity
from recondition.errors import Refused

SPOTS_PER_AREA, READINGS_PER_SPOT = 5, 3
LOW_SHARE, HIGH_SHARE = Decimal("0.8"), Decimal("1.2")
_ALL_UPTO, _THREE_UPTO = 3, 10


class NoArea(Refused):
    """A size of a surface that is none."""

    def __init__(self, found: Quantity) -> None:
        """Show what was given."""
        super().__init__(f"{found} is no area to be measured", todo="Write 12 m2 or 130 ft2.")


@dataclass(frozen=True, slots=True)
class Sample:
    """How many areas to measure, with their spots and readings."""

    areas: int

    @property
    def spots(self) -> int:
        """Spots in all of them."""
        return self.areas * SPOTS_PER_AREA

    @property
    def readings(self) -> int:
        """Gauge readings in all spots, three a spot."""
        return self.spots * READINGS_PER_SPOT


def sample(surface: Quantity) -> Sample:
    """Say how much to measure of a surface. Raises NoArea, UnitMismatch."""
    each = Fraction(100) if surface.unit == "ft2" else Fraction(10)
    blocks = surface.to("ft2" if surface.unit == "ft2" else "m2") / each
    if blocks <= 0:
        raise NoArea(surface)
    if blocks < _ALL_UPTO:
        return Sample(ceil(blocks))
    if blocks <= _THREE_UPTO:
        return Sample(3)
    return Sample(3 + ceil((blocks - _THREE_UPTO) / _THREE_UPTO))


@dataclass(frozen=True, slots=True)
class Judged:
    """An area against a range wanted, all in micrometres.

    ``fits`` is true where the area's mean lies in the range and every spot in the wider one;
    ``outside`` are the spots that do not.
    """

    mean_um: Decimal
    low_um: Decimal
    high_um: Decimal
    spot_low_um: Decimal
    spot_high_um: Decimal
    outside: tuple[Decimal, ...]

    @property
    def fits(self) -> bool:
        """Whether mean and spots are as wanted."""
        return self.low_um <= self.mean_um <= self.high_um and not self.outside


def spot_limits(low_um: Decimal, high_um: Decimal) -> tuple[Decimal, Decimal]:
    """Give the lowest and highest that a spot may be."""
    return low_um * LOW_SHARE, high_um * HIGH_SHARE


def judge(spots: Sequence[Decimal], low_um: Decimal, high_um: Decimal) -> Judged:
    """Hold the means of an area's spots against a range; ValueError where there are none."""
    if not spots:
        message = "an area has at least one spot"
        raise ValueError(message)
    low, high = spot_limits(low_um, high_um)
    outside = tuple(spot for spot in spots if not low <= spot <= high)
    mean = sum(spots, Decimal(0)) / len(spots)
    return Judged(mean, low_um, high_um, low, high, outside)
