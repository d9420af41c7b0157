"""The vehicle as it arrived: whose it is, what is stamped on it, what its odometer shows."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from recondition.amounts import Quantity
from recondition.fields import Id, Words


class Holding(StrEnum):
    """Whose vehicle it is. A consigned vehicle never enters the shop's inventory."""

    OWN = "own stock"
    CONSIGNED = "consigned"


class OdometerUnit(StrEnum):
    """What the odometer counts in."""

    KM = "km"
    MILES = "miles"
    UNKNOWN = "unknown"


class TrueDistance(StrEnum):
    """What is known about the distance covered, as against the digits shown."""

    KNOWN = "known"
    NOT_KNOWN = "not known"
    BELIEVED = "believed"


@dataclass(frozen=True, slots=True, kw_only=True)
class Vehicle:
    """Identity of one vehicle.

    Chassis numbers are kept exactly as stamped and as on the documents: before 1981 there
    was no common form, so neither is validated, trimmed of inner spaces or upper-cased.
    ``odometer_shown`` is text because its leading zeros count; ``odometer_wheels`` is the
    number of digit wheels, without which 23 415 may mean 123 415. ``film_floor`` is the total
    film that must stay on its panels; None leaves it to the book's. ``trim`` is the trim with its
    code; ``odometer_words`` say what the distance rests on, and a buyer may read them.
    """

    designation: str
    holding: Holding
    owner: Id | None = None
    body_style: str | None = None
    model_year: int | None = None
    colour: str | None = None
    trim: str | None = None
    chassis_stamped: str | None = None
    chassis_documents: str | None = None
    engine_number: str | None = None
    body_number: str | None = None
    odometer_shown: str | None = None
    odometer_unit: OdometerUnit = OdometerUnit.UNKNOWN
    odometer_wheels: int | None = None
    true_distance: TrueDistance = TrueDistance.NOT_KNOWN
    odometer_words: Words | None = None
    imported: bool = False
    arrived_on: date | None = None
    private_note: Words | None = None
    film_floor: Quantity | None = None

    @property
    def chassis_differs(self) -> bool:
        """Whether the documents name another chassis number than the one stamped."""
        both = self.chassis_stamped and self.chassis_documents
        return bool(both) and self.chassis_stamped != self.chassis_documents
