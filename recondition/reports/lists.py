"""Plain lists of what a book holds, for the terminal and as JSON."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

from recondition.amounts import Money
from recondition.amounts.money import total
from recondition.book import Connection, reading
from recondition.book.questions import vehicle_of
from recondition.condition.findings import severity_words
from recondition.condition.vehicle import Holding
from recondition.ledger.drafts import Stored
from recondition.ledger.jobsheet import nature_of
from recondition.ledger.lines import Reversal
from recondition.reports.hours import hours_table
from recondition.reports.proofs import BILLED_NOTE, marks, named_in
from recondition.reports.table import Cell, CellKind, Column, Table
from recondition.worth.estimates import ThreeAmounts

_DATE, _MONEY = CellKind.DATE, CellKind.MONEY
Row = Callable[[Any], tuple[Cell, ...]]


def _of(conn: Connection, stock: str | None, *kinds: str) -> list[Stored[Any]]:
    """Read records of some kinds, of one vehicle where a stock number is given."""
    vehicle = vehicle_of(conn, stock).id if stock else None
    return reading.stored(conn, *kinds, vehicle=vehicle)


def _refs(conn: Connection, *kinds: str) -> Callable[[str | None], str]:
    """Give a function from an id to the user's name for it."""
    found = reading.refs_by_id(conn, kinds)
    return lambda entity: found.get(entity, "") if entity else ""


def _names(conn: Connection, ids: Iterable[str]) -> Callable[[str | None], str]:
    """Give such a function for some ids: of a book with many records only these are read."""
    found = reading.names_of(conn, ids)
    return lambda entity: found.get(entity, "") if entity else ""


def vehicles(conn: Connection, _stock: str | None = None) -> list[Table]:
    """List vehicles with what was posted on each."""
    spent: dict[str, list[Money]] = {}
    currency = reading.settings_of(conn).currency
    for line in reading.lines(conn):
        if line.priced is not None:
            spent.setdefault(line.subject, []).append(line.priced.cost)
    rows = [
        (v.ref, v.entry.designation, v.entry.holding.value, v.entry.chassis_stamped or "",
         total(spent.get(v.subject, []), currency))
        for v in sorted(reading.stored(conn, "vehicle"), key=lambda v: v.ref)
    ]  # fmt: skip
    columns = (
        Column("stock", "Stock"),
        Column("designation", "Vehicle"),
        Column("holding", "Whose"),
        Column("chassis", "Chassis as stamped"),
        Column("cost", "Posted cost", _MONEY),
    )
    return [Table("Vehicles", columns, tuple(rows))]


def findings(conn: Connection, stock: str | None) -> list[Table]:
    """List findings with severity in words and how each ended."""
    endings = {o.entry.finding: o.entry.ended.value for o in _of(conn, stock, "outcome")}
    rows = [
        (f.ref, f.entry.panel, f.entry.defect, severity_words(f.entry.severity),
         f.entry.found_on, endings.get(f.id, "open"))
        for f in _of(conn, stock, "finding")
    ]  # fmt: skip
    columns = (
        Column("ref", "Finding"),
        Column("panel", "Panel"),
        Column("defect", "Defect"),
        Column("severity", "Severity"),
        Column("found_on", "Found", _DATE),
        Column("ended", "Ended"),
    )
    return [Table("Findings", columns, tuple(rows))]


def candidates(conn: Connection, stock: str | None) -> list[Table]:
    """List candidate work, its money, and what pieces of it are worth together."""
    found = _of(conn, stock, "candidate")
    return [_work(found), _money(found), *_together(conn, stock)]


def _work(found: list[Stored[Any]]) -> Table:
    """Say what could be done, how long it takes and how likely it succeeds."""
    return Table(
        "Candidate work",
        (
            Column("ref", "Work"),
            Column("name", "What it is"),
            Column("state", "State"),
            Column("hours", "Hours low/likely/high"),
            Column("chance", "Chance of success", CellKind.PERCENT),
            Column("percent", "Uplift in percent"),
        ),
        tuple(
            (c.ref, c.entry.name, c.entry.state.value, _three(c.entry.hours), c.entry.p_success,
             _three(c.entry.uplift_percent))
            for c in found
        ),
        "Estimated figures.",
    )  # fmt: skip


