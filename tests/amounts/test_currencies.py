"""Minor units against ISO 4217, list one, published 2024-06-25."""

from __future__ import annotations

import pytest

from recondition.amounts.currencies import CODES, UnknownCurrency, minor_digits
from tests.check_values import check_values

LIST_ONE = check_values("iso4217_minor_units")


def test_every_code_of_list_one() -> None:
    """All codes with a minor unit, with its digits, and no others."""
    published = {
        row["alphabetic_code"]: int(row["minor_unit_digits"])
        for row in LIST_ONE
        if row["minor_unit_digits"] != "N.A."
    }
    assert {code: minor_digits(code) for code in CODES} == published


@pytest.mark.parametrize(
    "code",
    [row["alphabetic_code"] for row in LIST_ONE if row["minor_unit_digits"] == "N.A."],
)
def test_no_minor_unit_no_currency(code: str) -> None:
    """Gold, test codes and the like cannot be counted in minor units."""
    with pytest.raises(UnknownCurrency) as refused:
        minor_digits(code)
    assert code in refused.value.what
    assert "ISO 4217" in refused.value.todo


@pytest.mark.parametrize("code", ["", "eur", "EU", "ZZZ", "€"])
def test_only_listed_codes_in_capitals(code: str) -> None:
    """Folding case is for the import, which can say that it did so."""
    with pytest.raises(UnknownCurrency):
        minor_digits(code)
