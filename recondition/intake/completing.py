"""What follows from other cells of the same row, and what in a row contradicts itself."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from recondition.amounts.documents import Foreign
from recondition.amounts.units import UNITS
from recondition.errors import Refused
from recondition.intake.cells import CellRefused, OutOfBounds
from recondition.ledger.hourly import RateBasis, charge_out_rate, check_rate, cost_rate
from recondition.ledger.items import CostItem, usual_reason
from recondition.ledger.lines import (
    PURPOSE_OF_LOSS,
    PURPOSE_OF_UNLINKED,
    Loss,
    PartState,
    Payer,
    Purpose,
    Standing,
    Unlinked,
    Use,
)
from recondition.materials.dilution import Dilution
from recondition.materials.labels import readings
from recondition.materials.measuring import Way

if TYPE_CHECKING:
    from recondition.book.settings import Settings
    from recondition.intake.spec import Sheet

Values = dict[str, Any]


class HalfGiven(CellRefused):
    """Only part of what belongs together is there."""

    kind = "not complete"


class TwoWays(CellRefused):
    """An amount is given in two ways that may not agree."""

    kind = "given twice"


class LossOfNothing(CellRefused):
    """A loss is named on a line that loses nothing."""

    kind = "no loss here"


class TwoReadings(CellRefused):
    """A label's dilution that can be read in two ways."""

    kind = "two readings"


@dataclass(frozen=True, slots=True)
class Found:
    """A contradiction, and the field it shows in."""

    field: str
    refused: CellRefused


# What is read off for each way, all of which must be there.
_READINGS = {
    Way.WEIGHED: ("measure.gross_before", "measure.gross_after"),
    Way.MIXED: ("measure.sprayed", "mixed"),
    Way.LEVEL: ("measure.level_before", "measure.level_after"),
}
_IN_PERCENT = ("basis.on_cost", "measure.level_before", "measure.level_after")
_PRICED = {
    "part": "price",
    "sublet": "price",
    "charge": "price",
    "shared charge": "price",
    "receipt": "price",
    "supplier invoice": "total",
    "payment": "amount",
}
_FOREIGN = ("foreign.amount", "foreign.rate", "foreign.source")
_BATCH_ML = Decimal(750)
_STROKES = ("measure.strokes", "measure.per_stroke")
_REWORK = ("rework.of", "rework.cause", "rework.payer")
_BASIS = ("basis.wage", "basis.on_cost", "basis.paid_hours", "basis.productive_hours")


def complete(sheet: Sheet, values: Values, settings: Settings) -> list[Found]:
    """Fill in what follows from other columns of a row; give what contradicts itself."""
    found: list[Found] = []
    for field in _IN_PERCENT:
        if field in values:  # typed in percent, kept as a fraction
            values[field] = values[field].scaleb(-2)
    own = {"consumable": _measured, "rate": _rate, "product": _label}.get(sheet.kind)
    if own is not None:
        found += own(sheet, values)
    if sheet.kind in _PRICED:
        found += _priced(sheet, values, settings)
    if sheet.kind == "charge":
        _usual_reason(values)
        found += _credit(values)
    if sheet.kind == "drop reading" and "drops" in values:
        found_drops = values.pop("drops")
        values["heights"] = tuple(height for height, _ in found_drops)
        values["widths"] = tuple(width for _, width in found_drops)
    if sheet.kind == "count":
        values["purpose"], values["unlinked"] = Purpose.OVERHEAD, Unlinked.OVERHEAD
        values.setdefault("standing", Standing.COUNTED)
    elif "purpose" in {column.field for column in sheet.columns}:
        found += _together(sheet, values, _REWORK, "rework")
        found += _loss(values)
        values.setdefault("standing", _standing(sheet, values))
        values.setdefault("purpose", _purpose(values, settings))
    return found


def _at(field: str, refused: Refused) -> Found:
    """Give a refusal of another room as one of a cell."""
    return Found(field, CellRefused(refused.what, todo=refused.todo))


def _together(sheet: Sheet, values: Values, fields: tuple[str, ...], what: str) -> list[Found]:
    """Name the first of some fields that is missing while another is there."""
    there = [field for field in fields if field in values]
    missing = [field for field in fields if field not in values]
    if not there or not missing:
        return []
    names = ", ".join(repr(sheet.column(field).heading) for field in fields)
    refused = HalfGiven(f"For {what} this is missing.", todo=f"Give {names}, or none of them.")
    return [Found(missing[0], refused)]


def _measured(sheet: Sheet, values: Values) -> list[Found]:
    """See that an amount is given in one way, and say which."""
    given = [way for way, fields in _READINGS.items() if any(f in values for f in fields)]
    strokes = any(field in values for field in _STROKES)
    ways = len(given) + strokes + ("quantity" in values)
    if ways > 1:
        refused = TwoWays(
            "The amount is given in more than one way.", todo="Keep the one that was measured."
        )
        return [Found("quantity", refused)]
    if strokes:
        values.setdefault("measure.way", Way.DISPENSED)
        return _together(sheet, values, _STROKES, "pump strokes")
    if given:
        (way,) = given
        values["measure.way"] = way
        return _together(sheet, values, _READINGS[way], way.value)
    return _together(sheet, values, ("price", "price_per"), "a price")


