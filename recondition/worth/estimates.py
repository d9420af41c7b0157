"""What a piece of work may cost and bring: three-point estimates and candidate work."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from enum import StrEnum

from recondition.amounts import Money, Quantity
from recondition.fields import Id, Words


class Basis(StrEnum):
    """Which price an uplift or an as-is estimate speaks of.

    The hammer is the winning bid; all-in is what the buyer pays with the premium on top.
    Confusing the two is a 10 to 15 percent error in every decision.
    """

    HAMMER = "hammer"
    ALL_IN = "all-in"


class MeanRule(StrEnum):
    """How the mean of a three-point estimate is taken; chosen once per book."""

    TRIANGLE = "triangle"  # (low + likely + high) / 3
    SMOOTH = "smooth"  # (low + 4 likely + high) / 6


class CandidateState(StrEnum):
    """Where a piece of candidate work stands. Only open and started work is weighed."""

    OPEN = "open"
    STARTED = "started"
    DONE = "done"
    LEFT = "left"


@dataclass(frozen=True, slots=True)
class ThreeNumbers:
    """Low, likely and high, in the unit that the field's name gives."""

    low: Decimal
    likely: Decimal
    high: Decimal


@dataclass(frozen=True, slots=True)
class ThreeAmounts:
    """Low, likely and high amounts of one currency."""

    low: Money
    likely: Money
    high: Money


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidate:
    """Something that could be done about findings, with what it may cost and bring.

    The uplift stands either in ``uplift`` (money) or in ``uplift_percent`` (percent of the
    mean as-is price on ``uplift_basis``); ``fail_uplift`` or ``fail_uplift_percent`` is what
    remains of it when the work fails, often negative. ``p_success`` is 0 to 1. There are no
    default uplifts anywhere: author, date and ground of the estimate stand beside it.
    ``film_removal`` is what it is expected to take off each of its panels, ``products`` what it
    would use; ``override`` is why it may be done although the film or a caution would stop it.
    ``skills`` is what whoever does it must be able to do.
    """

    vehicle: Id
    name: Words
    hours: ThreeNumbers
    cash: ThreeAmounts
    findings: tuple[Id, ...] = ()
    panels: tuple[str, ...] = ()
    uplift: ThreeAmounts | None = None
    uplift_percent: ThreeNumbers | None = None
    uplift_basis: Basis | None = None
    p_success: Decimal = Decimal(1)
    fail_cash: Money | None = None
    fail_uplift: Money | None = None
    fail_uplift_percent: Decimal | None = None
    extra_days: Decimal = Decimal(0)
    requires: tuple[Id, ...] = ()
    excludes: tuple[Id, ...] = ()
    after_all: bool = False
    cure_hours: Decimal = Decimal(0)
    cure_keeps_bay: bool = False
    delivery_hours: Decimal = Decimal(0)
    irreversible: bool = False
    consent_given: bool = False
    no_touch: bool = False
    state: CandidateState = CandidateState.OPEN
    left_reason: Words | None = None
    estimated_by: Id | None = None
    estimated_on: date | None = None
    estimate_ground: Words | None = None
    film_removal: Quantity | None = None
    products: tuple[Id, ...] = ()
    override: Words | None = None
    skills: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Interaction:
    """What a set of candidate work is worth together beyond its parts (may be negative).

    The term counts when every item in it is chosen, times the product of their chances.
    """

    vehicle: Id
    items: tuple[Id, ...]
    delta_uplift: Money
    why: Words | None = None
