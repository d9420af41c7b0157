"""Specular gloss: gloss units that mean nothing without their angle.

ISO 2813 measures at 20, 60 and 85 degrees. 60 degrees works between 10 and 70 units; above
70 the readings at 20 degrees tell surfaces apart. Not meaningful on curved, flaked or
transparent surfaces; bare metal reads far above 100.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from recondition.condition.findings import When
from recondition.errors import Refused
from recondition.fields import Id, Words

ANGLES = {"GU20": 20, "GU60": 60, "GU85": 85}
TWENTY_ABOVE = Decimal(70)
_MAX = Decimal(2000)


@dataclass(frozen=True, slots=True, kw_only=True)
class GlossReading:
    """Readings of gloss at one place; ``unit`` is GU20, GU60 or GU85: the angle is part of it."""

    vehicle: Id
    panel: str
    readings: tuple[Decimal, ...]
    unit: str
    read_on: date
    place: str | None = None
    step: str | None = None
    when: When | None = None
    read_by: Id | None = None
    documents: tuple[Id, ...] = ()
    words: Words | None = None
    private_note: Words | None = None

    def check(self) -> None:
        """Refuse what is no gloss. Raises NotAGloss."""
        if self.unit not in ANGLES:
            raise NotAGloss(self.unit)
        for reading in self.readings:
            if not 0 <= reading <= _MAX:
                found = f"{reading} {self.unit}"
                raise NotAGloss(found)
        if not self.readings:
            raise NotAGloss(found="no reading")

    @property
    def mean(self) -> Decimal:
        """The mean in gloss units at its own angle."""
        return sum(self.readings, Decimal(0)) / len(self.readings)


class NotAGloss(Refused):
    """A figure that is no gloss reading with its angle."""

    def __init__(self, found: str) -> None:
        """Show what was given."""
        super().__init__(
            f"{found} is no gloss with its angle",
            todo=f"Give readings from 0 to {_MAX} in {', '.join(ANGLES)}.",
        )


def asks_for_20(reading: GlossReading) -> bool:
    """Tell whether the readings lie where only 20 degrees tells surfaces apart."""
    return reading.unit == "GU60" and reading.mean > TWENTY_ABOVE