def _priced(sheet: Sheet, values: Values, settings: Settings) -> list[Found]:
    """Work an amount out from its foreign one; ask for one where there is neither."""
    found = _together(sheet, values, _FOREIGN, "a foreign amount")
    if found or _PRICED[sheet.kind] in values:
        return found
    if _FOREIGN[0] in values:
        parts = {name.partition(".")[2]: values[name] for name in _FOREIGN}
        values[_PRICED[sheet.kind]] = Foreign(**parts).home(settings.currency)
        return []
    heading = sheet.column(_PRICED[sheet.kind]).heading
    refused = HalfGiven(
        f"The {heading} is missing.",
        todo=f"Give the {heading}, or the foreign amount with its rate and source.",
    )
    return [Found(_PRICED[sheet.kind], refused)]


def _credit(values: Values) -> list[Found]:
    """Refuse an amount below zero that is no credit note's."""
    price = values.get("price")
    if price is None or price.minor >= 0 or "invoice_number" in values:
        return []
    refused = OutOfBounds(
        "The amount cannot be below nothing without a credit note.",
        todo="Give the number of the supplier's credit note, or write zero or more.",
    )
    return [Found("price", refused)]


def _usual_reason(values: Values) -> None:
    """Say why a charge links to no finding where what it was paid for says so."""
    if "item" in values and "links" not in values and "unlinked" not in values:
        reason = usual_reason(CostItem(values["item"]))
        if reason is not None:
            values["unlinked"] = Unlinked(reason)


def _standing(sheet: Sheet, values: Mapping[str, Any]) -> Standing:
    """Say how a number is known where the row does not."""
    if sheet.kind == "consumable":
        way, quantity = values.get("measure.way"), values.get("quantity")
        if way is Way.STANDARD:
            return Standing.ASSUMED
        pieces = quantity is not None and UNITS[quantity.unit].dimension in ("count", "uses")
        counted = way is Way.COUNTED or (way is None and pieces)
        return Standing.COUNTED if counted else Standing.MEASURED
    return Standing.MEASURED if sheet.kind == "labour" else Standing.INVOICED


def _may_lose(values: Mapping[str, Any]) -> bool:
    """Tell whether a line is about something lost: spoiled, wasted, or done again."""
    spoiled = values.get("part_state") == PartState.SPOILED
    return spoiled or values.get("use") == Use.WASTED or "rework.of" in values


def _loss(values: Mapping[str, Any]) -> list[Found]:
    """Refuse a loss on a line that loses nothing."""
    if "loss" not in values or _may_lose(values):
        return []
    refused = LossOfNothing(
        "The line names a loss, and nothing on it is spoiled, wasted or done again.",
        todo="Leave it empty, or say what was lost.",
    )
    return [Found("loss", refused)]


def _purpose(values: Mapping[str, Any], settings: Settings) -> Purpose:
    """Say what a line's cost is for where the row does not."""
    if _may_lose(values):
        owner_pays = values.get("rework.payer") == Payer.OWNER
        rule = Loss.NORMAL if owner_pays else settings.loss_rule
        return PURPOSE_OF_LOSS[Loss(values.get("loss", rule))]
    unlinked = values.get("unlinked")
    return PURPOSE_OF_UNLINKED[Unlinked(unlinked)] if unlinked else Purpose.RECONDITIONING


def _rate(sheet: Sheet, values: Values) -> list[Found]:
    """Work a rate out from wage, on-costs and productive hours where they are given."""
    found = _together(sheet, values, _BASIS, "a rate that is worked out")
    if found:
        return found
    if _BASIS[0] not in values:
        if "cost_rate" in values:
            return []
        refused = HalfGiven(
            "The rate says neither what an hour costs nor how that is worked out.",
            todo="Give the cost rate, or wage, on-cost, paid and productive hours.",
        )
        return [Found("cost_rate", refused)]
    parts = {name.partition(".")[2]: v for name, v in values.items() if name.startswith("basis.")}
    basis = RateBasis(**parts)
    try:
        check_rate(values.get("cost_rate"), basis)
        charged = charge_out_rate(basis)
    except Refused as refused:
        return [_at(_BASIS[0], refused)]
    values.setdefault("cost_rate", cost_rate(basis))
    if charged is not None:
        values.setdefault("charge_out_rate", charged)
    return []


def _label(sheet: Sheet, values: Values) -> list[Found]:
    """Keep a label's dilution as two numbers; ask where its text has two readings."""
    parts = ("product_parts", "water_parts")
    found = _together(sheet, values, parts, "a dilution")
    label = values.get("dilution_label")
    if found or label is None or parts[0] in values:
        return found
    try:
        ways = readings(label)
    except Refused as unread:
        return [_at("dilution_label", unread)]
    if len(ways) == 1:
        way = ways[0].dilution
        values["product_parts"], values["water_parts"] = way.product_parts, way.water_parts
        return []
    for_750 = ", or ".join(_shown(way.dilution) for way in ways)
    refused = TwoReadings(
        f"{label!r} can be read in more than one way: {for_750}.",
        todo="Give the parts of product and the parts of water that are meant, once.",
    )
    return [Found("product_parts", refused)]


def _shown(way: Dilution) -> str:
    """Show one reading in millilitres."""
    poured = way.poured(way.for_total(_BATCH_ML))
    return f"{way.text} (for {_BATCH_ML} ml: {poured.product_ml} ml + {poured.water_ml} ml)"
