"""One row of cells to an entry whose references are still the user's own refs.

The entry is written down in plain form with its texts, so that a row can wait in the
staging file until every ref is known. Reading it back puts ids in the place of refs.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cache
from pathlib import PurePosixPath
from typing import TYPE_CHECKING, Any

from recondition.book.kinds import KINDS
from recondition.condition.panels import area_of
from recondition.fields import Id
from recondition.intake.cells import Cell, CellRefused
from recondition.intake.completing import complete
from recondition.intake.spec import POINTS, ColumnSpec, Parse, Sheet
from recondition.intake.values import parse_cell
from recondition.ledger.codec import PlainDict, decode_fields, encode_fields, hints, words_of
from recondition.ledger.lines import Link

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from recondition.book.settings import Settings
    from recondition.intake.lists import Weighted

_MARK_NAMES = {",": "comma", ".": "point"}
_REFERRING = (Parse.TO, Parse.TO_MANY, Parse.LINKS)
_EMPTY = Cell(None)


@dataclass(frozen=True, slots=True)
class Need:
    """A ref that a row names: of which kind, and in which column it stands."""

    kind: str
    ref: str
    field: str


@dataclass(frozen=True, slots=True)
class Fault:
    """A column of a row and what is wrong in it."""

    column: ColumnSpec
    cell: Cell
    refused: CellRefused


@dataclass(slots=True)
class Row:
    """A parsed row: its own ref (empty where none was given), its content, what it needs."""

    ref: str = ""
    plain: PlainDict = field(default_factory=dict)
    words: dict[str, str] = field(default_factory=dict)
    file: str = ""
    needs: list[Need] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)

    @property
    def vehicle(self) -> str:
        """The ref of the vehicle it is about, empty where it names none."""
        named = self.plain.get("vehicle", "")
        return named if isinstance(named, str) else ""


class HalfAnEstimate(CellRefused):
    """Only one or two of the three figures of an estimate are there."""

    kind = "estimate not complete"


class NotRising(CellRefused):
    """Low, likely and high are not in this order."""

    kind = "estimate out of order"


class InMoneyAndPercent(CellRefused):
    """An uplift is given in money and in percent."""

    kind = "given twice"


class CutOffTooLate(CellRefused):
    """The last day of the work lies after the day of the sale."""

    kind = "cut-off after the sale"


class AreaUnknown(CellRefused):
    """A panel of the user's own naming without its area."""

    kind = "area missing"


def parse_row(sheet: Sheet, cells: Mapping[str, Cell], settings: Settings) -> Row:
    """Read the cells of a row, by field; every fault is collected, none is raised."""
    row = Row()
    values: dict[str, Any] = {}
    for column in sheet.columns:
        cell = cells.get(column.field, _EMPTY)
        if cell is _EMPTY and not (column.required or column.default):
            continue
        try:
            value = parse_cell(cell, column, settings)
        except CellRefused as refused:
            row.faults.append(Fault(column, cell, refused))
            continue
        if value is not None:
            values[column.field] = value
    _fold_setting(sheet, values, row, settings)
    row.ref = values.pop("ref", "")
    row.needs = _needs(sheet, values)
    row.file = values.pop("file", "")
    _complete(sheet, values, cells, row, settings)
    if not row.faults:
        _build(sheet, values, row, settings)
    return row


@cache
def _referring(sheet: Sheet) -> tuple[ColumnSpec, ...]:
    """Give the columns of a sheet that name other rows."""
    return tuple(column for column in sheet.columns if column.parse in _REFERRING)


@cache
def _estimates(sheet: Sheet) -> tuple[tuple[ColumnSpec, str], ...]:
    """Give the first column of each estimate of a sheet, with the field that it is part of."""
    firsts = ((column, *column.field.partition(".")) for column in sheet.columns)
    return tuple((column, base) for column, base, _, point in firsts if point == POINTS[0])


def _needs(sheet: Sheet, values: Mapping[str, Any]) -> list[Need]:
    """List what a row names on other sheets."""
    needs = []
    for column in _referring(sheet):
        value = values.get(column.field)
        if value is None:
            continue
        named = (value,) if isinstance(value, str) else value
        refs = [item if isinstance(item, str) else item[0] for item in named]
        needs += [Need(column.target, ref, column.field) for ref in refs]
    return needs


def _fold_setting(sheet: Sheet, values: dict[str, Any], row: Row, settings: Settings) -> None:
    """Bring a setting's value into the one form it is kept in."""
    name, text = values.get("ref"), values.get("value")
    if sheet.kind != "setting" or name is None or text is None:
        return
    column = sheet.column("value")
    try:
        if name in ("indifference", "minimum charge", "storage a day", "upkeep a day"):
            money = ColumnSpec(field="value", heading=name, parse=Parse.MONEY, help="", at_least=0)
            values["value"] = str(parse_cell(Cell(text), money, settings))
        elif name == "currency":
            values["value"] = text.upper()
        elif name == "decimal mark":
            values["value"] = _MARK_NAMES.get(text, text.casefold())
        elif name != "shop name":
            values["value"] = text.casefold()
    except CellRefused as refused:
        row.faults.append(Fault(column, Cell(text), refused))


