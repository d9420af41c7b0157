"""Plain lists of the condition bench: gloss, water, tests, custody, rules."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from recondition.book import Connection, reading
from recondition.book.context import NotThere
from recondition.book.questions import vehicle_of
from recondition.condition.custody import CustodyItem, CustodyMove, shown_moment, whereabouts
from recondition.condition.defects import MATERIALS, material_named
from recondition.condition.gloss import asks_for_20
from recondition.condition.order import RULES, in_force
from recondition.condition.water import drops, hardness_class, meaning, names, spot_risk
from recondition.ledger.drafts import Stored
from recondition.reports.table import Cell, CellKind, Column, Table

_DATE, _NUMBER = CellKind.DATE, CellKind.NUMBER
_TENTH = Decimal("0.1")


def of(conn: Connection, stock: str | None, *kinds: str) -> list[Stored[Any]]:
    """Read records of some kinds, of one vehicle where a stock number is given."""
    vehicle = vehicle_of(conn, stock).id if stock else None
    return reading.stored(conn, *kinds, vehicle=vehicle)


def step_words(entry: Any) -> str:  # noqa: ANN401 - any reading or finding
    """Say before or after which step something was seen."""
    return " ".join(part for part in (entry.when and entry.when.value, entry.step) if part)


def gloss(conn: Connection, stock: str | None) -> list[Table]:
    """List gloss readings with their angle."""
    rows = [
        (g.ref, g.entry.panel, g.entry.place or "", step_words(g.entry), g.entry.read_on,
         g.entry.mean.quantize(_TENTH), g.entry.unit, len(g.entry.readings),
         "20 degrees asked for" if asks_for_20(g.entry) else "")
        for g in of(conn, stock, "gloss reading")
    ]  # fmt: skip
    columns = (
        Column("ref", "Reading"),
        Column("panel", "Panel"),
        Column("place", "Place"),
        Column("step", "Step"),
        Column("read_on", "Read", _DATE),
        Column("mean", "Mean", _NUMBER),
        Column("unit", "Unit and angle"),
        Column("count", "Readings", CellKind.INTEGER),
        Column("remark", "Remark"),
    )
    return [Table("Gloss", columns, tuple(rows))]


def _sentence(words: str) -> str:
    """Begin a sentence with a capital letter."""
    return words[:1].upper() + words[1:]


def water(conn: Connection, stock: str | None) -> list[Table]:
    """List drops with their angle and what it means, and the hardness of every tap."""
    rows: list[tuple[Cell, ...]] = []
    for read in of(conn, stock, "drop reading"):
        entry = read.entry
        found = drops(entry.heights, entry.widths)
        named = "; ".join(f"{how}: {name}" for how, name in names(found.mean_deg).items())
        rows.append((read.ref, entry.panel, step_words(entry), entry.read_on,
                     found.mean_deg.quantize(_TENTH), found.margin_deg.quantize(_TENTH),
                     found.count, f"{named}. {_sentence(meaning(found))}"))  # fmt: skip
    columns = (
        Column("ref", "Reading"),
        Column("panel", "Panel"),
        Column("step", "Step"),
        Column("read_on", "Read", _DATE),
        Column("angle", "Angle, deg", _NUMBER),
        Column("spread", "Spread, deg", _NUMBER),
        Column("count", "Drops", CellKind.INTEGER),
        Column("meaning", "What it means"),
    )
    return [Table("Drops", columns, tuple(rows)), _hardness(conn)]


def _hardness(conn: Connection) -> Table:
    """List the hardness of taps."""
    rows = tuple(
        (h.ref, h.entry.tap, h.entry.read_on, h.entry.mg_l.quantize(_TENTH),
         hardness_class(h.entry.mg_l), spot_risk(h.entry.mg_l))
        for h in reading.stored(conn, "water hardness")
    )  # fmt: skip
    columns = (
        Column("ref", "Reading"),
        Column("tap", "Tap"),
        Column("read_on", "Read", _DATE),
        Column("mg_l", "mg/l CaCO3", _NUMBER),
        Column("named", "USGS class"),
        Column("risk", "Risk of spots"),
    )
    return Table("Water hardness", columns, rows)


def tests(conn: Connection, stock: str | None) -> list[Table]:
    """List identification tests with their answers."""
    rows = tuple(
        (t.ref, t.entry.panel, t.entry.place or "", t.entry.test.value, t.entry.answer,
         t.entry.tested_on)
        for t in of(conn, stock, "surface test")
    )  # fmt: skip
    columns = (
        Column("ref", "Test"),
        Column("panel", "Panel"),
        Column("place", "Place"),
        Column("test", "Which"),
        Column("answer", "Answer"),
        Column("tested_on", "Day", _DATE),
    )
    return [Table("Surface tests", columns, rows)]


def _moves(conn: Connection, stock: str | None) -> dict[str, list[Stored[CustodyMove]]]:
    """Give the movements of each thing in their order."""
    found: dict[str, list[Stored[CustodyMove]]] = {}
    for move in of(conn, stock, "custody move"):
        found.setdefault(move.entry.item, []).append(move)
    return found


def custody(conn: Connection, stock: str | None) -> list[Table]:
    """List things in custody with where each is now, and every movement."""
    items: list[Stored[CustodyItem]] = of(conn, stock, "custody item")
    moves = _moves(conn, stock)
    refs = reading.refs_by_id(conn, ("person", "vehicle"))
    rows = tuple(
        (i.ref, refs[i.entry.vehicle], i.entry.item, i.entry.item_class.value,
         i.entry.pieces, i.entry.bag or "", i.entry.place,
         whereabouts(i.entry, [m.entry for m in moves.get(i.id, [])]))
        for i in items
    )  # fmt: skip
    columns = (
        Column("ref", "Thing"),
        Column("vehicle", "Vehicle"),
        Column("item", "What it is"),
        Column("class", "Class"),
        Column("pieces", "Pieces", CellKind.INTEGER),
        Column("bag", "Bag or seal"),
        Column("found", "Found at"),
        Column("where", "Where it is now"),
    )
    return [Table("In custody", columns, rows), _move_table(items, moves, refs)]


def _move_table(
    items: list[Stored[CustodyItem]],
    moves: dict[str, list[Stored[CustodyMove]]],
    refs: dict[str, str],
) -> Table:
    """List the first place and every movement of each thing."""
    rows: list[tuple[Cell, ...]] = []
    for item in items:
        entry = item.entry
        by = refs.get(entry.found_by, "")
        witness = f", witness {entry.witness}" if entry.witness else ""
        rows.append((item.ref, shown_moment(entry.found_at), entry.kept_at,
                     f"{by}{witness}", "taken in", ""))  # fmt: skip
        for move in moves.get(item.id, []):
            one = move.entry
            to = f"{one.to} (released to {one.released_to})" if one.released_to else one.to
            by, when = refs.get(one.moved_by, ""), shown_moment(one.moved_at)
            seal = {None: "", True: "intact", False: "broken"}[one.seal_intact]
            rows.append((item.ref, when, to, by, one.reason, seal))
    columns = (
        Column("ref", "Thing"),
        Column("when", "When"),
        Column("to", "To"),
        Column("by", "By"),
        Column("reason", "Why"),
        Column("seal", "Seal"),
    )
    return Table("Movements", columns, tuple(rows))


def where(conn: Connection, thing: str) -> list[dict[str, str]]:
    """Say where a thing is: by its ref, or every thing whose words hold these. Raises NotThere."""
    items: list[Stored[CustodyItem]] = reading.stored(conn, "custody item")
    words = thing.casefold().split()
    found = [item for item in items if item.ref == thing] or [
        item for item in items if all(word in item.entry.item.casefold() for word in words)
    ]
    if not found:
        raise NotThere(what="thing in custody called", name=thing)
    moves = _moves(conn, None)
    return [
        {
            "ref": item.ref,
            "item": item.entry.item,
            "where": whereabouts(item.entry, [m.entry for m in moves.get(item.id, [])]),
        }
        for item in found
    ]


def rules(conn: Connection, _stock: str | None = None) -> list[Table]:
    """List the rules of the order of work that are in force."""
    own = {item.ref: item.entry for item in reading.stored(conn, "work rule")}
    rows = tuple(
        (name, ", ".join(rule.task), rule.kind.value, ", ".join(rule.other), rule.scope.value,
         "stops" if rule.stops else "told", "the shop's" if name in own else "the trade's",
         rule.why)
        for name, rule in in_force(own).items()
    )  # fmt: skip
    columns = (
        Column("rule", "Rule"),
        Column("task", "Work that says"),
        Column("kind", "Asks"),
        Column("other", "Other work"),
        Column("scope", "Where"),
        Column("effect", "Effect"),
        Column("whose", "Whose"),
        Column("why", "Why"),
    )
    gone = len(RULES) - sum(name in in_force(own) for name in RULES)
    note = f"{gone} of the trade's rules are taken away." if gone else ""
    return [Table("Order of work", columns, rows, note)]


def words_table(material: str | None) -> Table:
    """List defects, usual operations and what not to do, of one material or of all."""
    named = material_named(material)
    rows = tuple(
        (each.name, ", ".join(each.defects), ", ".join(each.operations), each.do_not)
        for each in MATERIALS
        if material is None or each is named
    )
    columns = (
        Column("material", "Material"),
        Column("defects", "Defects"),
        Column("operations", "Usually done"),
        Column("do_not", "Do not"),
    )
    note = "Common words of the trade; your own are as good."
    return Table("Words for defects", columns, rows, note)
