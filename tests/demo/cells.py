"""Works out what the demo's lines cost from the cells of its workbook alone.

Nothing of the project's own amounts, units or prices is used here, so that the figures of
the book have something to be held against. The rounding is half away from zero to the cent.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from typing import TYPE_CHECKING, Any

from openpyxl import load_workbook

if TYPE_CHECKING:
    from datetime import datetime
    from pathlib import Path

CENT = Decimal("0.01")
LINE_SHEETS = ("labour", "parts", "consumables", "sublets", "charges")
Row = dict[str, Any]

# Minutes are written as a text, "45 min"; a litre and a kilogram are thousands.
_IN_BASE = {"min": Decimal(1) / 60, "l": Decimal(1000), "kg": Decimal(1000)}


@dataclass
class Totals:
    """What one vehicle's lines cost and what its owner is billed, in dollars."""

    cost: Decimal = Decimal(0)
    billed: Decimal = Decimal(0)


def rows_of(path: Path) -> dict[str, list[Row]]:
    """Give the filled rows of every sheet by heading; a star that marks a need is dropped."""
    workbook = load_workbook(path, data_only=True)
    return {page.title: _rows(page) for page in workbook if page.title != "read me"}


def _rows(page: Any) -> list[Row]:
    heading, *rest = page.iter_rows(values_only=True)
    names = [str(name).removesuffix(" *") for name in heading]
    filled = [dict(zip(names, values, strict=True)) for values in rest]
    return [row for row in filled if any(value is not None for value in list(row.values())[1:])]


def number(value: Any) -> Decimal:
    """Read a number cell, or a text like ``$1,164.00``."""
    return Decimal(str(value).replace("$", "").replace(",", ""))


def amount(value: Any) -> Decimal:
    """Read a quantity in hours, millilitres, grams or pieces."""
    text, _, unit = str(value).partition(" ")
    return number(text) * _IN_BASE.get(unit, Decimal(1))


def cents(exact: Decimal) -> Decimal:
    """Round to the cent."""
    return exact.quantize(CENT, ROUND_HALF_UP)


def _rate(sheets: dict[str, list[Row]], who: str, day: datetime) -> Row:
    """Give the newest rate of a person that holds on a day."""
    mine = [row for row in sheets["rates"] if row["person"] == who and row["from"] <= day]
    return max(mine, key=lambda row: row["from"])


def _cost(sheets: dict[str, list[Row]], sheet: str, row: Row) -> Decimal:
    if sheet == "labour":
        rate = _rate(sheets, row["person"], row["work date"])
        return cents(amount(row["hours"]) * number(rate["cost rate per hour"]))
    if sheet == "parts":
        return cents(number(row["price each"]) * number(row["quantity"] or 1))
    if sheet == "consumables":
        used, bought = amount(row["amount used"]), amount(row["price is for"])
        return cents(number(row["price"]) * used / bought)
    return cents(number(row["price" if sheet == "sublets" else "amount"]))


def _billed(sheets: dict[str, list[Row]], sheet: str, row: Row) -> Decimal:
    """Give what an owner is billed: as written, else charge-out hours, else the cost."""
    if row["billed to owner"] is not None:
        return number(row["billed to owner"])
    if sheet == "labour":
        rate = _rate(sheets, row["person"], row["work date"])
        return cents(amount(row["hours"]) * number(rate["charge-out rate per hour"]))
    return _cost(sheets, sheet, row)


def totals_by_vehicle(sheets: dict[str, list[Row]]) -> dict[str, Totals]:
    """Add up every line sheet by stock number; the shop's own overhead stands under ''."""
    consigned = {
        row["stock number"] for row in sheets["vehicles"] if row["whose it is"] == "consigned"
    }
    totals: dict[str, Totals] = defaultdict(Totals)
    for sheet in LINE_SHEETS:
        for row in sheets[sheet]:
            vehicle = row["vehicle"] or ""
            totals[vehicle].cost += _cost(sheets, sheet, row)
            if vehicle in consigned:
                totals[vehicle].billed += _billed(sheets, sheet, row)
    return dict(totals)