def _money(found: list[Stored[Any]]) -> Table:
    """Show the money of each estimate: cash paid out, and uplift where it is in money."""
    points = ("low", "likely", "high")
    columns = [Column(f"cash_{p}", f"Cash, {p}", _MONEY) for p in points]
    columns += [Column(f"uplift_{p}", f"Uplift, {p}", _MONEY) for p in points]
    return Table(
        "Candidate work in money",
        (Column("ref", "Work"), *columns),
        tuple((c.ref, *_spread(c.entry.cash), *_spread(c.entry.uplift)) for c in found),
        "Estimated figures.",
    )


def _spread(amounts: ThreeAmounts | None) -> tuple[Money | None, ...]:
    """Give low, likely and high; nothing three times where there is no such estimate."""
    return (amounts.low, amounts.likely, amounts.high) if amounts else (None, None, None)


def _together(conn: Connection, stock: str | None) -> list[Table]:
    """List what sets of work are worth beyond their parts, where any is stated."""
    found = _of(conn, stock, "interaction")
    ref_of = _names(conn, {item for each in found for item in each.entry.items})
    rows = [
        (t.ref, ", ".join(ref_of(item) for item in t.entry.items), t.entry.delta_uplift)
        for t in found
    ]
    columns = (Column("ref", "Ref"), Column("items", "Work"), Column("uplift", "Uplift", _MONEY))
    return [Table("Worth together", columns, tuple(rows))] if rows else []


def _three(spread: Any) -> str:  # noqa: ANN401 - of numbers or of amounts
    """Write low/likely/high; empty where there is no such estimate."""
    if spread is None:
        return ""
    return "/".join(str(value) for value in (spread.low, spread.likely, spread.high))


def _line_row(
    line: Stored[Any], by_id: dict[str, Stored[Any]], ref_of: Callable[[str | None], str]
) -> tuple[Cell, ...]:
    """Write one line up to its amounts; a reversal says which line it takes back."""
    reversal = isinstance(line.entry, Reversal)
    entry = by_id[line.entry.reverses].entry if reversal else line.entry
    words = f"takes back {ref_of(line.entry.reverses)}: {line.entry.why}" if reversal else ""
    served = ", ".join(ref_of(link.finding) for link in entry.links) or entry.unlinked.value
    if line.reversed_by:
        served += " (reversed)"
    said = words or entry.words + marks(entry, ref_of)
    return (line.ref, line.entry.work_date, line.kind, said, served)


_LINE_COLUMNS = (
    Column("ref", "Line"),
    Column("work_date", "Day", _DATE),
    Column("kind", "Kind"),
    Column("words", "What"),
    Column("serves", "For"),
)


def _amounts(line: Stored[Any], *, billed: bool) -> tuple[Money | None, ...]:
    """Give what a line costs and, where ``billed``, what its owner is billed for it."""
    if line.priced is None:
        return (None, None) if billed else (None,)
    return (line.priced.cost, line.priced.billed) if billed else (line.priced.cost,)


