"""Sharing whole units (cents) over weights so that the shares always add up.

Method: largest remainder (Hamilton). Each gets the whole part of its exact quota; the units
left over go one each to the largest remainders. Method and check values: OpenStax
Contemporary Mathematics, chapter 11.3 (apportionment).
"""

from __future__ import annotations

from fractions import Fraction
from math import floor
from typing import TYPE_CHECKING

from recondition.amounts.exact import Exact, as_fraction
from recondition.amounts.rounding import round_half_away
from recondition.errors import Refused

if TYPE_CHECKING:
    from collections.abc import Sequence


class NothingToShareOver(Refused):
    """There is no weight above zero, so no share can be worked out."""


class NegativeWeight(Refused):
    """A weight is below zero."""


class SharedTwice(Refused):
    """One key stands twice among the weights."""


def share_out(total: int, weights: Sequence[tuple[str, Exact]]) -> dict[str, int]:
    """Split ``total`` whole units over ``(key, weight)`` pairs, in the order given.

    The shares add up to ``total``. A negative total is shared by its absolute value and
    negated, so a reversal undoes its line share by share. Equal remainders go by key, so
    the order of the pairs changes no share. Raises NothingToShareOver, NegativeWeight,
    SharedTwice; TypeError for a float or a bool.
    """
    if isinstance(total, bool) or not isinstance(total, int):
        msg = f"only whole units can be shared (int), not {type(total).__name__}"
        raise TypeError(msg)
    exact = _checked(weights)
    whole = sum(exact.values())
    quotas = {key: abs(total) * weight / whole for key, weight in exact.items()}
    shares = {key: int(quota) for key, quota in quotas.items()}
    left_over = abs(total) - sum(shares.values())
    for key in sorted(quotas, key=lambda key: (shares[key] - quotas[key], key))[:left_over]:
        shares[key] += 1
    return shares if total >= 0 else {key: -share for key, share in shares.items()}


def round_to_sum(values: Sequence[Fraction]) -> list[int]:
    """Round exact numbers to whole ones that add up to their sum, rounded half away from zero.

    By largest remainders; of equal ones the first go up. Each is off by less than one.

    >>> round_to_sum([Fraction(1, 2), Fraction(1, 2), Fraction(-7, 3)])
    [1, 0, -2]
    """
    whole = [floor(value) for value in values]
    missing = round_half_away(sum(values, Fraction(0))) - sum(whole)
    order = sorted(range(len(values)), key=lambda place: whole[place] - values[place])
    for place in order[:missing]:
        whole[place] += 1
    return whole


def _checked(weights: Sequence[tuple[str, Exact]]) -> dict[str, Fraction]:
    """Return the weights by key, or raise what is wrong with them."""
    exact: dict[str, Fraction] = {}
    for key, weight in weights:
        if key in exact:
            what = f"{key} stands twice."
            raise SharedTwice(what, todo="Name each once and add its shares.")
        exact[key] = as_fraction(weight)
        if exact[key] < 0:
            what = f"The share of {key} is below zero."
            raise NegativeWeight(what, todo="Give a share of zero or more.")
    if not any(exact.values()):
        what = "No share is above zero."
        raise NothingToShareOver(what, todo="Give at least one a share above zero.")
    return exact
