"""Dilution: published examples, exact parts, pouring that adds up.

"Published" figures are those printed by trade pages that were read; the pages differ, which
is the point of them. Ratios that no page prints are common practice, no source.
"""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from recondition.amounts.exact import decimal_from_units
from recondition.amounts.quantity import NotAQuantity
from recondition.amounts.rounding import round_to
from recondition.materials.dilution import (
    BatchTooSmall,
    Dilution,
    Mix,
    NoProduct,
    NothingToMix,
    Poured,
)
from recondition.materials.labels import Reads, readings, strength_apart


def dilutions() -> st.SearchStrategy[Dilution]:
    """Parts with and without decimals, neat among them."""
    places = st.integers(0, 4)
    product = st.builds(decimal_from_units, st.integers(1, 10**6), places)
    water = st.builds(decimal_from_units, st.integers(0, 10**7), places)
    return st.builds(Dilution, product, water, st.just("as printed"))


def volumes() -> st.SearchStrategy[Fraction]:
    """Volumes above zero, in ml."""
    return st.fractions(Fraction(1, 1000), 10**6, max_denominator=10**4)


def _poured(label: str, reads: Reads, total_ml: int) -> tuple[str, str]:
    """Give product and water in ml, as they are measured out."""
    (dilution,) = (one.dilution for one in readings(label) if one.reads is reads)
    poured = dilution.poured(dilution.for_total(total_ml))
    return str(poured.product_ml), str(poured.water_ml)


def test_published_one_to_ten_makes_eleven_parts() -> None:
    """Published: 1:10 for 1,000 ml is 90.9 ml of product and 909.1 ml of water."""
    assert _poured("1:10", Reads.PRODUCT_TO_WATER, 1000) == ("90.9", "909.1")


def test_published_one_in_ten_makes_ten_parts() -> None:
    """Published as the other reading: 100 ml of product in 1,000 ml."""
    assert _poured("1:10", Reads.ONE_IN, 1000) == ("100.0", "900.0")
    assert _poured("1 in 10", Reads.ONE_IN, 1000) == ("100.0", "900.0")


def test_published_difference_for_one_to_eight() -> None:
    """Published in the cleaning trade: the two readings of 1:8 lie 12.5 % apart."""
    assert strength_apart(readings("1:8")) == Fraction(125, 1000)


def test_published_charts_for_a_us_gallon() -> None:
    """One chart divides 128 by 10 and prints about 12 fl oz, another prints 11.5 for 1:10.

    Exact are 12.8 by one reading and 11.636... by the other, so both charts are rounded.
    """
    to_water, one_in = (one.dilution.for_total(128).product_ml for one in readings("1:10"))
    assert one_in == Fraction(128, 10)
    assert int(one_in) == 12
    assert to_water == Fraction(128, 11)
    assert abs(to_water - Fraction("11.5")) < Fraction("0.15")


def test_what_is_said_for_750_ml() -> None:
    """1:10 for 750 ml, worked by hand: 750 / 11 = 68.18."""
    assert _poured("1:10", Reads.PRODUCT_TO_WATER, 750) == ("68.2", "681.8")


def test_from_the_concentrate_in_hand() -> None:
    """68 ml at 1:10 take 680 ml of water and make 748 ml."""
    (dilution, _) = (one.dilution for one in readings("1:10"))
    assert dilution.for_product(68) == Mix(Fraction(68), Fraction(680))
    assert dilution.for_product(68).total_ml == 748


def test_neat_has_no_water() -> None:
    neat = Dilution(Decimal(1), Decimal(0), "neat")
    assert neat.share == 1
    assert neat.poured(neat.for_total(50)) == Poured(
        Decimal("50.0"), Decimal("0.0"), Decimal("50.0")
    )
    assert neat.text == "neat"


def test_a_half_goes_away_from_zero_and_the_water_gives_way() -> None:
    """0.25 of 1 ml is poured as 0.3 ml; the water is 0.7 ml, not 0.8."""
    quarter = Dilution(Decimal(1), Decimal(3), "1:3")
    assert quarter.poured(quarter.for_total(1)) == Poured(
        Decimal("0.3"), Decimal("0.7"), Decimal("1.0")
    )