def lines(conn: Connection, stock: str | None) -> list[Table]:
    """List posted lines in the order of posting, with their totals.

    Lines of a consigned vehicle show beside their cost what the owner is billed.
    """
    vehicle = vehicle_of(conn, stock) if stock else None
    billed = vehicle is not None and vehicle.entry.holding is Holding.CONSIGNED
    found = reading.lines(conn, vehicle.id if vehicle else None)
    found.sort(key=lambda line: (line.recorded_at, line.sequence))
    by_id = {line.id: line for line in found}
    ref_of = _names(conn, named_in(found))
    amounts = [_amounts(line, billed=billed) for line in found]
    currency = reading.settings_of(conn).currency
    sums = (total((a for a in column if a), currency) for column in zip(*amounts, strict=True))
    counted = "1 line" if len(found) == 1 else f"{len(found)} lines"
    columns = (*_LINE_COLUMNS, Column("cost", "Cost", _MONEY))
    return [
        Table(
            "Ledger",
            (*columns, Column("billed", "Billed", _MONEY)) if billed else columns,
            tuple(
                (*_line_row(line, by_id, ref_of), *money)
                for line, money in zip(found, amounts, strict=True)
            ),
            BILLED_NOTE if billed and found else "",
            total=("all", None, "", counted, "", *sums) if found else None,
        )
    ]


def one_vehicle(conn: Connection, stock: str) -> list[Table]:
    """Show one vehicle: identity, findings, candidate work, ledger, hours."""
    vehicle = vehicle_of(conn, stock)
    consigned = vehicle.entry.holding is Holding.CONSIGNED
    hours = hours_table(reading.lines(conn, vehicle.id), billed=consigned)
    return [
        identity(conn, vehicle),
        *findings(conn, stock),
        *candidates(conn, stock),
        *lines(conn, stock),
        *([hours] if hours else []),
    ]


def identity(conn: Connection, vehicle: Stored[Any]) -> Table:
    """Write what a vehicle is, and that its chassis numbers differ where they do."""
    car, ref_of = vehicle.entry, _refs(conn, "person")
    shown = {
        "vehicle": car.designation,
        "whose": car.holding.value + (f", owner {ref_of(car.owner)}" if car.owner else ""),
        "chassis as stamped": car.chassis_stamped,
        "chassis on documents": car.chassis_documents,
        "chassis numbers": "the two differ" if car.chassis_differs else None,
        "engine": car.engine_number,
        "body": car.body_number,
        "trim": car.trim,
        "odometer as shown": car.odometer_shown
        and f"{car.odometer_shown} "
        f"{car.odometer_unit.value}, {car.odometer_wheels or '?'} wheels, "
        f"true distance {car.true_distance.value}",
        "odometer rests on": car.odometer_words,
        "imported": "yes" if car.imported else "no",
        "arrived": car.arrived_on.isoformat() if car.arrived_on else None,
        "private note": car.private_note,
    }
    rows = tuple((name, text) for name, text in shown.items() if text)
    return Table(
        f"Vehicle {vehicle.ref}", (Column("field", "Field"), Column("value", "Value")), rows
    )


def people(conn: Connection, _stock: str | None = None) -> list[Table]:
    """List people, and their rates by the day from which they hold."""
    ref_of = _refs(conn, "person")
    who = [(p.ref, p.entry.name or "(erased)", p.entry.role) for p in _of(conn, None, "person")]
    rates = [
        (ref_of(r.entry.person), r.entry.from_date, r.entry.cost_rate, r.entry.charge_out_rate)
        for r in _of(conn, None, "rate")
    ]
    return [
        Table("People", _texts("Initials", "Name", "Role"), tuple(who)),
        Table(
            "Rates",
            (
                Column("person", "Initials"),
                Column("from", "From", _DATE),
                Column("cost", "Cost per hour", _MONEY),
                Column("charge_out", "Charge-out per hour", _MONEY),
            ),
            tuple(rates),
        ),
    ]


def _texts(*headings: str) -> tuple[Column, ...]:
    """Give text columns by their headings."""
    return tuple(Column(heading.lower().replace(" ", "_"), heading) for heading in headings)


def _plain(
    items: Iterable[Stored[Any]], title: str, headings: tuple[str, ...], row: Row
) -> list[Table]:
    """List records as text columns after their refs."""
    rows = tuple((item.ref, *row(item.entry)) for item in items)
    return [Table(title, _texts("Ref", *headings), rows)]


