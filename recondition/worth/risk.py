"""How a plan may end: thousands of draws, market mood shared, costs each on their own.

In one draw every uplift stands at the same place between its low and its high, since one
market moves them all; each piece of work succeeds or fails, and takes its hours and cash, by
itself. An interaction counts where all its items succeed. Estimates are drawn from a triangle,
or under the smooth rule from the beta distribution whose mean is (low + 4 likely + high) / 6
(Malcolm, Roseboom, Clark and Fazar, Operations Research 7 (1959) 646-669). Figures here are
floats: they are shown, and never posted.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from recondition.amounts import Money
from recondition.amounts.money import rounded
from recondition.worth.estimates import MeanRule
from recondition.worth.terms import SellsWhen
from recondition.worth.weighing import Items, Points, Weighing

if TYPE_CHECKING:
    from recondition.worth.estimates import Candidate

DRAWS = 4000
WORST_PERCENT = 5
Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Risk:
    """How a plan may end, against leaving the vehicle alone.

    ``chance_worse`` is the share of draws that end below zero; ``worst`` the 5th percentile of
    the net, ``best`` the 95th. ``seed`` makes the same draws again.
    """

    chance_worse: Fraction
    worst: Money
    middle: Money
    mean: Money
    best: Money
    draws: int
    seed: int


class Draws:
    """The draws of all items of one vehicle, made once and added up for any set."""

    def __init__(self, weighing: Weighing, *, seed: int = 0, draws: int = DRAWS) -> None:
        """Draw every item that has an uplift estimate."""
        self.weighing, self.seed, self.draws = weighing, seed, draws
        self._random = np.random.default_rng(seed)
        self._mood = self._random.random(draws)
        self._rank = np.argsort(np.argsort(self._mood))
        self.uplift: dict[str, Floats] = {}
        self.cost: dict[str, Floats] = {}
        self.success: dict[str, npt.NDArray[np.bool_]] = {}
        for item in weighing.items:
            if item in weighing.weights:
                self._draw(item)

    def _draw(self, item: str) -> None:
        weighing, question = self.weighing, self.weighing.question
        candidate = question.candidates[item]
        money = float(weighing.as_is) / 100
        used = question.used.get(item)
        hours = Points.of(candidate.hours).less(used.hours if used else Fraction(0))
        cash = Points.of(candidate.cash).less(used.cash if used else Fraction(0))
        rate, day = float(weighing.rate.fraction), _float(question.terms.holding_per_day)
        success = self._random.random(self.draws) < float(candidate.p_success)
        waiting = float(candidate.extra_days) * day if _pays_days(weighing) else 0.0
        cost = self._alone(hours) * rate + self._alone(cash) + waiting
        cost += np.where(success, 0.0, _float(candidate.fail_cash))
        gained, failed = _uplift_points(candidate, money)
        self.cost[item], self.success[item] = cost, success
        self.uplift[item] = np.where(success, self._together(gained), failed)

    def _alone(self, points: Points) -> Floats:
        """Draw an estimate on its own."""
        low, likely, high = map(float, points.three)
        return self._quantile(self._random.random(self.draws), low, likely, high, ranked=False)

    def _together(self, points: tuple[float, float, float]) -> Floats:
        """Draw an estimate at the mood of the market."""
        return self._quantile(self._mood, *points, ranked=True)

    def _quantile(
        self, share: Floats, low: float, likely: float, high: float, *, ranked: bool
    ) -> Floats:
        span = high - low
        if span <= 0:
            return np.full(self.draws, likely, dtype=np.float64)
        if self.weighing.question.mean_rule is MeanRule.SMOOTH:
            first, second = 1 + 4 * (likely - low) / span, 1 + 4 * (high - likely) / span
            drawn = low + span * self._random.beta(first, second, self.draws)
            ordered: Floats = np.sort(drawn)[self._rank] if ranked else drawn
            return ordered
        mode = (likely - low) / span
        rising = low + np.sqrt(share * span * (likely - low))
        falling = high - np.sqrt((1 - share) * span * (high - likely))
        drawn_along: Floats = np.where(share < mode, rising, falling)
        return drawn_along

    def nets(self, chosen: Iterable[str], holding: float = 0.0) -> Floats:
        """Give the net of a set in every draw; ``holding`` is what its days of finish cost."""
        there = frozenset(chosen)
        uplift = np.zeros(self.draws)
        cost = np.full(self.draws, holding)
        for item in (each for each in self.weighing.items if each in there):
            uplift += self.uplift[item]
            cost += self.cost[item]
        for term in self.weighing.terms:
            if term.items <= there:
                every = np.logical_and.reduce([self.success[item] for item in sorted(term.items)])
                uplift += np.where(every, float(term.delta), 0.0)
        as_is = float(self.weighing.as_is)
        net: Floats = self._kept(as_is + uplift) - self._kept(np.array([as_is])) - cost
        return net

    def _kept(self, price: Floats) -> Floats:
        """Give what the seller keeps of each price."""
        curve = self.weighing.curve
        starts, values, slopes = (
            np.array([float(v) for v in each])
            for each in (curve.starts, curve.values, curve.slopes)
        )
        piece = np.maximum(np.searchsorted(starts, price, side="right") - 1, 0)
        kept: Floats = values[piece] + slopes[piece] * (price - starts[piece])
        return kept

    def risk(self, chosen: Items, holding: Fraction = Fraction(0)) -> Risk:
        """Give how a set may end."""
        nets = self.nets(chosen, float(holding))
        worst, middle, best = np.percentile(nets, [WORST_PERCENT, 50, 100 - WORST_PERCENT])
        return Risk(
            chance_worse=Fraction(int((nets < 0).sum()), self.draws),
            worst=self._money(float(worst)),
            middle=self._money(float(middle)),
            mean=self._money(float(nets.mean())),
            best=self._money(float(best)),
            draws=self.draws,
            seed=self.seed,
        )

    def _money(self, amount: float) -> Money:
        return rounded(Fraction(amount), self.weighing.question.currency)


def _pays_days(weighing: Weighing) -> bool:
    """Tell whether extra days cost something by themselves."""
    return weighing.question.terms.sells is not SellsWhen.WHEN_READY


def _uplift_points(
    candidate: Candidate, percent: float
) -> tuple[tuple[float, float, float], float]:
    """Give the uplift that succeeds, and what is left where it fails, in money."""
    three = candidate.uplift or candidate.uplift_percent
    unit = 1.0 if candidate.uplift else percent
    low, likely, high = (float(point) * unit for point in Points.of(three).three) if three else (
        0.0, 0.0, 0.0)  # fmt: skip
    failed = _float(candidate.fail_uplift)
    if candidate.fail_uplift_percent is not None:
        failed = float(candidate.fail_uplift_percent) * percent
    return (low, likely, high), failed


def _float(money: Money | None) -> float:
    return float(money.fraction) if money is not None else 0.0