@given(dilutions(), volumes())
def test_parts_add_up_to_the_whole_exactly(dilution: Dilution, total_ml: Fraction) -> None:
    mix = dilution.for_total(total_ml)
    product, water = Fraction(dilution.product_parts), Fraction(dilution.water_parts)
    assert mix.product_ml + mix.water_ml == total_ml
    assert mix.product_ml * water == mix.water_ml * product


@given(dilutions(), volumes())
def test_what_is_poured_adds_up_and_is_rounded_once(dilution: Dilution, total_ml: Fraction) -> None:
    mix = dilution.for_total(total_ml)
    try:
        poured = dilution.poured(mix)
    except BatchTooSmall:
        assert min(mix.product_ml, mix.water_ml) < Fraction(1, 10)
        return
    assert poured.product_ml + poured.water_ml == poured.total_ml
    assert poured.product_ml == round_to(mix.product_ml, 1)
    assert poured.total_ml == round_to(total_ml, 1)
    assert poured.product_ml > 0
    assert (poured.water_ml > 0) == (dilution.water_parts > 0)


@given(dilutions(), volumes(), st.integers(1, 1000))
def test_twice_the_batch_takes_twice_of_each(
    dilution: Dilution, total_ml: Fraction, times: int
) -> None:
    once, more = dilution.for_total(total_ml), dilution.for_total(total_ml * times)
    assert (more.product_ml, more.water_ml) == (once.product_ml * times, once.water_ml * times)


@given(dilutions(), volumes())
def test_total_and_product_lead_to_the_same_batch(dilution: Dilution, total_ml: Fraction) -> None:
    mix = dilution.for_total(total_ml)
    assert dilution.for_product(mix.product_ml) == mix


@given(dilutions())
def test_a_dilution_in_words_is_read_back(dilution: Dilution) -> None:
    (read,) = readings(dilution.text)
    assert read.dilution.share == dilution.share
    assert read.dilution.text == dilution.text
    assert read.dilution.label == dilution.text
    if dilution.water_parts:
        assert read.dilution.product_parts == dilution.product_parts
        assert read.dilution.water_parts == dilution.water_parts


@given(st.integers(1, 10**6), st.integers(2, 10**6))
def test_the_two_readings_of_a_ratio_differ_by_one_part(small: int, large: int) -> None:
    """Readings p : w and p in w differ in strength by exactly p/w, the 12.5 % of 1:8."""
    assume(small < large)
    found = readings(f"{small}:{large}")
    assert [one.reads for one in found] == [Reads.PRODUCT_TO_WATER, Reads.ONE_IN]
    assert strength_apart(found) == Fraction(small, large)


def test_parts_are_exact_and_in_one_form() -> None:
    assert Dilution(Decimal("1.50"), Decimal("10.0"), "") == Dilution(
        Decimal("1.5"), Decimal(10), ""
    )
    with pytest.raises(TypeError):
        Dilution(0.1, Decimal(1), "")  # type: ignore[arg-type]
    with pytest.raises(TypeError):
        Dilution(Decimal(1), Decimal(1), "").for_total(0.5)  # type: ignore[arg-type]
    with pytest.raises(NotAQuantity):
        Dilution(Decimal("Infinity"), Decimal(1), "")


def test_no_dilution_without_product_or_with_negative_water() -> None:
    with pytest.raises(NoProduct):
        Dilution(Decimal(0), Decimal(10), "0:10")
    with pytest.raises(NoProduct):
        Dilution(Decimal(-1), Decimal(10), "-1:10")
    with pytest.raises(ValueError, match="negative"):
        Dilution(Decimal(1), Decimal(-10), "1:-10")


@pytest.mark.parametrize("volume", [0, -5])
def test_a_batch_of_nothing_is_refused(volume: int) -> None:
    dilution = Dilution(Decimal(1), Decimal(10), "1:10")
    with pytest.raises(NothingToMix):
        dilution.for_total(volume)
    with pytest.raises(NothingToMix):
        dilution.for_product(volume)
