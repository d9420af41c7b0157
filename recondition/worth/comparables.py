"""What a vehicle may fetch as it stands, from sales that the user brings.

ln(price) is taken as a straight line in a few stated terms (ordinary least squares; the usual
form of a hedonic price, common practice). Effects are then multiples. With few sales the
terms are shrunk towards none, by as much as makes leave-one-out errors smallest (ridge:
Hoerl and Kennard, Technometrics 12 (1970) 55-67). Intervals are those of one further sale: by
Student's t, or, with 40 sales or more, by the leave-one-out errors themselves, which asks
for no shape of the errors. Figures here are floats: they are shown, and never posted.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

import numpy as np
import numpy.typing as npt
from scipy import stats

from recondition.errors import Refused
from recondition.worth.sales import Comparable, feature_values

Floats = npt.NDArray[np.float64]
SALES_A_TERM = 5
MANY = 40
FEW = 30
_SHRINKS = (0.0, *(10.0**power for power in (-2, -1.5, -1, -0.5, 0, 0.5, 1, 1.5, 2)))


class TooFewSales(Refused):
    """There are fewer sales than the terms asked for can be fitted to."""


class NoSuchTerm(Refused):
    """A term is not stated of every sale and of the vehicle itself."""


class ConstantTerm(Refused):
    """A term is the same in every sale, or follows from the others, so it explains nothing."""


@dataclass(frozen=True, slots=True)
class Fit:
    """A least-squares fit. ``terms`` are coefficients, ``errors`` their standard errors.

    ``shrink`` is zero for plain least squares. ``residual_sd`` is in the unit of y, ``df`` what
    is left of the rows; ``loo`` are the leave-one-out errors.
    """

    terms: Floats
    errors: Floats
    residual_sd: float
    df: float
    r_squared: float
    shrink: float
    loo: Floats
    spread: Floats

    def at(self, row: Floats) -> float:
        """Give the fitted value at one row."""
        return float(row @ self.terms)

    def half_width(self, row: Floats, level: float) -> float:
        """Give half the interval of one further value at a row, by Student's t."""
        t = float(stats.t.ppf(0.5 + level / 2, self.df))
        return t * self.residual_sd * float(np.sqrt(1 + row @ self.spread @ row))


def fit(rows: Floats, y: Floats, shrink: float = 0.0, *, intercept: bool = True) -> Fit:
    """Fit y to rows by least squares, columns scaled for accuracy.

    ``shrink`` pulls every term but the first (the constant) towards nothing, in units of its
    own spread. Without ``intercept`` R squared is about zero, not about the mean.
    """
    count, width = rows.shape
    scale = np.sqrt((rows**2).sum(axis=0))
    scaled = rows / scale
    penalty = np.zeros((width, width))
    if shrink:
        spreads = rows[:, 1:].std(axis=0)
        penalty[1:, 1:] = np.diag(np.sqrt(shrink) * spreads / scale[1:])
    stacked = np.vstack([scaled, penalty])
    padded = np.concatenate([y, np.zeros(width)])
    q, r = np.linalg.qr(stacked)
    inverse = np.linalg.inv(r)
    terms = inverse @ (q.T @ padded)
    # One step of refinement takes back most of what rounding cost.
    terms = terms + inverse @ (q.T @ (padded - stacked @ terms))
    residual = y - scaled @ terms
    spread = inverse @ inverse.T
    leverage = np.einsum("ij,jk,ik->i", scaled, spread, scaled)
    df = count - float(leverage.sum())
    sd = float(np.sqrt((residual**2).sum() / df)) if df > 0 else float("nan")
    whole = ((y - y.mean()) ** 2).sum() if intercept else (y**2).sum()
    unscaled = spread / np.outer(scale, scale)
    return Fit(
        terms=terms / scale,
        errors=sd * np.sqrt(np.diag(unscaled)),
        residual_sd=sd,
        df=df,
        r_squared=float(1 - (residual**2).sum() / whole),
        shrink=shrink,
        loo=residual / np.maximum(1 - leverage, 1e-9),
        spread=unscaled,
    )


def shrunk(rows: Floats, y: Floats) -> Fit:
    """Fit with the shrinkage whose leave-one-out error is smallest; none with many rows."""
    if len(y) >= FEW or rows.shape[1] == 1:
        return fit(rows, y)
    fits = [fit(rows, y, shrink) for shrink in _SHRINKS]
    return min(fits, key=lambda each: (float((each.loo**2).mean()), each.shrink))


@dataclass(frozen=True, slots=True, kw_only=True)
class Estimate:
    """What a vehicle may fetch: the middle, and intervals for one sale, in whole currency.

    ``loo_percent`` is the root mean square leave-one-out error; ``effects`` what one more of
    each term does to the price, in percent, with its standard error. ``rule`` says how the
    intervals were made.
    """

    middle: float
    low_80: float
    high_80: float
    low_95: float
    high_95: float
    count: int
    loo_percent: float
    r_squared: float
    shrink: float
    effects: tuple[tuple[str, float, float], ...]
    rule: str
    currency: str
    base_year: int
    basis: str


