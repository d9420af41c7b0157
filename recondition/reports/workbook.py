"""The bookkeeper's workbook: lines, vehicle totals, findings, shares, chain heads, notes.

Each control total stands in three cells: the book's value, a live formula over the lines
sheet, and their difference, so that a preview without recalculation still shows the figure.
"""

from __future__ import annotations

import io
from collections.abc import Iterator
from datetime import UTC
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Any

from openpyxl import Workbook
from openpyxl.utils import get_column_letter

from recondition.accounts.summary import Place
from recondition.amounts import Money
from recondition.amounts.currencies import minor_digits
from recondition.amounts.money import total
from recondition.amounts.rounding import round_to
from recondition.condition.findings import SEVERITY_WORDS
from recondition.ledger.lines import Purpose, Reversal
from recondition.ledger.rollup import entered_of, period_of
from recondition.reports.sheet_writer import Counted, Formula, money_format, write_sheet
from recondition.reports.whole import write_bytes
from recondition.reports.workbook_stock import (
    MOVEMENT_HEADINGS,
    MOVEMENTS,
    STOCK,
    STOCK_HEADINGS,
    issued_by_lines,
    movements,
    stock,
)

if TYPE_CHECKING:
    from recondition.accounts.summary import Summary
    from recondition.ledger.drafts import Stored
    from recondition.reports.books_data import BooksData

LINES, VEHICLES, FINDINGS = "lines", "vehicles", "findings"
SHARES, HEADS, NOTES = "shares", "chain heads", "notes"

THE_SHOP = "(the shop)"  # no stock number has this form: brackets and a blank

LINE_HEADINGS = (
    "line", "stock number", "vehicle", "chassis as stamped", "own or consigned", "recorded at",
    "work date", "tax point", "period", "kind", "purpose", "what", "panel", "operation",
    "person", "quantity", "unit", "rate or price", "price per", "cost", "billed", "currency",
    "supplier", "invoice number", "findings and shares", "no finding because", "known as",
    "reverses", "reversed by", "replaces", "documents", "entered by", "record hash",
    "how measured", "uncertainty", "used or wasted", "batch", "container", "mixed batch",
    "order", "does again", "cause", "who pays", "loss", "hours taken", "started at", "ended at",
    "bay hours", "clock hours", "billed hours",
)  # fmt: skip
_STOCK, _PURPOSE, _COST, _BILLED = (
    get_column_letter(LINE_HEADINGS.index(name) + 1)
    for name in ("stock number", "purpose", "cost", "billed")
)


def write_books(path: Path, data: BooksData) -> None:
    """Write the workbook whole or not at all. Raises FileNotWritten."""
    write_bytes(path, books(data))


def books(data: BooksData) -> bytes:
    """Make the workbook. Two runs over the same data and time give the same cells."""
    book, counted = Workbook(), Counted()
    book.remove(book.worksheets[0])
    made = data.made_at.astimezone(UTC).replace(tzinfo=None, microsecond=0)
    book.properties.creator = book.properties.lastModifiedBy = "recondition"
    book.properties.created = book.properties.modified = made
    write_sheet(book, LINES, LINE_HEADINGS, _lines(data), counted)
    write_sheet(book, VEHICLES, _vehicle_headings(), _vehicles(data), counted)
    write_sheet(book, FINDINGS, _FINDING_HEADINGS, _findings(data), counted)
    write_sheet(book, STOCK, STOCK_HEADINGS, stock(data), counted)
    write_sheet(book, MOVEMENTS, MOVEMENT_HEADINGS, movements(data), counted)
    write_sheet(book, SHARES, _SHARE_HEADINGS, _shares(data), counted)
    write_sheet(book, HEADS, ("subject", "stock number", "count", "hash"), _heads(data), counted)
    write_sheet(book, NOTES, ("note", "book value", "live", "difference"),
                list(_notes(data, counted)), counted)  # fmt: skip
    file = io.BytesIO()
    book.save(file)
    return file.getvalue()


