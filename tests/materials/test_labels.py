"""What labels print, and every reading of it. Customs: common practice, no source."""

from __future__ import annotations

from fractions import Fraction

import pytest

from recondition.amounts.units import AmbiguousUnit
from recondition.materials.dilution import NoProduct
from recondition.materials.labels import (
    UNDERSTOOD,
    MoreThanTheMix,
    NotADilution,
    NotAReading,
    Reads,
    readings,
    settled,
)
from recondition.materials.volumes import NotAVolume, volume_ml
from tests.check_values import check_values

TO_WATER, TO_PRODUCT, ONE_IN, OF_WATER, OF_MIX = Reads

# Each label with its readings as product : water, the ordinary one marked.
LABELS = {
    "1:10": "product-to-water 1:10 *, one-in 1:9",
    "1 : 10": "product-to-water 1:10 *, one-in 1:9",
    "1 to 10": "product-to-water 1:10 *, one-in 1:9",
    "1.5:10": "product-to-water 1.5:10 *, one-in 3:17",
    "2:3": "product-to-water 2:3 *, one-in 2:1",
    "1+10": "product-to-water 1:10 *",
    "10:1": "water-to-product 1:10 *, one-in 1:9, product-to-water 10:1",
    "10 + 1": "water-to-product 1:10 *, product-to-water 10:1",
    "1:1": "product-to-water 1:1 *",
    "1:0": "product-to-water 1:0 *",
    "10:0": "product-to-water 10:0 *",
    "1 in 10": "one-in 1:9",
    "1 in 1": "one-in 1:0",
    "10 %": "of-mix 1:9",
    "12.5%": "of-mix 1:7",
    "10 percent by volume of the mix": "of-mix 1:9",
    "100 %": "of-mix 1:0",
    "20 ml per litre of water": "of-water 1:50",
    "20 ml/l of water": "of-water 1:50",
    "100 ML per 5 L water": "of-water 1:50",
    "20 ml per litre of mix": "of-mix 1:49",
    "20 ml per litre": "of-water 1:50, of-mix 1:49",
    "1200 ml per litre": "of-water 6:5",
    "2 fl oz per US gallon of water": "of-water 1:64",
    "2 US fl. oz. per gallon of water": "of-water 1:64",
    "2 fl oz per US gallon of mix": "of-mix 1:63",
    "2 fl oz per imperial gallon of water": "of-water 1:80",
    "2 fl oz per US gallon": "of-water 1:64, of-mix 1:63",
    "2 fl oz / imp gal": "of-water 1:80, of-mix 1:79",
    "5 imperial fl oz per gallon of water": "of-water 1:32",
    "1 floz_us per qt_us of water": "of-water 1:32",
    "1 part product + 10 parts water": "product-to-water 1:10",
    "2 parts of product to 1 part of water": "product-to-water 2:1",
    "neat": "product-to-water 1:0",
    " Undiluted ": "product-to-water 1:0",
    "\uff11\uff1a\uff11\uff10": "product-to-water 1:10 *, one-in 1:9",
}


@pytest.mark.parametrize(("label", "expected"), LABELS.items())
def test_a_label_has_these_readings(label: str, expected: str) -> None:
    found = readings(label)
    shown = (
        f"{one.reads} {one.dilution.product_parts:f}:{one.dilution.water_parts:f}"
        f"{' *' if one.ordinary else ''}"
        for one in found
    )
    assert ", ".join(shown) == expected
    assert {one.dilution.label for one in found} == {label.strip()}


def test_the_forms_named_in_the_refusal_are_understood() -> None:
    forms = UNDERSTOOD.replace(", or ", ", ").split(", ")
    assert len(forms) == 10
    assert all(readings(form) for form in forms)


@pytest.mark.parametrize(
    "label",
    ["", "ten", "1:", ":10", "-1:10", "1:-10", "1:10:2", "1:1,000", "1/10", "1e2:3", "one in ten",
     "10 % by weight", "20 ml", "20 ml per 0 l", "1:" + "9" * 70],
)  # fmt: skip
def test_nonsense_is_refused(label: str) -> None:
    with pytest.raises(NotADilution):
        readings(label)


@pytest.mark.parametrize(
    "label", ["0:10", "0:0", "0+10", "0 in 10", "0 in 0", "0 %", "0 ml per l", "0 ml per l of mix"]
)
def test_a_ratio_of_nothing_is_refused(label: str) -> None:
    with pytest.raises(NoProduct):
        readings(label)


@pytest.mark.parametrize("label", ["11 in 10", "1 in 0", "101 %", "1200 ml per litre of mix"])
def test_a_part_above_the_whole_is_refused(label: str) -> None:
    with pytest.raises(MoreThanTheMix):
        readings(label)


@pytest.mark.parametrize("label", ["2 fl oz per gallon", "2 ml per gallon of water", "2 fl oz / l"])
def test_neither_us_nor_imperial_is_refused(label: str) -> None:
    with pytest.raises(AmbiguousUnit):
        readings(label)


@pytest.mark.parametrize(
    "label",
    ["2 caps per litre", "2 oz per l", "5 g/l", "2 imp pints per l", "2 ml per litre of oil"],
)
def test_what_is_no_volume_is_refused(label: str) -> None:
    with pytest.raises(NotAVolume):
        readings(label)


def test_a_reading_is_settled_by_name_or_by_being_the_only_one() -> None:
    open_, plain = readings("1:10"), readings("1 in 10")
    assert settled("1:10", open_, None) is None
    assert settled("1:10", open_, ONE_IN) is open_[1]
    assert settled("1 in 10", plain, None) is plain[0]
    assert settled("1 in 10", plain, ONE_IN) is plain[0]
    with pytest.raises(NotAReading):
        settled("1 in 10", plain, TO_WATER)
    with pytest.raises(NotAReading):
        settled("1:10", open_, TO_PRODUCT)


PUBLISHED = {
    row["from"]: Fraction(row["factor"]) * (1000 if row["to"] == "litre" else 1)
    for row in check_values("units_exact")
    if row["to"] in {"litre", "millilitre"} and row["from"] != "cubic inch"
}


def test_published_volumes_are_found() -> None:
    assert len(PUBLISHED) == 6


@pytest.mark.parametrize(("name", "ml"), PUBLISHED.items())
def test_published_volume(name: str, ml: Fraction) -> None:
    """NIST Handbook 44, appendix C: US fl oz 29.5735295625 ml, imperial gallon 4.54609 l."""
    measure = name.replace("(liquid)", "").replace("fluid ounce", "fl oz")
    assert volume_ml(f"1 {measure}") == ml
    assert volume_ml(f"2.5{measure}") == ml * Fraction(5, 2)


def test_mixed_measures_stay_exact() -> None:
    """A US fluid ounce to an imperial gallon of water, by the published factors."""
    (one,) = readings("1 US fl oz per imperial gallon of water")
    ratio = Fraction(one.dilution.water_parts) / Fraction(one.dilution.product_parts)
    assert ratio == Fraction("4546.09") / Fraction("29.5735295625")
    assert one.reads is OF_WATER
    (one,) = readings("1 US fl oz per imperial gallon of mix")
    assert one.dilution.share == Fraction("29.5735295625") / Fraction("4546.09")
    assert one.reads is OF_MIX


@pytest.mark.parametrize("text", ["750", "ml", "-5 ml", "1,000 ml", "5 g", "3 bottles", ""])
def test_what_is_no_volume_at_all(text: str) -> None:
    with pytest.raises(NotAVolume):
        volume_ml(text)
