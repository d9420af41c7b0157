"""The question that the decision answers: one vehicle, its candidate work and its terms."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from datetime import datetime
from fractions import Fraction
from typing import TYPE_CHECKING

from recondition.worth.shop import Shop

if TYPE_CHECKING:
    from collections.abc import Mapping

    from recondition.amounts import Money
    from recondition.condition.vehicle import Holding
    from recondition.worth.estimates import Candidate, Interaction, MeanRule
    from recondition.worth.terms import SaleTerms


@dataclass(frozen=True, slots=True)
class Used:
    """What posted lines have taken of a piece of work: hours, and money besides hours."""

    hours: Fraction
    cash: Fraction


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """Everything that bears on what is worth doing to one vehicle.

    ``candidates`` is keyed by id and ``refs`` gives the user's own name for an id, used in
    messages and for the last tie; an id without one stands for itself. ``holding`` chooses
    the hourly rate: the labour cost rate for own stock, the charge-out rate for a consigned
    vehicle. A plan within ``indifference`` of the best may win if it touches less.
    ``no_touch_panels`` are panels that must be left as they are. ``stopped`` says of an item why
    film or a caution stops it; ``film_room`` is the headroom of panels in micrometres, and
    ``film_takes`` what each item is still expected to take of which, so that a plan does not
    take it twice.

    ``begin`` is the moment from which work can be laid out (shop time); without one the cut-off
    is no wall. ``used`` is what posted lines took of work that is under way: only the rest is
    weighed. Irreversible work must net ``irreversible_bar`` times its cost, else it is asked
    about. ``unapproved`` says of an item why the owner's word is missing; what is ``approved``
    the owner was asked about, price and all, and is not asked about again. With an owner,
    ``already_billed`` (committed included) and the work still to do must stay within
    ``authority``.
    """

    candidates: Mapping[str, Candidate]
    refs: Mapping[str, str]
    interactions: tuple[Interaction, ...]
    terms: SaleTerms
    holding: Holding
    mean_rule: MeanRule
    indifference: Money
    no_touch_panels: frozenset[str] = frozenset()
    stopped: Mapping[str, str] = field(default_factory=dict)
    film_room: Mapping[str, Fraction] = field(default_factory=dict)
    film_takes: Mapping[str, Mapping[str, Fraction]] = field(default_factory=dict)
    shop: Shop = field(default_factory=Shop)
    begin: datetime | None = None
    used: Mapping[str, Used] = field(default_factory=dict)
    irreversible_bar: Fraction = Fraction(0)
    unapproved: Mapping[str, str] = field(default_factory=dict)
    approved: frozenset[str] = frozenset()
    already_billed: Money | None = None
    authority: Money | None = None

    @property
    def currency(self) -> str:
        """The one currency that every amount of the question is in."""
        return self.terms.as_is.likely.currency

    def ref(self, item: str) -> str:
        """Give the user's name for an item."""
        return self.refs.get(item, item)

    def in_order(self) -> tuple[str, ...]:
        """Give the ids of all candidates in the order of their refs, numbers by their size."""
        return tuple(sorted(self.candidates, key=lambda item: (_natural(self.ref(item)), item)))

    def untouchable(self, candidate: Candidate) -> str:
        """Say why a candidate must not be done at all: its mark or a panel; empty if it may."""
        barred = [panel for panel in candidate.panels if panel in self.no_touch_panels]
        if barred:
            return f"not to be touched: {barred[0]}"
        return "not to be touched" if candidate.no_touch else ""


def _natural(ref: str) -> tuple[tuple[str | int, ...], str]:
    """Order ``C2`` before ``C10``; the text itself settles ``C1`` against ``C01``."""
    parts = re.split(r"([0-9]+)", ref)
    return tuple(int(part) if place % 2 else part for place, part in enumerate(parts)), ref
