"""Whether any of a product on the shelf can be taken."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from recondition.amounts import Money, Quantity
from recondition.fields import Id
from recondition.materials.on_shelf import trouble
from recondition.materials.products import Product
from recondition.materials.receiving import Container, Receipt

TODAY = date(2031, 3, 4)
LIFE = Quantity.of("30", "day")
CUT = Product(name="Cut 3", material_type="compound", unit="ml", shelf_life_open=LIFE)


def held(days_open: int | None = None, **more: Any) -> Container:
    opened = TODAY - timedelta(days=days_open) if days_open is not None else None
    return Container(product=Id("p"), opened_on=opened, **more)


def came(days_left: int | None) -> Receipt:
    use_by = TODAY + timedelta(days=days_left) if days_left is not None else None
    return Receipt(
        product=Id("p"), received_on=TODAY, quantity=Quantity.of("500", "ml"),
        price=Money.of("9", "USD"), use_by=use_by,
    )  # fmt: skip


def test_nothing_there_is_said() -> None:
    said = "nothing of Cut 3 is in stock on record"
    assert trouble(CUT, Decimal(0), {}, {}, TODAY) == said
    emptied = {"K-1": held(emptied_on=TODAY)}
    assert trouble(CUT, Decimal(0), emptied, {}, TODAY) == said
    assert trouble(CUT, Decimal(1), {}, {}, TODAY) == ""


def test_one_good_container_is_enough() -> None:
    old, good = held(35), held(30)
    assert trouble(CUT, Decimal(9), {"K-1": old, "K-2": good}, {}, TODAY) == ""
    assert trouble(CUT, Decimal(9), {"K-1": old, "K-2": held()}, {}, TODAY) == ""
    assert trouble(CUT, Decimal(9), {"K-1": old}, {}, TODAY) == (
        "Cut 3 is past its life: K-1 5 days past"
    )


def test_the_day_printed_on_the_batch_counts_too() -> None:
    receipts = {"r": came(-3)}
    filled = {"K-1": held(1, receipt=Id("r"))}
    assert trouble(CUT, Decimal(9), filled, receipts, TODAY) == (
        "Cut 3 is past its life: K-1 3 days past"
    )
    assert trouble(CUT, Decimal(9), filled, {"r": came(0)}, TODAY) == ""


def test_without_labels_every_delivery_has_to_be_past() -> None:
    old = {"a": came(-9), "b": came(-3)}
    assert trouble(CUT, Decimal(9), {}, old, TODAY) == "Cut 3 is past its life: 3 days past"
    assert trouble(CUT, Decimal(9), {}, old | {"c": came(None)}, TODAY) == ""
    assert trouble(CUT, Decimal(9), {}, old | {"c": came(4)}, TODAY) == ""
