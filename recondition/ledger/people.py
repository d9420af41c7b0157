"""People, their rates, suppliers and the book's own settings."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from recondition.amounts import Money
from recondition.fields import Id, Words
from recondition.ledger.hourly import RateBasis


@dataclass(frozen=True, slots=True, kw_only=True)
class Person:
    """Somebody who works, decides or owns. The name stays outside the chain (erasable).

    ``hours_a_day`` is how long somebody works on vehicles each working day; without it, plans
    do not count on that person. ``skills`` is what they can do that not everybody can.
    """

    name: Words
    role: str
    contact: Words | None = None
    skills: tuple[str, ...] = ()
    hours_a_day: Decimal | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Rate:
    """What an hour of a person costs the shop and is charged at, from a day on.

    ``basis`` is what the rates were worked out from, where they were.
    """

    person: Id
    from_date: date
    cost_rate: Money
    charge_out_rate: Money | None = None
    basis: RateBasis | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Supplier:
    """A firm that parts, consumables or sublet work come from."""

    name: Words
    contact: Words | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """One setting of the book, as text; its ref is the setting's name."""

    value: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Erasure:
    """That one text (or file) of one record was erased, and on what ground.

    The chain keeps the text's salted hash; text and salt are gone, so nobody can tell what
    it was, and ``check`` says erased rather than damaged.
    """

    erased: Id
    field: str
    ground: str