def number_of(value: str) -> float:
    """Give a feature as a number: yes and no as 1 and 0. Raises NoSuchTerm."""
    if value in ("yes", "no"):
        return float(value == "yes")
    try:
        return float(Decimal(value.replace(" ", "")))
    except ArithmeticError:
        what = f"{value!r} is neither a number nor yes or no."
        todo = "Split words into yes/no features, such as 'coupe=yes'."
        raise NoSuchTerm(what, where="features of a comparable", todo=todo) from None


def estimate(
    sales: Sequence[Comparable], own: Mapping[str, str], terms: Sequence[str], base_year: int
) -> Estimate:
    """Estimate what a vehicle with its ``own`` features may fetch. ``sold`` is the sale year.

    Raises TooFewSales, NoSuchTerm, ConstantTerm.
    """
    most = len(sales) // SALES_A_TERM
    if len(terms) > most or len(sales) < SALES_A_TERM:
        what = f"{len(sales)} sales carry at most {most} terms, and {len(terms)} are asked for."
        todo = f"Leave out {len(terms) - most} of them, or bring more sales."
        if len(sales) < SALES_A_TERM:
            what = f"There are too few sales for any estimate: {len(sales)}."
            todo = f"Bring {SALES_A_TERM} or more, or enter your own low, likely and high."
        raise TooFewSales(what, where="comparables", todo=todo)
    rows = np.array([[1.0, *(_value(sale, term, base_year) for term in terms)] for sale in sales])
    _check_rank(rows, terms)
    prices = np.array([float(sale.price.fraction) for sale in sales if sale.price is not None])
    found = shrunk(rows, np.log(prices))
    row = np.array([1.0, *(_own(own, term) for term in terms)])
    middle = found.at(row)
    rule = "Student's t"
    spans = {level: (found.half_width(row, level),) * 2 for level in (0.8, 0.95)}
    if len(sales) >= MANY:
        rule = "leave-one-out errors"
        spans = {level: _tails(found.loo, level) for level in (0.8, 0.95)}
    slopes = zip(terms, found.terms[1:], found.errors[1:], strict=True)
    return Estimate(
        middle=float(np.exp(middle)),
        low_80=float(np.exp(middle - spans[0.8][0])),
        high_80=float(np.exp(middle + spans[0.8][1])),
        low_95=float(np.exp(middle - spans[0.95][0])),
        high_95=float(np.exp(middle + spans[0.95][1])),
        count=len(sales),
        loo_percent=100 * float(np.expm1(np.sqrt((found.loo**2).mean()))),
        r_squared=found.r_squared,
        shrink=found.shrink,
        effects=tuple(
            (term, 100 * float(np.expm1(slope)), 100 * float(error))
            for term, slope, error in slopes
        ),
        rule=rule,
        currency=next(sale.price.currency for sale in sales if sale.price is not None),
        base_year=base_year,
        basis=sales[0].basis.value,
    )


def _tails(loo: Floats, level: float) -> tuple[float, float]:
    """Give how far below and above the middle one further sale lies at a level."""
    count = len(loo)
    share = min((count + 1) / count * (0.5 + level / 2), 1.0)
    return float(-np.quantile(loo, 1 - share)), float(np.quantile(loo, share))


def _value(sale: Comparable, term: str, base_year: int) -> float:
    if term == "sold":
        if sale.sold_on is None:
            what = f"the sale of {sale.what} has no day"
            raise NoSuchTerm(what, where="comparables", todo="Enter when it was sold.")
        return float(sale.sold_on.year - base_year)
    values = feature_values(sale.features)
    if term not in values:
        what = f"{term!r} is not stated of {sale.what}."
        todo = "State it of every sale, or leave that term out."
        raise NoSuchTerm(what, where="features of a comparable", todo=todo)
    return number_of(values[term])


def _own(own: Mapping[str, str], term: str) -> float:
    if term == "sold":
        return 0.0
    if term not in own:
        what = f"{term!r} is not stated of the vehicle itself."
        todo = "Enter a row of the sheet comparables that is 'this vehicle', with its features."
        raise NoSuchTerm(what, where="comparables", todo=todo)
    return number_of(own[term])


def _check_rank(rows: Floats, terms: Sequence[str]) -> None:
    for width in range(1, len(terms) + 1):
        part = rows[:, : width + 1] / np.sqrt((rows[:, : width + 1] ** 2).sum(axis=0)).clip(1e-300)
        if np.linalg.matrix_rank(part) <= width:
            what = f"{terms[width - 1]!r} is the same in every sale, or follows from the others."
            raise ConstantTerm(what, where="comparables", todo="Leave that term out.")
