"""Sales of like vehicles that the user brings; what is made of them stands in ``comparables``."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from recondition.amounts import Money
from recondition.fields import Id, Words
from recondition.worth.estimates import Basis


class PriceIs(StrEnum):
    """What a price on the table of comparables is."""

    SALE = "sale"  # somebody paid it
    ESTIMATE = "organiser's estimate"  # printed before a sale; no forecast of the hammer
    THIS = "this vehicle"  # the row of the vehicle itself, without a price


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparable:
    """One row of a sales table. ``features`` are written ``km=48000; full file=yes``."""

    vehicle: Id
    what: Words
    price_is: PriceIs = PriceIs.SALE
    sold_on: date | None = None
    price: Money | None = None
    estimate_low: Money | None = None
    estimate_high: Money | None = None
    basis: Basis = Basis.HAMMER
    features: tuple[str, ...] = ()
    source: Words | None = None


def feature_values(features: Sequence[str]) -> dict[str, str]:
    """Read ``km=48000`` and the like; a feature without ``=`` counts as yes."""
    found = {}
    for feature in features:
        name, _, value = feature.partition("=")
        found[name.strip().casefold()] = value.strip().casefold() or "yes"
    return found
