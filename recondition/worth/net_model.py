"""What one vehicle adds to the net of a choice, as whole numbers for the solver."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction
from math import ceil, lcm
from typing import Any

from ortools.sat.python import cp_model

from recondition.amounts.rounding import round_half_away
from recondition.worth.problem import Car
from recondition.worth.weighing import ZERO, Case

ROOM = 1 << 59  # what sums of the solver may come to


class Part:
    """What one vehicle adds to the net."""

    def __init__(self, model: cp_model.CpModel, x: Mapping[str, Any], car: Car) -> None:
        """Read the vehicle's figures; ``x`` holds a literal for each item."""
        self.model, self.x, self.weighing = model, x, car.weighing
        weights = self.weighing.weights
        self.cost = {i: weights[i].cost[Case.EXPECTED] for i in car.open}
        self.uplift: list[tuple[Any, Fraction]] = [
            (x[i], weights[i].uplift[Case.EXPECTED]) for i in car.open
        ]
        there = set(car.open)
        for term in self.weighing.terms:
            value = term.delta * term.chance
            if term.items <= there and value:
                self.uplift.append((self._all([i for i in car.open if i in term.items]), value))
        self.flat = len(set(self.weighing.curve.slopes)) == 1
        self.fine = lcm(*(value.denominator for _, value in self.uplift))

    def _all(self, items: Sequence[str]) -> Any:  # noqa: ANN401
        """Give a literal that is true where all of the items are chosen, and only there."""
        model, x = self.model, self.x
        if len(items) == 1:
            return x[items[0]]
        every = model.new_bool_var("")
        model.add_bool_and([x[item] for item in items]).only_enforce_if(every)
        model.add_bool_or([every, *(~x[item] for item in items)])
        return every

    def numbers(self) -> list[Fraction]:
        """Give the numbers that a scale must make whole."""
        curve = self.weighing.curve
        if self.flat:
            kept = [value * curve.slopes[0] for _, value in self.uplift]
            return [*self.cost.values(), *kept]
        per_step = [slope / self.fine for slope in curve.slopes]
        return [*self.cost.values(), *self._fixed(), *per_step]

    def _fixed(self) -> list[Fraction]:
        """Give for each piece of the curve what is kept at an uplift of nothing."""
        curve, as_is = self.weighing.curve, self.weighing.as_is
        base = curve.at(as_is)
        pieces = zip(curve.starts, curve.values, curve.slopes, strict=True)
        return [value + slope * (as_is - start) - base for start, value, slope in pieces]

    def size(self) -> Fraction:
        """Give what the sums of this vehicle can come to at most."""
        spread = sum((abs(value) for _, value in self.uplift), ZERO)
        fixed = ZERO if self.flat else max(map(abs, self._fixed()))
        return spread + fixed + sum(map(abs, self.cost.values()), ZERO)

    def ceiling(self) -> Fraction:
        """Give a net that no set of this vehicle passes: all that adds, at no cost."""
        gained = sum((value for _, value in self.uplift if value > 0), ZERO)
        return self.weighing.kept(gained) + sum((-v for v in self.cost.values() if v < 0), ZERO)

    def count(self) -> int:
        """Give how many rounded numbers a net can hold."""
        return len(self.cost) + 2 * len(self.uplift) + 2

    def net(self, scale: int) -> Any:  # noqa: ANN401
        """Give the net of this vehicle times ``scale``."""
        cost = sum(scaled(v, scale) * self.x[i] for i, v in self.cost.items())
        if self.flat:
            slope = self.weighing.curve.slopes[0]
            return sum(scaled(v * slope, scale) * literal for literal, v in self.uplift) - cost
        return self._kept(scale) - cost

    def _kept(self, scale: int) -> Any:  # noqa: ANN401
        """Give what the seller keeps, one piece of the curve for each stretch of the price."""
        model, curve = self.model, self.weighing.curve
        values = [scaled(value, self.fine) for _, value in self.uplift]
        low, high = sum(v for v in values if v < 0), sum(v for v in values if v > 0)
        uplift = model.new_int_var(low, high, "")
        model.add(uplift == sum(v * one for v, (one, _) in zip(values, self.uplift, strict=True)))
        ends = [ceil((start - self.weighing.as_is) * self.fine) for start in curve.starts[1:]]
        slopes = [scaled(slope / self.fine, scale) for slope in curve.slopes]
        fixed = [scaled(value, scale) for value in self._fixed()]
        reach = max(
            abs(f) + abs(s) * max(abs(low), abs(high)) for f, s in zip(fixed, slopes, strict=True)
        )
        kept = model.new_int_var(-reach, reach, "")
        pieces = [model.new_bool_var("") for _ in slopes]
        model.add_exactly_one(pieces)
        bounds = zip([low, *ends], [*ends, high + 1], strict=True)
        rows = zip(pieces, bounds, slopes, fixed, strict=True)
        for piece, (start, end), slope, flat in rows:
            model.add(uplift >= start).only_enforce_if(piece)
            model.add(uplift < end).only_enforce_if(piece)
            model.add(kept == slope * uplift + flat).only_enforce_if(piece)
        return kept


def scaled(value: Fraction, scale: int) -> int:
    """Give a number times a scale; exact wherever the scale makes it whole."""
    exact = value * scale
    return exact.numerator if exact.denominator == 1 else round_half_away(exact)
