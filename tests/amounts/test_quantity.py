"""Quantities: exact, in one form, compared only within what they measure."""

from __future__ import annotations

from decimal import Decimal, localcontext
from fractions import Fraction

import pytest
from hypothesis import given

from recondition.amounts.quantity import NotAQuantity, Quantity
from recondition.amounts.units import AmbiguousUnit, UnitMismatch, UnknownUnit
from tests.strategies import quantities


@pytest.mark.parametrize(
    ("number", "text"),
    [
        ("2.50", "2.5 h"),
        ("100", "100 h"),
        ("1E+2", "100 h"),
        ("0.0000001", "0.0000001 h"),
        ("-0", "0 h"),
        ("0E+9", "0 h"),
        ("1200E-2", "12 h"),
        ("-010.010", "-10.01 h"),
    ],
)
def test_one_form(number: str, text: str) -> None:
    """Equal numbers are one object to text, equality and hash."""
    quantity = Quantity(Decimal(number), "h")
    assert str(quantity) == text
    assert quantity == Quantity.of(text.removesuffix(" h"), "hours")
    assert hash(quantity) == hash(Quantity.of(quantity.number_text, "h"))
    assert quantity.number.as_tuple() == Decimal(quantity.number_text).as_tuple()


@pytest.mark.parametrize("number", [2.5, True, None])
def test_float_and_bool_are_refused(number: object) -> None:
    """In the constructor and in ``of``."""
    with pytest.raises(TypeError):
        Quantity(number, "h")  # type: ignore[arg-type]
    with pytest.raises(TypeError):
        Quantity.of(number, "h")  # type: ignore[arg-type]


@pytest.mark.parametrize("number", ["", "two", "1,5", "1e3", "1/2"])
def test_text_that_is_no_quantity(number: str) -> None:
    """Commas and fractions are for the import to read."""
    with pytest.raises(NotAQuantity) as refused:
        Quantity.of(number, "h")
    assert "2.5" in refused.value.todo


@pytest.mark.parametrize(
    "number", ["NaN", "Infinity", "1E+18", "1E+999999999", "1E-31", "1E-999999"]
)
def test_out_of_bounds(number: str) -> None:
    """Neither endless nor of a size that no one measures."""
    with pytest.raises(NotAQuantity):
        Quantity(Decimal(number), "h")


def test_units_are_checked() -> None:
    """The constructor wants the code; ``of`` takes names and refuses ambiguous ones."""
    assert Quantity.of(3, "pcs").unit == "piece"
    with pytest.raises(UnknownUnit):
        Quantity(Decimal(1), "hours")
    with pytest.raises(AmbiguousUnit):
        Quantity.of(1, "gallon")


def test_conversion() -> None:
    """1 mil is 25.4 um and 1 US gallon 3.785411784 l, exactly (NIST Handbook 44, app. C)."""
    assert Quantity.of(4, "mil").to("um") == Fraction("101.6")
    assert Quantity.of(1, "gal_us").to("litres") == Fraction("3.785411784")
    assert Quantity.of(20, "min").to("h") == Fraction(1, 3)
    assert Quantity.of("1.5", "pair").to("piece") == 3


@pytest.mark.parametrize(
    ("source", "target"),
    [("ml", "g"), ("GU20", "GU60"), ("C", "F"), ("set", "piece"), ("m2", "m")],
)
def test_what_does_not_convert(source: str, target: str) -> None:
    """Volume is not mass, gloss keeps its angle, temperatures are not factors."""
    one, other = Quantity.of(1, source), Quantity.of(1, target)
    with pytest.raises(UnitMismatch):
        one.to(target)
    with pytest.raises(UnitMismatch):
        assert one < other
    with pytest.raises(UnitMismatch):
        one + other


def test_order_is_by_measure_and_equality_as_stored() -> None:
    """90 min is more than 1 h; 60 min and 1 h stay two different records."""
    hour, sixty, ninety = (Quantity.of(*pair) for pair in ((1, "h"), (60, "min"), (90, "min")))
    assert ninety > hour
    assert hour < ninety
    assert hour <= sixty
    assert hour >= sixty
    assert hour != sixty
    assert not hour < sixty


def test_sums_keep_to_one_unit() -> None:
    """Adding minutes to hours is refused: the sum would have to choose a unit."""
    with pytest.raises(UnitMismatch):
        Quantity.of(1, "h") + Quantity.of(1, "min")
    with pytest.raises(TypeError):
        Quantity.of(1, "h") - Decimal(1)  # type: ignore[operator]
    assert str(Quantity.of("0.1", "h") + Quantity.of("0.2", "h")) == "0.3 h"


@given(quantities("ml"), quantities("ml"))
def test_sums_are_exact(one: Quantity, other: Quantity) -> None:
    """In exact arithmetic, whatever decimal context is active, and undone by subtraction."""
    with localcontext() as context:
        context.prec = 2
        whole = one + other
        assert whole.fraction == one.fraction + other.fraction
        assert whole - other == one
        negative = -one
        assert -negative == one
        assert not one + negative


@given(quantities())
def test_text_round_trip(quantity: Quantity) -> None:
    """What is written reads back the same."""
    number, unit = str(quantity).rsplit(" ", 1)
    assert Quantity.of(number, unit) == quantity
    assert quantity.to(unit) == quantity.fraction