def _complete(
    sheet: Sheet,
    values: dict[str, Any],
    cells: Mapping[str, Cell],
    row: Row,
    settings: Settings,
) -> None:
    """Fill in what follows from other columns of the row."""
    faulty = {fault.column.field for fault in row.faults}
    for each in complete(sheet, values, settings):
        if each.field not in faulty:
            cell = cells.get(each.field, Cell(None))
            row.faults.append(Fault(sheet.column(each.field), cell, each.refused))
    _finding_area(sheet, values, cells, row)
    if sheet.kind == "candidate":
        for one, other in (
            ("uplift.low", "uplift_percent.low"),
            ("fail_uplift", "fail_uplift_percent"),
        ):
            if one in values and other in values:
                column = sheet.column(other)
                what = "The uplift is given in money and in percent."
                twice = InMoneyAndPercent(what, todo="Keep the one that was estimated.")
                row.faults.append(Fault(column, cells.get(other, Cell(None)), twice))
    if sheet.kind == "terms":
        _check_days(sheet, values, cells, row)
    _three_points(sheet, values, cells, row)


def _finding_area(
    sheet: Sheet, values: dict[str, Any], cells: Mapping[str, Cell], row: Row
) -> None:
    """Fill in the area of a finding's panel, or ask for it."""
    if sheet.kind == "finding" and "panel" in values and "area" not in values:
        area = area_of(values["panel"])
        if area is not None:
            values["area"] = area
        elif cells.get("area", Cell(None)).blank:
            column = sheet.column("area")
            what = f"{values['panel']!r} is not on the list of panels, so its area must be named."
            todo = f"Write one of: {', '.join(column.choices)}."
            row.faults.append(Fault(column, Cell(None), AreaUnknown(what, todo=todo)))


def _check_days(
    sheet: Sheet, values: Mapping[str, Any], cells: Mapping[str, Cell], row: Row
) -> None:
    """Refuse a cut-off that lies after the day of the sale."""
    sale_day, cut_off = values.get("sale_day"), values.get("cut_off")
    if sale_day is None or cut_off is None or cut_off <= sale_day:
        return
    what = f"The cut-off lies after the sale day, {sale_day.isoformat()}."
    refused = CutOffTooLate(what, todo="Write a day on or before the sale day, or correct that.")
    row.faults.append(Fault(sheet.column("cut_off"), cells["cut_off"], refused))


def _three_points(
    sheet: Sheet, values: dict[str, Any], cells: Mapping[str, Cell], row: Row
) -> None:
    """Check that each estimate has its three figures, rising; no figure at all is allowed."""
    faulty = {fault.column.field for fault in row.faults}
    for column, base in _estimates(sheet):
        if any(f"{base}.{p}" in faulty for p in POINTS):
            continue
        there = {p: values[f"{base}.{p}"] for p in POINTS if f"{base}.{p}" in values}
        absent = [p for p in POINTS if p not in there]
        if there and absent:
            missing = sheet.column(f"{base}.{absent[0]}")
            what = "An estimate has three figures, and this one is missing."
            refused: CellRefused = HalfAnEstimate(what, todo="Give low, likely and high, or none.")
            row.faults.append(Fault(missing, Cell(None), refused))
        elif there and not there["low"] <= there["likely"] <= there["high"]:
            shown = ", ".join(cells[f"{base}.{p}"].found for p in POINTS)
            refused = NotRising(
                "The figures do not rise from low to likely to high.",
                todo="Put the three figures in their order.",
            )
            row.faults.append(Fault(column, Cell(shown), refused))


def _build(sheet: Sheet, values: dict[str, Any], row: Row, settings: Settings) -> None:
    """Put the entry together and write it down in plain form."""
    entry_class = KINDS[sheet.kind].entry
    known = hints(entry_class)
    nested: dict[str, dict[str, Any]] = {}
    fields: dict[str, Any] = {}
    for name, value in values.items():
        base, _, part = name.partition(".")
        if part:
            nested.setdefault(base, {})[part] = value
        else:
            fields[base] = value
    fields |= {base: known[base](**parts) for base, parts in nested.items()}
    if sheet.kind == "candidate" and "cash" not in fields:
        fields["cash"] = known["cash"](*[_nothing(settings)] * len(POINTS))
    if "links" in fields:
        fields["links"] = _links(fields["links"])
    if row.file:
        fields["file_name"] = PurePosixPath(row.file).name
    entry = entry_class(**fields)
    row.plain, row.words = encode_fields(entry), words_of(entry)


def _nothing(settings: Settings) -> Any:  # noqa: ANN401 - any entry's or library's type
    """Give no money, for an estimate of cash that was left empty."""
    column = ColumnSpec(field="cash", heading="cash", parse=Parse.MONEY, help="", default="0")
    return parse_cell(Cell(None), column, settings)


def _links(weighted: tuple[Weighted, ...]) -> tuple[Link, ...]:
    """Turn findings with weights into links, still by ref."""
    return tuple(Link(Id(ref), weight) for ref, weight in weighted)


def entry_of(
    sheet: Sheet, plain: PlainDict, words: dict[str, str], id_of: Callable[[str, str], str]
) -> Any:  # noqa: ANN401 - any entry's or library's type
    """Read a row back as an entry; ``id_of(kind, ref)`` gives the id for a ref."""
    resolved: dict[str, Any] = dict(plain)
    for column in _referring(sheet):
        base, _, part = column.field.partition(".")
        if part and base in resolved:
            resolved[base] = dict(resolved[base])
        holder: dict[str, Any] = resolved.get(base, {}) if part else resolved
        name = part or base
        value = holder.get(name)
        if value is None:
            continue
        if column.parse is Parse.TO:
            holder[name] = id_of(column.target, value)
        elif column.parse is Parse.TO_MANY:
            holder[name] = [id_of(column.target, ref) for ref in value]
        else:
            holder[name] = [
                link | {"finding": id_of(column.target, link["finding"])} for link in value
            ]
    return decode_fields(KINDS[sheet.kind].entry, resolved, words)
