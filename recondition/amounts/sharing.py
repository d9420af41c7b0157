"""Sharing whole units (cents) over weights so that the shares always add up.

Method: largest remainder (Hamilton). Each gets the whole part of its exact quota; the units
left over go one each to the largest remainders. Method and check values: OpenStax
Contemporary Mathematics, chapter 11.3 (apportionment).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from recondition.amounts.exact import Exact, as_fraction
from recondition.errors import Refused

if TYPE_CHECKING:
    from collections.abc import Sequence
    from fractions import Fraction


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
