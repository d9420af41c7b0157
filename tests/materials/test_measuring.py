"""Each way to measure gives an amount, its doubt, and refuses readings that contradict."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from recondition.amounts import Quantity
from recondition.fields import Id
from recondition.materials import measuring
from recondition.materials.conversion import DensityNeeded, NoContainerSize
from recondition.materials.measuring import Way
from recondition.materials.receiving import MixedBatch, StandardAmount
from tests.materials.test_conversion import amount, product

DENSE = product(density_g_ml=Decimal("1.08"), container_size=amount("500 ml"))


def g(number: str) -> Quantity:
    return Quantity.of(number, "g")


def test_the_worked_weighing() -> None:
    """742.6 g to 701.9 g at 1.08 g/ml is 40.7 g, 37.7 ml (our worked example, invented)."""
    found = measuring.weighed(DENSE, g("742.6"), g("701.9"))
    assert found.quantity == amount("37.7 ml")
    measure = found.measure
    assert (measure.way, measure.density_g_ml) == (Way.WEIGHED, Decimal("1.08"))
    # 0.1 g x 1.4 / 1.08 = 0.1296 ml, never rounded down (common practice, no source).
    assert measure.uncertainty == amount("0.13 ml")


def test_a_finer_scale_tells_more_and_a_weight_needs_no_density() -> None:
    grams = product("g")
    fine = measuring.weighed(grams, g("20.47"), g("19.23"), resolution=g("0.01"))
    assert (fine.quantity, fine.measure.uncertainty) == (g("1.24"), g("0.014"))
    assert fine.measure.density_g_ml is None
    ounces = measuring.weighed(grams, Quantity.of(2, "oz"), Quantity.of(1, "oz"))
    assert ounces.quantity == g("28.3")
    with pytest.raises(DensityNeeded):
        measuring.weighed(product(), g("20"), g("19"))


def test_what_is_kept_by_the_litre_is_told_to_a_tenth_of_a_millilitre() -> None:
    big = product("l", density_g_ml=Decimal("1.08"), container_size=amount("0.5 l"))
    found = measuring.weighed(big, g("742.6"), g("701.9"))
    assert (found.quantity, found.measure.uncertainty) == (amount("0.0377 l"), amount("0.00013 l"))
    assert measuring.by_level(big, Decimal("0.8"), Decimal("0.75")).quantity == amount("0.025 l")
    assert measuring.net_of(big, g("150"), g("120")) == Decimal("0.0278")
    assert measuring.weighed(product("kg"), g("742.6"), g("701.9")).quantity == amount("0.0407 kg")


def test_a_concentrate_may_be_weighed_out() -> None:
    batch = mixed("70 g", "700 ml")
    dense = product(density_g_ml=Decimal("1.25"))
    found = measuring.of_mix(
        batch, dense, amount("756 ml"), used_before=Fraction(0), taken_before=Fraction(0)
    )
    assert found.quantity == amount("56 ml")


def test_a_scale_has_a_step() -> None:
    with pytest.raises(measuring.NoStep):
        measuring.weighed(DENSE, g("590"), g("580"), resolution=g("0"))


def test_two_weights_that_contradict_are_refused() -> None:
    with pytest.raises(measuring.AfterAboveBefore, match="600 g"):
        measuring.weighed(DENSE, g("590"), g("600"))
    with pytest.raises(measuring.NothingUsed):
        measuring.weighed(DENSE, g("590"), g("590"))
    with pytest.raises(measuring.BelowTare):
        measuring.weighed(DENSE, g("590"), g("119.8"), tare=g("120"))
    kept = measuring.weighed(DENSE, g("590"), g("119.9"), tare=g("120"))
    assert kept.measure.tare == g("120")


@given(st.integers(1, 99999), st.integers(0, 99999), st.decimals("0.5", 3, places=2))
def test_a_weighed_amount_is_never_below_nothing(before: int, less: int, density: Decimal) -> None:
    after = before - less
    if not 0 <= after < before:
        return
    dense = product(density_g_ml=density)
    readings = [Quantity(Decimal(each) / 10, "g") for each in (before, after)]
    found = measuring.weighed(dense, *readings)
    exact = Fraction(less, 10) / Fraction(density)
    assert found.quantity.number >= 0
    assert abs(found.quantity.fraction - exact) <= Fraction(1, 20)
    doubt = found.measure.uncertainty
    assert doubt is not None
    assert doubt.fraction >= Fraction(14, 100) / Fraction(density)


def test_poured_pumped_counted_and_standard() -> None:
    assert measuring.dispensed(DENSE, amount("1 floz_us")).quantity == amount("29.5735295625 ml")
    pumped = measuring.dispensed_strokes(DENSE, Decimal(6), amount("4 ml"))
    assert (pumped.quantity, pumped.measure.strokes) == (amount("24 ml"), 6)
    assert measuring.counted(product("piece"), amount("1.5 piece")).quantity == amount("1.5 piece")
    with pytest.raises(measuring.HalfAtMost):
        measuring.counted(product("piece"), amount("1.3 piece"))
    usual = StandardAmount(product=Id("p"), operation="wash", quantity=amount("30 ml"))
    assumed = measuring.standard(DENSE, usual, Decimal(2))
    assert (assumed.quantity, assumed.measure.way) == (amount("60 ml"), Way.STANDARD)


def test_level_marks() -> None:
    found = measuring.by_level(DENSE, Decimal("0.8"), Decimal("0.65"))
    assert found.quantity == amount("75 ml")
    assert found.measure.uncertainty == amount("25 ml")  # 5 % of the bottle; common practice
    half = measuring.by_level(DENSE, Decimal(1), Decimal("0.5"), holds=amount("1 l"))
    assert half.quantity == amount("500 ml")
    for before, after, refusal in (
        ("0.6", "0.8", measuring.AfterAboveBefore),
        ("0.6", "0.6", measuring.NothingUsed),
        ("1.2", "0.8", measuring.LevelOutside),
    ):
        with pytest.raises(refusal):
            measuring.by_level(DENSE, Decimal(before), Decimal(after))
    with pytest.raises(NoContainerSize):
        measuring.by_level(product(), Decimal(1), Decimal("0.5"))


def mixed(concentrate: str, water: str) -> MixedBatch:
    return MixedBatch(
        product=Id("p"), mixed_on=date(2031, 2, 3), concentrate=amount(concentrate),
        water=amount(water),
    )  # fmt: skip


def test_a_share_of_a_mix_counts_the_concentrate_only() -> None:
    batch, none = mixed("70 ml", "700 ml"), Fraction(0)
    first = measuring.of_mix(batch, DENSE, amount("400 ml"), used_before=none, taken_before=none)
    assert first.quantity == amount("36.4 ml")  # 400 x 70/770 = 36.36
    last = measuring.of_mix(
        batch, DENSE, amount("370 ml"), used_before=Fraction(400), taken_before=Fraction("36.4")
    )
    assert last.quantity == amount("33.6 ml")
    with pytest.raises(measuring.MoreThanMixed, match=r"370\.0 ml"):
        measuring.of_mix(
            batch, DENSE, amount("371 ml"), used_before=Fraction(400), taken_before=Fraction(36)
        )
    with pytest.raises(measuring.NothingUsed):
        measuring.of_mix(batch, DENSE, amount("0 ml"), used_before=none, taken_before=none)


@given(
    st.integers(1, 500), st.integers(0, 5000), st.lists(st.integers(1, 900), max_size=8),
    st.lists(st.booleans(), min_size=8, max_size=8),
)  # fmt: skip
def test_the_shares_of_a_mix_add_up_to_its_concentrate(
    concentrate: int, water: int, sprays: list[int], taken_back: list[bool]
) -> None:
    """Also where uses in between were reversed: the one that empties it takes what is left."""
    batch, whole = mixed(f"{concentrate} ml", f"{water} ml"), concentrate + water
    standing: list[tuple[Fraction, Fraction]] = []

    def use(ml: int | Fraction) -> Fraction:
        spray = Quantity(Decimal(str(float(ml))), "ml")
        used, taken = (sum((each[i] for each in standing), Fraction(0)) for i in (0, 1))
        found = measuring.of_mix(batch, DENSE, spray, used_before=used, taken_before=taken)
        standing.append((spray.fraction, found.quantity.fraction))
        return found.quantity.fraction

    for spray, back in zip(sprays, taken_back, strict=False):
        if sum(each[0] for each in standing) + spray < whole:
            assert use(spray) >= 0
            if back:
                standing.pop(0)
    rest = whole - sum((each[0] for each in standing), Fraction(0))
    use(rest)
    assert sum(each[1] for each in standing) == concentrate


def test_a_count_by_weight() -> None:
    assert measuring.net_of(DENSE, g("601.9"), g("120.4")) == Decimal("445.8")
    assert measuring.net_of(product("g"), g("601.9"), g("120.4")) == Decimal("481.5")
    with pytest.raises(measuring.TareNeeded):
        measuring.net_of(DENSE, g("601.9"), None)
    with pytest.raises(measuring.BelowTare):
        measuring.net_of(DENSE, g("100"), g("120.4"))