def _lines(data: BooksData) -> Iterator[tuple[Any, ...]]:
    """Give one row a posted line; a reversal shows the line it takes back, negative."""
    by_id = {line.id: line for line in data.lines}
    cars = {item.id: item for item in data.vehicles}
    ref = data.refs.get
    for line in data.lines:
        kind, entry = entered_of(line, by_id)
        car = cars.get(entry.vehicle or "")
        yield (
            line.ref,
            car.ref if car else THE_SHOP,
            car.entry.designation if car else "the shop's own",
            car.entry.chassis_stamped if car else None,
            car.entry.holding.value if car else None,
            line.recorded_at,
            line.entry.work_date,
            entry.tax_point,
            period_of(line),
            kind,
            entry.purpose.value,
            _words(line, entry),
            entry.panel,
            entry.operation,
            ref(getattr(entry, "person", None) or ""),
            *_measured(line, kind, entry),
            _cost(line),
            line.priced.billed if line.priced else None,
            data.settings.currency,
            ref(getattr(entry, "supplier", None) or ""),
            getattr(entry, "invoice_number", None),
            _served(line, data),
            entry.unlinked.value if entry.unlinked else None,
            entry.standing.value,
            ref(line.reverses or ""),
            ref(line.reversed_by or ""),
            ref(entry.replaces or ""),
            "; ".join(data.refs[each] for each in entry.documents) or None,
            ref(line.author),
            data.hashes[line.record],
            *_how(line, entry, data),
        )


def _how(line: Stored[Any], entry: Any, data: BooksData) -> tuple[Any, ...]:  # noqa: ANN401 - any line entry
    """Say how an amount was measured, where it came from, and what a line does again."""
    measure = line.priced.measure if line.priced else None
    again = entry.rework

    def name(field: str) -> str | None:
        return data.refs.get(getattr(entry, field, None) or "")

    def hours(field: str) -> Decimal | None:
        time = getattr(entry, field, None)
        return None if time is None else round_to(time.to("h"), 2)

    def said(field: str) -> str | None:
        found = getattr(entry, field, None)
        return found.value if found else None

    return (
        measure.way.value if measure else None,
        str(measure.uncertainty) if measure and measure.uncertainty else None,
        said("use"),
        name("receipt"),
        name("container"),
        name("mixed"),
        name("order"),
        data.refs.get(again.of) if again else None,
        again.cause.value if again else None,
        again.payer.value if again else None,
        said("loss"),
        said("taken"),
        getattr(entry, "started_at", None),
        getattr(entry, "ended_at", None),
        hours("bay"),
        hours("elapsed"),
        hours("billed_time"),
    )


def _cost(line: Stored[Any]) -> Money | None:
    """Give a line's cost."""
    return line.priced.cost if line.priced else None


def _words(line: Stored[Any], entry: Any) -> str:  # noqa: ANN401 - any line entry
    """Say what a line is; a reversal says why."""
    reversal = isinstance(line.entry, Reversal)
    return f"{entry.words} (taken back: {line.entry.why})" if reversal else entry.words


def _measured(
    line: Stored[Any],
    kind: str,
    entry: Any,  # noqa: ANN401 - as above
) -> tuple[Any, ...]:
    """Give quantity, unit, rate or price and what the price is for; reversals are negative.

    ``kind`` and ``entry`` are those of the line that a reversal takes back.
    """
    worked_out = line.priced.quantity if line.priced else None
    quantity = worked_out or getattr(entry, "quantity", None)
    per = getattr(entry, "price_per", None)
    price = (line.priced.rate if line.priced else None) or getattr(entry, "price", None)
    if quantity is None:
        return (None, None, price, None)
    taken_back = line.reverses and worked_out is None  # a reversal's own amount has its sign
    number = -quantity.number if taken_back else quantity.number
    return (number, quantity.unit, price, str(per) if per else "1 h" if kind == "labour"
            else None)  # fmt: skip


