"""What the seller keeps of a price: commission and buyer's premium, slice by slice, exactly.

Every price is a Fraction of the currency's major unit; nothing here rounds. Commission and
premium are both rates on slices of the hammer, so each function below is piecewise linear
and has an exact inverse. Below a hammer of zero the first slice's rate simply goes on: a
flat rate is then the same factor everywhere.

The mechanics are common practice at sales: a buyer with an all-in limit M under a premium b
can bid M / (1 + b), and the seller receives (1 - c) of the hammer.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from typing import TYPE_CHECKING

from recondition.errors import Refused
from recondition.ledger.codec import plain_number
from recondition.worth.estimates import Basis

if TYPE_CHECKING:
    from collections.abc import Sequence

    from recondition.worth.terms import SaleTerms, Slice


class BadSlices(Refused):
    """The slices of a commission or premium do not make a rate for every hammer."""


@dataclass(frozen=True, slots=True)
class Curve:
    """A rising piecewise-linear function: from ``starts[i]`` on, at ``values[i]``, ``slopes[i]``.

    The first slope also holds below the first start.
    """

    starts: tuple[Fraction, ...]
    values: tuple[Fraction, ...]
    slopes: tuple[Fraction, ...]

    def at(self, place: Fraction) -> Fraction:
        """Give the value at ``place``."""
        piece = max(bisect_right(self.starts, place) - 1, 0)
        return self.values[piece] + self.slopes[piece] * (place - self.starts[piece])

    def where(self, value: Fraction) -> Fraction:
        """Give the one place with that value: the exact inverse of ``at``."""
        piece = max(bisect_right(self.values, value) - 1, 0)
        return self.starts[piece] + (value - self.values[piece]) / self.slopes[piece]


def premium_on(hammer: Fraction, terms: SaleTerms) -> Fraction:
    """Give the buyer's premium on a hammer. Raises BadSlices."""
    return all_in(hammer, terms) - hammer


def all_in(hammer: Fraction, terms: SaleTerms) -> Fraction:
    """Give what the buyer pays in all for a hammer: hammer and premium. Raises BadSlices."""
    return _buyer_pays(terms).at(hammer)


def hammer_of(all_in_price: Fraction, terms: SaleTerms) -> Fraction:
    """Give the hammer a buyer with that all-in price can bid; inverse of ``all_in``."""
    return _buyer_pays(terms).where(all_in_price)


def seller_keeps(price: Fraction, terms: SaleTerms) -> Fraction:
    """Give what the seller keeps of a price on ``terms.basis``, commission and fees taken off.

    The fixed fees fall out of every difference between two prices. Raises BadSlices.
    """
    fees = terms.fees.fraction if terms.fees else Fraction(0)
    return seller_curve(terms).at(price) - fees


def pass_through(terms: SaleTerms) -> Fraction | None:
    """Give the flat share k of each unit of uplift that the seller keeps; None when tiered."""
    slopes = set(seller_curve(terms).slopes)
    return slopes.pop() if len(slopes) == 1 else None


def seller_curve(terms: SaleTerms) -> Curve:
    """Give the seller's share before fixed fees as a function of the price on ``terms.basis``."""
    pays, keeps = _buyer_pays(terms), _curve(terms.commission, Fraction(-1), "commission")
    hammers = tuple(sorted({*pays.starts, *keeps.starts}))
    starts = hammers if terms.basis is Basis.HAMMER else tuple(map(pays.at, hammers))
    values = tuple(map(keeps.at, hammers))
    last = len(hammers) - 1
    slopes = [(values[i + 1] - values[i]) / (starts[i + 1] - starts[i]) for i in range(last)]
    rise = pays.slopes[-1] if terms.basis is Basis.ALL_IN else Fraction(1)
    slopes.append(keeps.slopes[-1] / rise)
    return Curve(starts, values, tuple(slopes))


def _buyer_pays(terms: SaleTerms) -> Curve:
    return _curve(terms.premium, Fraction(1), "premium")


def _curve(slices: Sequence[Slice], sign: Fraction, name: str) -> Curve:
    """Add (sign +1) or take off (sign -1) the sliced rate: a function of the hammer."""
    _check(slices, name)
    starts = [Fraction(0)]
    starts += [piece.upto.fraction for piece in slices if piece.upto is not None]
    slopes = [1 + sign * Fraction(piece.rate) for piece in slices] or [Fraction(1)]
    values = [Fraction(0)]
    for (low, high), slope in zip(pairwise(starts), slopes, strict=False):
        values.append(values[-1] + slope * (high - low))
    return Curve(tuple(starts), tuple(values), tuple(slopes))


def _check(slices: Sequence[Slice], name: str) -> None:
    """Raise BadSlices unless rates are 0 % to less than 100 % and the ends rise from above zero."""
    where = f"sale terms, {name}"
    for piece in slices:
        if not 0 <= piece.rate < 1:
            percent = plain_number(piece.rate * 100)
            what = f"A {name} of {percent} % is not 0 % or more and less than 100 %."
            raise BadSlices(what, where=where, todo="Correct the rate; ten percent is 10 %.")
    ends = [piece.upto for piece in slices]
    if slices and ends[-1] is not None:
        what = f"The last slice of the {name} ends at {ends[-1].text}, so nothing holds above it."
        raise BadSlices(what, where=where, todo="Leave the upper end of the last slice empty.")
    closed = [end.fraction for end in ends[:-1] if end is not None]
    rising = all(low < high for low, high in pairwise([Fraction(0), *closed]))
    if len(closed) != max(len(ends) - 1, 0) or not rising:
        what = f"The slices of the {name} do not rise one after another."
        raise BadSlices(what, where=where, todo="Order the slices by their upper end, each once.")