def suppliers(conn: Connection, _stock: str | None = None) -> list[Table]:
    """List suppliers."""
    found = _of(conn, None, "supplier")
    return _plain(found, "Suppliers", ("Name", "Contact"), lambda s: (s.name, s.contact or ""))


def products(conn: Connection, _stock: str | None = None) -> list[Table]:
    """List consumables."""
    return _plain(
        _of(conn, None, "product"),
        "Products",
        ("Name", "Material type", "Unit"),
        lambda p: (p.name, p.material_type, p.unit),
    )


def one_product(conn: Connection, ref: str) -> list[Table]:
    """Show what the label and the safety data sheet of a product say, as they were entered."""
    product = reading.one(conn, "product", ref).entry
    sheet = f", sheet of {product.sds_date.isoformat()}" if product.sds_date else ""
    density = f"{product.density_g_ml:f} g/ml" if product.density_g_ml else "not available"
    ph = f"{product.ph:f}" if product.ph is not None else None
    if ph and product.ph_to is not None:
        ph += f" to {product.ph_to:f}"
    parts = product.product_parts, product.water_parts
    read_as = f", read as {parts[0]:f} product + {parts[1]:f} water" if None not in parts else ""
    label = f"{product.dilution_label or 'not on the label'}{read_as}"
    shown = {
        "name": product.name,
        "material type": product.material_type,
        "stock unit": product.unit,
        "supplier": _refs(conn, "supplier")(product.supplier),
        "container size": _text(product.container_size),
        "density (section 9)": density + sheet,
        "pH (section 9)": ph,
        "shelf life once opened": _text(product.shelf_life_open),
        "hazard statements": product.hazards,
        "ingredients (section 3)": product.ingredients,
        "so it is": nature_of(ref, product).words,
        "allowed because": product.allowed_because,
        "dilution": label,
        "expected uses of one piece": _text(product.expected_uses),
        "reorder at": _text(product.reorder_at),
    }
    rows = tuple((name, text) for name, text in shown.items() if text)
    note = "The safety data sheet, the label and local rules decide; this is what was entered."
    columns = (Column("field", "Field"), Column("value", "Value"))
    return [Table(f"Product {ref}", columns, rows, note)]


def _text(value: object | None) -> str:
    """Write a value, nothing where there is none."""
    return "" if value is None else str(value)


def panels(conn: Connection, stock: str | None) -> list[Table]:
    """List recorded panels."""
    return _plain(
        _of(conn, stock, "panel"),
        "Panels",
        ("Panel", "Substrate", "Finish", "Believed", "Touch"),
        lambda p: (
            p.panel,
            p.substrate.value,
            p.finish.value,
            p.originality.value,
            "not to be touched" if p.no_touch else "",
        ),
    )


def documents(conn: Connection, stock: str | None) -> list[Table]:
    """List kept files."""
    return _plain(
        _of(conn, stock, "document"),
        "Documents",
        ("Kind", "Title", "Panel", "Who may see"),
        lambda d: (d.kind.value, d.title, d.panel or "", d.visibility.value),
    )


def terms(conn: Connection, stock: str | None) -> list[Table]:
    """List sale terms."""
    columns = (
        *_texts("Ref", "Basis", "Commission", "Premium"),
        Column("cut_off", "Cut-off", _DATE),
        Column("as_is_low", "As is, low", _MONEY),
        Column("as_is_likely", "As is, likely", _MONEY),
        Column("as_is_high", "As is, high", _MONEY),
    )
    rows = [
        (t.ref, t.entry.basis.value, _slices(t.entry.commission), _slices(t.entry.premium),
         t.entry.cut_off, *_spread(t.entry.as_is))
        for t in _of(conn, stock, "terms")
    ]  # fmt: skip
    return [Table("Sale terms", columns, tuple(rows))]


def _slices(slices: Iterable[Any]) -> str:
    """Write tiers: ``10 % to 50000.00; 8 %``."""
    return "; ".join(
        f"{(s.rate * 100).normalize():f} %" + (f" to {s.upto}" if s.upto else "") for s in slices
    )