def _served(line: Stored[Any], data: BooksData) -> str | None:
    """Write the findings a line serves with the cost that each bears."""
    shares = line.priced.shares if line.priced else ()
    return "; ".join(f"{data.refs[s.finding]} {s.cost}" for s in shares) or None


def _three(value: Money, formula: str, row: int, first: int) -> tuple[Any, ...]:
    """Give a control total's three cells: book value, live formula, difference."""
    look = money_format(value.currency)
    digits = minor_digits(value.currency)
    live = Formula(f"=ROUND({formula},{digits})", look)
    book, there = get_column_letter(first), get_column_letter(first + 1)
    return (value, live, Formula(f"=ROUND({book}{row}-{there}{row},{digits})", look))


def _vehicle_headings() -> tuple[str, ...]:
    """Name the columns of the vehicles sheet."""
    names = [purpose.value for purpose in Purpose] + ["all cost", "billed"]
    totals = [f"{name}, {cell}" for name in names for cell in ("book", "live", "difference")]
    places = [f"stands in: {place.value}" for place in Place]
    return ("stock number", "vehicle", "own or consigned", "lines", "currency", *totals, *places)


def _vehicles(data: BooksData) -> Iterator[tuple[Any, ...]]:
    """Give one row a vehicle, and one for the shop's own costs where it has any."""
    cars = {item.id: item for item in data.vehicles}
    for row, summary in enumerate(data.summaries, start=2):
        car = cars.get(summary.vehicle or "")
        yield (
            car.ref if car else THE_SHOP,
            car.entry.designation if car else "the shop's own",
            car.entry.holding.value if car else None,
            len(summary.lines),
            data.settings.currency,
            *_totals(data, summary, row),
            *(summary.places[place] for place in Place),
        )


def _totals(data: BooksData, summary: Summary, row: int) -> list[Any]:
    """Give the control totals of one vehicle by purpose, of all cost and of what is billed."""
    last = max(len(data.lines) + 1, 2)
    wanted: list[tuple[Money, str, str | None]] = [
        (summary.purposes[purpose], _COST, purpose.value) for purpose in Purpose
    ]
    wanted += [(summary.cost, _COST, None), (summary.billed, _BILLED, None)]
    cells: list[Any] = []
    for value, column, purpose in wanted:
        formula = _conditional(column, last, row, purpose)
        cells += _three(value, formula, row, 6 + len(cells))
    return cells


def _conditional(column: str, last: int, row: int, purpose: str | None) -> str:
    """Write the sum of a column over the lines of this row's vehicle.

    EXACT compares stock numbers as the texts they are: SUMIFS would take "0007" for 7, and
    the equals sign "a7" for "A7".
    """
    same = f"EXACT({LINES}!${_STOCK}$2:${_STOCK}${last},$A{row})"
    kind = f'*({LINES}!${_PURPOSE}$2:${_PURPOSE}${last}="{purpose}")' if purpose else ""
    return f"SUMPRODUCT({same}{kind}*{LINES}!${column}$2:${column}${last})"


_FINDING_HEADINGS = (
    "finding", "stock number", "area", "panel", "defect", "severity", "severity in words",
    "found", "ended", "ended on", "severity after", "cost", "currency",
)  # fmt: skip


def _findings(data: BooksData) -> Iterator[tuple[Any, ...]]:
    """Give one row a finding, with how it ended and the cost of the lines that serve it."""
    endings = {item.entry.finding: item.entry for item in data.outcomes}
    costs: dict[str, list[Money]] = {}
    for piece in data.pieces:
        costs.setdefault(piece.finding or "", []).append(piece.cost)
    for item in data.findings:
        found, ending = item.entry, endings.get(item.id)
        yield (
            item.ref,
            data.refs[found.vehicle],
            found.area.value,
            found.panel,
            found.defect,
            found.severity,
            None if found.severity is None else SEVERITY_WORDS[found.severity],
            found.found_on,
            ending.ended.value if ending else "open",
            ending.ended_on if ending else None,
            ending.severity_after if ending else None,
            total(costs.get(item.id, []), data.settings.currency),
            data.settings.currency,
        )


