"""Amounts come into the stock unit exactly, or are refused with what is missing."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from recondition.amounts import Quantity
from recondition.materials.conversion import (
    DensityNeeded,
    ExpectedUsesNeeded,
    NoContainerSize,
    OtherUnit,
    exact_in_stock_unit,
    in_millilitres,
    in_stock_unit,
)
from recondition.materials.products import NotOnAnySheet, Product


def product(unit: str = "ml", **more: object) -> Product:
    return Product(name="Cut 3", material_type="compound", unit=unit, **more)  # type: ignore[arg-type]


def amount(text: str) -> Quantity:
    number, _, unit = text.partition(" ")
    return Quantity.of(number, unit)


@pytest.mark.parametrize(
    ("given_", "unit", "wanted"),
    [
        # Units of NIST Handbook 44, appendix C.
        ("1 floz_us", "ml", "29.5735295625"),
        ("1 floz_imp", "ml", "28.4130625"),
        ("1 gal_us", "ml", "3785.411784"),
        ("1 oz", "g", "28.349523125"),
        ("1.5 l", "ml", "1500"),
        ("2 pair", "piece", "4"),
    ],
)
def test_units_of_one_kind_convert_exactly(given_: str, unit: str, wanted: str) -> None:
    assert in_stock_unit(amount(given_), product(unit)) == Quantity.of(wanted, unit)


def test_weight_and_volume_go_by_the_density() -> None:
    dense = product(density_g_ml=Decimal("1.25"))
    assert in_stock_unit(amount("50 g"), dense) == amount("40 ml")
    assert in_stock_unit(amount("40 ml"), product("g", density_g_ml=Decimal("1.25"))) == amount(
        "50 g"
    )
    assert in_millilitres(amount("50 g"), dense) == 40


def test_an_amount_without_a_finite_decimal_is_rounded_once() -> None:
    odd = product(density_g_ml=Decimal("1.08"))
    assert exact_in_stock_unit(amount("40.7 g"), odd) == Fraction(407, 10) / Fraction(27, 25)
    assert in_stock_unit(amount("40.7 g"), odd) == amount("37.685 ml")
    assert in_stock_unit(amount("40.7 g"), odd, decimals=1) == amount("37.7 ml")


def test_full_containers_and_uses_of_a_reusable() -> None:
    bottle = product(container_size=amount("500 ml"))
    assert in_stock_unit(amount("2 piece"), bottle) == amount("1000 ml")
    assert in_stock_unit(amount("3 piece"), product("use", expected_uses=8)) == amount("24 use")
    assert in_stock_unit(amount("3 piece"), product("piece", expected_uses=8)) == amount("3 piece")


@pytest.mark.parametrize(
    ("given_", "of", "refusal"),
    [
        ("5 g", product(), DensityNeeded),
        ("5 ml", product("g"), DensityNeeded),
        ("1 piece", product(), NoContainerSize),
        ("1 piece", product("use"), ExpectedUsesNeeded),
        ("5 m", product(), OtherUnit),
        ("5 ml", product("piece"), OtherUnit),
        ("1 h", product("use"), OtherUnit),
    ],
)
def test_what_cannot_be_told_is_refused(given_: str, of: Product, refusal: type[Exception]) -> None:
    with pytest.raises(refusal, match="Cut 3"):
        in_stock_unit(amount(given_), of)


@given(st.decimals("0.001", 9999, places=3), st.decimals("0.5", 3, places=2))
def test_there_and_back_through_a_density_is_exact(number: Decimal, density: Decimal) -> None:
    litres, grams = (product(unit, density_g_ml=density) for unit in ("ml", "g"))
    weight = exact_in_stock_unit(Quantity(number, "ml"), grams)
    assert weight / Fraction(density) == Fraction(number)
    assert exact_in_stock_unit(Quantity(number, "g"), litres) * Fraction(density) == Fraction(
        number
    )


@pytest.mark.parametrize(
    "slip",
    [
        {"density_g_ml": Decimal(108)},
        {"ph": Decimal(70)},
        {"ph": Decimal(9), "ph_to": Decimal(7)},
        {"shelf_life_open": amount("30 ml")},
        {"expected_uses": 0},
        {"product_parts": Decimal(0), "water_parts": Decimal(10)},
        {"product_parts": Decimal(1), "water_parts": Decimal(-10)},
    ],
)
def test_a_figure_that_no_sheet_prints_is_refused(slip: dict[str, object]) -> None:
    with pytest.raises(NotOnAnySheet):
        product(**slip).check()


def test_a_product_as_its_sheets_print_it_passes() -> None:
    product(
        density_g_ml=Decimal("1.08"), ph=Decimal("12.1"), ph_to=Decimal("12.6"),
        shelf_life_open=amount("30 day"), expected_uses=8,
    ).check()  # fmt: skip
