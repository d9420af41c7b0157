"""Decisions as they were made, and how they met what happened.

A decision is frozen with its inputs, result and versions. After the sale its expected price is
held against the price fetched, and its estimated cost against what posted lines came to. With
ten sales a year nobody estimates ten coefficients: counts and ranges are shown, and a
correction is pulled towards none by as many imagined decisions without any bias.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction
from math import exp, log

from recondition.amounts import Money
from recondition.amounts.money import rounded
from recondition.amounts.rounding import round_to
from recondition.errors import Refused
from recondition.fields import Id, Words
from recondition.worth.estimates import Basis, ThreeAmounts, ThreeNumbers
from recondition.worth.terms import Slice

IMAGINED = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class Decision:
    """One decision on one vehicle, frozen.

    ``inputs`` is the canonical text of everything the decision rested on, ``versions`` what
    worked it out. ``price`` is low, expected and high on ``basis``, the plan's uplift included;
    ``cost`` and ``net`` are those of the plan. ``estimated_by`` are all whose estimates it used.
    """

    vehicle: Id
    decided_on: date
    chosen: tuple[Id, ...]
    price: ThreeAmounts
    basis: Basis
    cost: ThreeAmounts
    net: ThreeAmounts
    proven: bool
    inputs: str
    versions: str
    seed: int = 0
    estimated_by: tuple[Id, ...] = ()
    note: Words | None = None


class SaleResult(StrEnum):
    """How a sale ended."""

    SOLD = "sold"
    UNSOLD = "unsold"
    WITHDRAWN = "withdrawn"


class SaleTax(StrEnum):
    """How a sale is taxed; not at all where nothing is said."""

    IN_PRICE = "in the price"
    ON_TOP = "on top"
    MARGIN = "margin scheme"


@dataclass(frozen=True, slots=True, kw_only=True)
class Sale:
    """What became of a vehicle at its sale, and what was settled.

    ``price`` is on ``basis``; only what was sold has one. ``commission`` and ``premium`` are
    rates on slices of the hammer, ``fees`` what the organiser keeps besides; where they are
    empty those of the vehicle's sale terms count. ``shop_commission`` is what an owner pays the
    shop. ``buyer`` and ``invoice_number`` stand in the stock book and nowhere public.
    """

    vehicle: Id
    sold_on: date
    price: Money | None = None
    basis: Basis = Basis.HAMMER
    private_note: Words | None = None
    result: SaleResult = SaleResult.SOLD
    commission: tuple[Slice, ...] = ()
    premium: tuple[Slice, ...] = ()
    fees: Money | None = None
    shop_commission: tuple[Slice, ...] = ()
    tax: SaleTax | None = None
    tax_code: str | None = None
    margin_because: Words | None = None
    buyer: Words | None = None
    invoice_number: str | None = None
    period: str | None = None
    documents: tuple[Id, ...] = ()


class SaleHasNoPrice(Refused):
    """A sale without a price, or a price where nothing was sold."""

    def __init__(self, result: SaleResult) -> None:
        """Say which of the two."""
        sold = result is SaleResult.SOLD
        super().__init__(
            "a sold vehicle has a price" if sold else f"a vehicle that is {result} has no price",
            todo="Give the price." if sold else "Leave the price empty; fees may stand.",
        )


class SoldAlready(Refused):
    """A second sale of one vehicle while the first stands."""

    def __init__(self, ref: str, sale: str) -> None:
        """Name the vehicle and the sale that stands."""
        super().__init__(
            f"vehicle {ref} is sold already, by {sale}",
            todo=f"Where that sale fell through, take it back first: 'recondition post undo {sale} "
            "WHY'.",
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Met:
    """One estimate that met what happened. ``actual`` may still be open (None)."""

    decision: str
    vehicle: str
    what: str
    by: tuple[str, ...]
    low: Money
    expected: Money
    high: Money
    actual: Money | None

    @property
    def inside(self) -> bool | None:
        """Tell whether it fell between low and high."""
        if self.actual is None:
            return None
        return self.low.minor <= self.actual.minor <= self.high.minor

    @property
    def off_by(self) -> Money | None:
        """Give the actual less the expected."""
        return None if self.actual is None else self.actual - self.expected


@dataclass(frozen=True, slots=True, kw_only=True)
class Bias:
    """How somebody's estimates turned out: how many, how often inside, by which factor off.

    ``factor`` is the geometric mean of actual over expected; ``correction`` the same pulled
    towards 1 by ``IMAGINED`` decisions that were right.
    """

    who: str
    what: str
    count: int
    inside: int
    factor: Fraction
    correction: Fraction


def biases(met: Iterable[Met]) -> tuple[Bias, ...]:
    """Give the bias by whom and of what, all together (who is empty) first."""
    groups: dict[tuple[str, str], list[Met]] = {}
    for each in met:
        if each.actual is not None and each.actual.minor > 0 and each.expected.minor > 0:
            for who in ("", *each.by):
                groups.setdefault((each.what, who), []).append(each)
    return tuple(_bias(who, what, among) for (what, who), among in sorted(groups.items()))


def _bias(who: str, what: str, among: list[Met]) -> Bias:
    logs = [log(each.actual.minor / each.expected.minor) for each in among if each.actual]
    return Bias(
        who=who,
        what=what,
        count=len(among),
        inside=sum(bool(each.inside) for each in among),
        factor=_fraction(exp(sum(logs) / len(logs))),
        correction=_fraction(exp(sum(logs) / (len(logs) + IMAGINED))),
    )


def _fraction(number: float) -> Fraction:
    """Give a factor with four decimals; it is shown, and used as it is shown."""
    return Fraction(Decimal(number).quantize(Decimal("0.0001")))


def correction_of(found: Iterable[Bias], what: str, who: str | None) -> Fraction:
    """Give the correction for somebody's estimates, else that of all together, else none."""
    by: Mapping[tuple[str, str], Fraction] = {(b.what, b.who): b.correction for b in found}
    return by.get((what, who or ""), by.get((what, ""), Fraction(1)))


def scaled_numbers(three: ThreeNumbers, factor: Fraction) -> ThreeNumbers:
    """Give an estimate times a factor, to three decimals."""
    low, likely, high = (
        round_to(Fraction(point) * factor, 3) for point in (three.low, three.likely, three.high)
    )
    return ThreeNumbers(low, likely, high)


def scaled_amounts(three: ThreeAmounts, factor: Fraction) -> ThreeAmounts:
    """Give amounts times a factor, each rounded once."""
    low, likely, high = (
        rounded(point.fraction * factor, point.currency)
        for point in (three.low, three.likely, three.high)
    )
    return ThreeAmounts(low, likely, high)