_SHARE_HEADINGS = ("line", "finding", "stock number", "weight", "cost", "billed", "currency")


def _shares(data: BooksData) -> Iterator[tuple[Any, ...]]:
    """Give one row for each finding that a line serves."""
    for line in data.lines:
        for share in line.priced.shares if line.priced else ():
            stock = data.refs.get(line.subject.removeprefix("vehicle:"))
            yield (line.ref, data.refs[share.finding], stock, share.weight, share.cost,
                   share.billed, data.settings.currency)  # fmt: skip


def _heads(data: BooksData) -> Iterator[tuple[Any, ...]]:
    """Give the head of each chain; ``recondition check --against`` compares them."""
    for head in data.heads:
        yield (head.subject, data.refs.get(head.subject.partition(":")[2]), head.count, head.hash)


def _notes(data: BooksData, counted: Counted) -> Iterator[tuple[Any, ...]]:
    """Give what a reader must know, and the control totals over all lines."""
    currency, last = data.settings.currency, len(data.lines) + 1
    periods = sorted({period_of(line) for line in data.lines})
    span = f"{periods[0]} to {periods[-1]}" if periods else "no lines"
    words = (
        f"Made by recondition for {data.settings.shop_name or 'a shop without a name'}",
        f"Made at {data.made_at.isoformat(timespec='minutes')}",
        f"Posting periods: {span}. Home currency: {currency}, {minor_digits(currency)} decimals",
        (
            "Rounding: each line once, half away from zero; totals are sums of rounded lines, and "
            "shares of a line are dealt by largest remainder, so they add up to it"
        ),
        (
            "A reversal stands as a line of its own with the negative amount, beside the line it "
            "takes back"
        ),
        (
            "Purchase and arrival costs are on the purpose 'landed'. A consigned vehicle is never "
            "inventory: its cost is work for the owner"
        ),
        (
            "Chain heads: 'recondition check --against' this file tells later whether the book "
            "still holds these records unchanged. That proves the records, not the car"
        ),
        (
            f"Amounts of more digits than a spreadsheet keeps (15): {counted.long_amounts}. "
            f"Texts cut to the length of a cell: {counted.cut}. Texts with characters that cannot "
            f"be shown: {counted.replaced}"
        ),
        "General information only: the local accountant decides how amounts are treated",
    )
    row = 1
    for text in words:
        row += 1
        yield (text,)
    counts = {
        LINES: len(data.lines),
        VEHICLES: len(data.summaries),
        FINDINGS: len(data.findings),
        MOVEMENTS: len(data.movements),
    }
    for name, count in counts.items():
        row += 1
        live = Formula(f"=COUNTA('{name}'!$A$2:$A${max(count, 1) + 1})", "0")
        yield (f"rows on sheet {name}", count, live, Formula(f"=B{row}-C{row}", "0"))
    if data.movements:
        row += 1
        look = money_format(currency)
        lines_say, moves_say = issued_by_lines(data)
        apart = Formula(f"=ROUND(B{row}-C{row},{minor_digits(currency)})", look)
        yield (f"lines from stock against stock movements, {currency}", lines_say, moves_say, apart)
    sums = (
        ("all cost", _COST, total((p.cost for p in data.pieces), currency)),
        ("all billed", _BILLED, total((p.billed for p in data.pieces if p.billed), currency)),
    )
    for name, column, value in sums:
        row += 1
        span_of = f"{LINES}!${column}$2:${column}${max(last, 2)}"
        yield (f"{name}, {currency}", *_three(value, f"SUM({span_of})", row, 2))
