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
LINE_SHEETS = ("labour", "parts", "consumables", "sublets", "charges", "counts")
TENTH = Decimal("0.1")
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
        return stock_costs(sheets)[row["ref"]]
    if sheet == "counts":
        return count_costs(sheets)[row["ref"]]
    priced = row["price" if sheet == "sublets" else "amount"]
    if priced is None:
        return cents(amount(row["foreign amount"]) * number(row["exchange rate"]))
    return cents(number(priced))


@dataclass
class Shelf:
    """What is on hand of a product and its value, by moving average."""

    amount: Decimal = Decimal(0)
    value: Decimal = Decimal(0)

    def take(self, used: Decimal) -> Decimal:
        """Take an amount out and give its cost; the last takes all."""
        cost = self.value if used == self.amount else cents(used * self.value / self.amount)
        self.amount, self.value = self.amount - used, self.value - cost
        return cost


def _received(sheets: dict[str, list[Row]]) -> dict[str, Shelf]:
    """Put every receipt on the shelf: full containers, pieces, uses of a reusable."""
    products = {row["ref"]: row for row in sheets["products"]}
    shelves: dict[str, Shelf] = defaultdict(Shelf)
    for row in sheets["receipts"]:
        product, given = products[row["product"]], row["amount received"]
        each = Decimal(1)
        if str(given).endswith(("piece", "pieces")) and product["stock unit"] != "piece":
            each = number(product["expected uses"] or 0) or amount(product["container size"])
        shelf = shelves[row["product"]]
        shelf.amount += amount(given) * each
        paid = (row["price"], row["freight"], row["tax not recovered"])
        shelf.value += sum((number(part) for part in paid if part is not None), Decimal(0))
    return shelves


def _used(sheets: dict[str, list[Row]], row: Row, mixed: dict[str, list[Decimal]]) -> Decimal:
    """Work out what a row used, from weights, a mix, a level, a standard amount or as written."""
    product = next(each for each in sheets["products"] if each["ref"] == row["product"])
    if row["weight before"] is not None:
        grams = amount(row["weight before"]) - amount(row["weight after"])
        per = number(product["density g/ml"] or 1) if product["stock unit"] == "ml" else 1
        return (grams / per).quantize(TENTH, ROUND_HALF_UP)
    if row["amount of mix"] is not None:
        batch = next(each for each in sheets["mixed batches"] if each["ref"] == row["mixed batch"])
        whole = amount(batch["concentrate"]) + amount(batch["water"])
        left = mixed.setdefault(batch["ref"], [whole, amount(batch["concentrate"])])
        sprayed = amount(row["amount of mix"])
        part = (sprayed * amount(batch["concentrate"]) / whole).quantize(TENTH, ROUND_HALF_UP)
        part = left[1] if sprayed == left[0] else part
        left[0], left[1] = left[0] - sprayed, left[1] - part
        return part
    if row["level before %"] is not None:
        bottle = next(each for each in sheets["containers"] if each["label"] == row["container"])
        apart = number(row["level before %"]) - number(row["level after %"])
        return amount(bottle["holds"]) * apart / 100
    if row["how measured"] == "standard amount":
        named = (row["product"], row["operation"])
        usual = next(
            s for s in sheets["standard amounts"] if (s["product"], s["operation"]) == named
        )
        return amount(usual["amount"])
    return amount(row["amount used"])


def _issued(sheets: dict[str, list[Row]]) -> tuple[dict[str, Decimal], dict[str, Shelf]]:
    """Take every use out in its order; give costs by ref and what is then on the shelf."""
    shelves, mixed = _received(sheets), dict[str, list[Decimal]]()
    costs = {
        row["ref"]: shelves[row["product"]].take(_used(sheets, row, mixed))
        for row in sheets["consumables"]
    }
    return costs, shelves


def stock_costs(sheets: dict[str, list[Row]]) -> dict[str, Decimal]:
    """Give what each use cost, by ref."""
    return _issued(sheets)[0]


def count_costs(sheets: dict[str, list[Row]]) -> dict[str, Decimal]:
    """Give what each count's adjustment cost, by ref; the demo's counts find no gain."""
    shelves = _issued(sheets)[1]
    costs = {}
    for row in sheets["counts"]:
        shelf = shelves[row["product"]]
        missing = shelf.amount - amount(row["counted"])
        costs[row["ref"]] = shelf.take(missing) if missing else Decimal(0)
    return costs


def _billed(sheets: dict[str, list[Row]], sheet: str, row: Row) -> Decimal:
    """Give what an owner is billed: as written, else charge-out hours, else the cost."""
    if row["billed to owner"] is not None:
        return number(row["billed to owner"])
    if sheet == "labour":
        rate = _rate(sheets, row["person"], row["work date"])
        hours = amount(row["hours"] if row["billed hours"] is None else row["billed hours"])
        return cents(hours * number(rate["charge-out rate per hour"]))
    return _cost(sheets, sheet, row)


def totals_by_vehicle(sheets: dict[str, list[Row]]) -> dict[str, Totals]:
    """Add up every line sheet by stock number; the shop's own overhead stands under ''."""
    consigned = {
        row["stock number"] for row in sheets["vehicles"] if row["whose it is"] == "consigned"
    }
    totals: dict[str, Totals] = defaultdict(Totals)
    for sheet in LINE_SHEETS:
        for row in sheets[sheet]:
            vehicle = row.get("vehicle") or ""
            totals[vehicle].cost += _cost(sheets, sheet, row)
            if vehicle in consigned:
                totals[vehicle].billed += _billed(sheets, sheet, row)
    return dict(totals)
