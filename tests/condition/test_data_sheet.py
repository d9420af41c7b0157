"""Data sheets: pH by its name in either order of section 9, hazards, what is not there."""

from __future__ import annotations

from decimal import Decimal

import pytest

from recondition.condition.data_sheet import NotADataSheet, read_data_sheet
from tests.check_values import check_values

ORDERS = ("osha_2012_and_older_eu_order", "osha_2024_ghs_rev7_order_FROM_MEMORY")


def sheet(order: str, ph: str = "12.1 - 12.6", *, letter: bool = True) -> str:
    """Write a sheet whose section 9 lists its items in a published order."""
    said = {
        "pH": ph,
        "relative density": "1.08",
        "density and/or relative density": "1.08 g/ml",
        "vapour density": "3.4",
        "relative vapour density": "3.4",
        "flash point": "61",
    }
    items = []
    for row in check_values("sds_section9_items"):
        name = row[order]
        label = f"{row['letter']}) " if letter else ""
        items += [f"{label}{name}: {said.get(name, 'not available')}"] if name else []
    return "\n".join(
        [
            "SECTION 1: Identification", "Bench cleaner, 9. edition",
            "SECTION 2: Hazard(s) identification", "Danger H314 Causes burns. H290, H314",
            "SECTION 3: Composition", "sodium hydroxide 1310-73-2  2-5 %", "water",
            "SECTION 7: Handling", "Keep the pH 7 rinse near.",
            "SECTION 9: Physical and chemical properties", *items,
            "SECTION 11: Toxicological information", "pH 1 in the stomach; H301 elsewhere",
        ]
    )  # fmt: skip


@pytest.mark.parametrize("order", ORDERS)
@pytest.mark.parametrize("letter", [True, False])
def test_ph_is_found_by_its_name_in_either_order(order: str, *, letter: bool) -> None:
    """Item 4 of OSHA 2012, item 11 of GHS revision 7: never by letter (check-values 4; 17, 3)."""
    found = read_data_sheet(sheet(order, letter=letter))
    assert (found.ph, found.ph_to) == (Decimal("12.1"), Decimal("12.6"))
    assert found.density_g_ml == Decimal("1.08")
    assert found.hazards == "H314; H290"
    assert found.ingredients == "sodium hydroxide 1310-73-2  2-5 %; water"


@pytest.mark.parametrize(
    ("said", "ph"),
    [
        ("7", ("7", None)),
        ("ca. 6,5", ("6.5", None)),
        ("2.0 to 2.4 (10 g/l, 20 \u00b0C)", ("2.0", "2.4")),
        ("at 20 \u00b0C: 11.5", ("11.5", None)),
        ("not available", (None, None)),
        ("not applicable", (None, None)),
    ],
)
def test_how_a_ph_is_written(said: str, ph: tuple[str | None, str | None]) -> None:
    found = read_data_sheet(sheet(ORDERS[0], said))
    assert (found.ph, found.ph_to) == tuple(Decimal(p) if p else None for p in ph)


def test_a_text_without_section_9_is_none() -> None:
    with pytest.raises(NotADataSheet):
        read_data_sheet("pH 7\nH314")
