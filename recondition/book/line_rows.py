"""Posted lines as rows for the books, read in pages so that memory stays flat.

The columns are those a bookkeeper asks for (common practice, no source), then what else is
known of a line. Amounts are Money in the home currency, days are dates.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from sqlalchemy import Connection, Row, and_, case, func, literal, select

from recondition.accounts.chart import Chart
from recondition.accounts.facts import invoice_key
from recondition.accounts.journal import Journal
from recondition.amounts import Money, Quantity
from recondition.amounts.rounding import round_to
from recondition.book import reading
from recondition.book.batches import Batches, batches_of
from recondition.book.facts import holdings, line_fact
from recondition.book.facts_shared import foreign_on, foreign_shares
from recondition.book.scope import Scope
from recondition.book.sorting import by_bytes
from recondition.book.sums import THE_SHOP
from recondition.book.tables import (
    entity,
    free_text,
    line,
    record,
    relation,
    share,
    stored_file,
    vehicle,
)
from recondition.book.tables_books import entry_reversal
from recondition.ledger.lines import LineKind, Purpose

PAGE = 1000

COLUMNS = (
    "line_id", "job_no", "stock_no", "chassis", "own_or_consigned", "owner_ref", "entry_date",
    "tax_point_date", "period", "work_date", "category", "account_code", "account_name",
    "cost_centre", "description", "panel", "operation_code", "person_ref", "quantity", "unit",
    "unit_cost", "net_amount", "tax_code", "tax_amount", "gross_amount", "recoverable_tax",
    "currency", "fx_rate", "fx_source", "amount_home", "debit", "credit", "supplier_ref",
    "supplier_invoice_no", "invoice_date", "invoice_line", "document_file", "document_sha256",
    "approved_by", "approval_ref", "billable", "billed_invoice_no", "reverses_line_id",
    "correction_reason", "measured_or_estimated", "created_at", "created_by", "exported_batch",
    "journal_document", "kind", "purpose", "paid_for", "billed", "foreign_amount", "findings",
    "no_finding_because", "unit_cost_is_for", "reversed_by_line_id", "replaces_line_id",
    "order_ref", "does_again_line_id", "cause", "who_pays", "loss", "used_or_wasted",
    "how_measured", "uncertainty", "batch", "container", "mixed_batch", "hours_taken",
    "started_at", "ended_at", "bay_hours", "clock_hours", "billed_hours", "paid_from_code",
    "paid_from_name", "record_hash",
)  # fmt: skip
"""The columns of a line, in their order."""

MONEY_COLUMNS = frozenset({
    "unit_cost", "net_amount", "tax_amount", "gross_amount", "recoverable_tax", "amount_home",
    "debit", "credit", "billed",
})  # fmt: skip

_NAMED = ("vehicle", "person", "supplier", "candidate", "order", "receipt", "container",
          "mixed batch", "product")  # fmt: skip
_READ = (
    "record_id", "vehicle", "kind", "work_date", "tax_point", "period", "cost_minor",
    "billed_minor", "rate_minor", "price_minor", "price_per_number", "price_per_unit",
    "quantity_number", "quantity_unit", "purpose", "standing", "unlinked", "panel", "operation",
    "candidate", "person", "supplier", "invoice_number", "reverses", "replaces", "rework_of",
    "rework_cause", "rework_payer", "loss", "order", "bay_number", "bay_unit", "elapsed_number",
    "elapsed_unit", "billed_time_number", "billed_time_unit", "taken", "started_at", "ended_at",
    "use", "measure_way", "measure_uncertainty_number", "measure_uncertainty_unit", "receipt",
    "container", "mixed", "tax_code", "tax_minor", "foreign_amount_minor",
    "foreign_amount_currency", "foreign_rate", "foreign_source", "settled", "item",
)  # fmt: skip
"""The columns of the table of lines that a row is made of."""
_OTHER_LINES = ("reverses", "reversed_by", "replaces", "rework_of")
_OF_HOURS = ("bay", "elapsed", "billed_time")


def count(conn: Connection, scope: Scope) -> int:
    """Count the lines of a scope."""
    return conn.execute(select(func.count()).select_from(line).where(scope.where())).scalar_one()


@dataclass(frozen=True, slots=True)
class Stated:
    """What the lines of a scope come to by the database, in minor units."""

    cost: int
    billed: int


def sums(conn: Connection, scope: Scope) -> Stated:
    """Add the lines of a scope up in the database."""
    cost, billed = func.sum(line.c.cost_minor), func.sum(line.c.billed_minor)
    row = conn.execute(
        select(
            func.coalesce(cost, 0).label("cost"), func.coalesce(billed, 0).label("billed")
        ).where(scope.where())
    ).one()
    return Stated(int(row.cost), int(row.billed))


def unproven(conn: Connection, scope: Scope) -> int:
    """Count the lines of a scope that name no document."""
    proven = select(relation.c.record_id).where(relation.c.field == "documents")
    query = select(func.count()).select_from(line).where(scope.where())
    return conn.execute(query.where(line.c.record_id.not_in(proven))).scalar_one()


def rows(
    conn: Connection, scope: Scope, journal: Journal, chart: Chart, batch: str | None = None
) -> Iterator[tuple[Any, ...]]:
    """Give the lines of a scope, vehicle by vehicle in the order of their chains.

    ``batch`` is the name of the export that is being made, for lines in none before it.
    """
    found = _Lines(conn, journal, chart, batch)
    with conn.execute(_query(scope).execution_options(yield_per=PAGE)) as result:
        for page in result.partitions(PAGE):
            yield from found.page(list(page))


def _query(scope: Scope) -> Any:  # noqa: ANN401 - a query of SQLAlchemy
    """Give the query of all that stands in columns."""
    first, back, car = line.alias("first"), line.alias("back"), vehicle.alias("car")
    stock, head = entity.alias("stock"), record.alias("head")
    own = func.coalesce(line.c.tax_point, line.c.work_date)
    stocked = and_(
        line.c.kind.in_((LineKind.CONSUMABLE.value, LineKind.COUNT.value)),
        line.c.price_minor.is_(None),
    )
    return (
        select(
            *(line.c[name] for name in _READ),
            entity.c.ref,
            entity.c.subject,
            head.c.sequence,
            head.c.hash,
            head.c.author,
            head.c.recorded_at,
            head.c.kind.label("own_kind"),
            case((line.c.reverses.is_not(None), line.c.work_date), else_=own).label("day"),
            func.coalesce(first.c.work_date, line.c.work_date).label("happened"),
            case((stocked, literal(1)), else_=literal(0)).label("stocked"),
            func.coalesce(line.c.tax_recovered_minor, 0).label("recovered"),
            back.c.record_id.label("reversed_by"),
            stock.c.ref.label("stock_no"),
            car.c.chassis_stamped,
            car.c.holding,
            car.c.owner,
        )
        .join(entity, entity.c.id == line.c.record_id)
        .join(head, head.c.id == line.c.record_id)
        .outerjoin(first, first.c.record_id == line.c.reverses)
        .outerjoin(back, back.c.reverses == line.c.record_id)
        .outerjoin(stock, stock.c.id == line.c.vehicle)
        .outerjoin(car, car.c.record_id == stock.c.current)
        .where(scope.where())
        .order_by(stock.c.ref.is_(None), by_bytes(stock.c.ref), entity.c.subject, head.c.sequence)
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Beside:
    """What was looked up for one page of lines, by their ids."""

    texts: Mapping[tuple[str, str], str]
    refs: Mapping[str, str]
    proofs: Mapping[str, tuple[str, str]]
    billed: Mapping[str, str]
    shares: Mapping[str, str]


class _Lines:
    """Turns pages of that query into rows, with what has to be looked up beside it."""

    def __init__(
        self, conn: Connection, journal: Journal, chart: Chart, batch: str | None
    ) -> None:  # fmt: skip
        self._conn = conn
        self._journal = journal
        self._places = journal.places
        self._accounts: dict[tuple[str, str, str], tuple[str, str]] = {}
        self._chart = chart
        self._batch = batch
        self._batches: Batches = batches_of(conn)
        self._names = reading.refs_by_id(conn, _NAMED)
        self._consigned = holdings(conn)
        self._currency = reading.settings_of(conn).currency
        self._approved = _approvals(conn)
        self._shared = foreign_shares(conn)
        self._invoices = {
            invoice_key(item.entry.supplier, item.entry.number): item.entry.invoice_on
            for item in reading.stored(conn, "supplier invoice")
        }
        self._on_invoice: dict[tuple[str, str], int] = {}
        self._days: dict[str, date] = {}

    def page(self, found: list[Row[Any]]) -> Iterator[tuple[Any, ...]]:
        """Give the rows of one page."""
        ids = [row.record_id for row in found]
        beside = _Beside(
            texts=self._texts(ids + [row.reverses for row in found if row.reverses]),
            refs=self._refs([getattr(row, name) for row in found for name in _OTHER_LINES]),
            proofs=self._proofs(ids),
            billed=self._billed(ids),
            shares=self._shares(ids),
        )
        for row in found:
            yield self._row(row, beside)

    def _refs(self, ids: list[str | None]) -> dict[str, str]:
        """Read the refs of other lines."""
        named = [each for each in ids if each]
        return dict(self._pairs(select(entity.c.id, entity.c.ref).where(entity.c.id.in_(named))))

    def _pairs(self, query: Any) -> list[tuple[str, str]]:  # noqa: ANN401 - a query of SQLAlchemy
        return [(row[0], row[1]) for row in self._conn.execute(query)]

    def _texts(self, ids: list[str]) -> dict[tuple[str, str], str]:
        """Read words and reasons."""
        query = select(free_text.c.record_id, free_text.c.field, free_text.c.content).where(
            free_text.c.record_id.in_(ids), free_text.c.field.in_(("words", "why"))
        )
        return {(row.record_id, row.field): row.content for row in self._conn.execute(query)}

    def _proofs(self, ids: list[str]) -> dict[str, tuple[str, str]]:
        """Read the documents of lines: their refs and the hashes of their files."""
        query = (
            select(relation.c.record_id, entity.c.ref, stored_file.c.sha256)
            .join(entity, entity.c.id == relation.c.target)
            .outerjoin(stored_file, stored_file.c.record_id == entity.c.current)
            .where(relation.c.record_id.in_(ids), relation.c.field == "documents")
            .order_by(relation.c.record_id, relation.c.position)
        )
        found: dict[str, list[tuple[str, str]]] = {}
        for row in self._conn.execute(query):
            found.setdefault(row.record_id, []).append((row.ref, row.sha256 or ""))
        return {
            key: ("; ".join(ref for ref, _ in pairs), "; ".join(file for _, file in pairs))
            for key, pairs in found.items()
        }

    def _billed(self, ids: list[str]) -> dict[str, str]:
        """Read the owner's invoice that each line stands on."""
        query = (
            select(relation.c.target, entity.c.ref)
            .join(entity, entity.c.current == relation.c.record_id)
            .where(relation.c.target.in_(ids), entity.c.kind == "owner invoice")
            .where(relation.c.record_id.not_in(select(entry_reversal.c.reverses)))
        )
        return dict(self._pairs(query))

    def _shares(self, ids: list[str]) -> dict[str, str]:
        """Read the findings that lines serve, with the cost that each bears."""
        query = (
            select(share.c.record_id, entity.c.ref, share.c.cost_minor)
            .join(entity, entity.c.id == share.c.finding)
            .where(share.c.record_id.in_(ids))
            .order_by(share.c.record_id, by_bytes(entity.c.ref))
        )
        found: dict[str, list[str]] = {}
        for row in self._conn.execute(query):
            cost = Money(row.cost_minor, self._currency)
            found.setdefault(row.record_id, []).append(f"{row.ref} {cost}")
        return {key: "; ".join(parts) for key, parts in found.items()}

    def _account(self, role: str, day: str, period: str) -> tuple[str, str]:
        """Give code and name of an account as the journal of the line's period has it."""
        key = (role, day, period)
        if key not in self._accounts:
            found = self._chart.account(role, day)
            frozen = self._journal.account_in(period, role)
            self._accounts[key] = frozen or (found.code, found.name)
        return self._accounts[key]

    def _day(self, text: str | None) -> date | None:
        """Read a day; the same days come again and again."""
        if text is None:
            return None
        found = self._days.get(text)
        if found is None:
            found = self._days[text] = date.fromisoformat(text)
        return found

    def _place_on_invoice(self, row: Row[Any]) -> int | None:
        """Give a line its number among those of its supplier invoice, as they come."""
        key = invoice_key(row.supplier, row.invoice_number)
        if key is None:
            return None
        self._on_invoice[key] = self._on_invoice.get(key, 0) + 1
        return self._on_invoice[key]

    def _row(self, row: Row[Any], beside: _Beside) -> tuple[Any, ...]:
        """Give one line in the order of ``COLUMNS``."""
        texts, refs, proofs = beside.texts, beside.refs, beside.proofs
        billed, shares = beside.billed, beside.shares
        found, names, currency = row._mapping, self._names, self._currency  # noqa: SLF001 - the public name of it
        fact = line_fact(row, self._consigned)
        code, name = self._account(self._places.charged_to(fact), found["day"], found["period"])
        minor, recovered = found["cost_minor"], found["recovered"]
        cost = Money(minor, currency)
        tax = found["tax_minor"]
        net = cost if tax is None else Money(minor + recovered - tax, currency)
        gross = Money(minor + recovered, currency)
        key, first = found["record_id"], found["reverses"]
        approved = self._approved.get(found["candidate"] or "", (None, None))
        document, file = proofs.get(key, (None, None))
        bill = found["billed_minor"]
        on = self._invoices.get(fact.invoice) if fact.invoice else None
        foreign, at, source = foreign_on(found, self._shared)
        rate = found["rate_minor"] if found["rate_minor"] is not None else found["price_minor"]
        return (
            found["ref"], names.get(found["candidate"]), found["stock_no"] or THE_SHOP,
            found["chassis_stamped"], found["holding"], names.get(found["owner"]),
            self._day(found["recorded_at"][:10]), self._day(found["tax_point"]), found["period"],
            self._day(found["work_date"]), _category(found), code, name, found["purpose"],
            texts.get((first or key, "words")), found["panel"], found["operation"],
            names.get(found["person"]), _number(found["quantity_number"]), found["quantity_unit"],
            None if rate is None else Money(rate, currency), net, found["tax_code"],
            None if tax is None else Money(tax, currency), gross,
            None if tax is None else Money(recovered, currency), currency,
            at, source, cost,
            cost if minor > 0 else None, -cost if minor < 0 else None,
            names.get(found["supplier"]), found["invoice_number"],
            on or (self._day(found["tax_point"]) if found["invoice_number"] else None),
            self._place_on_invoice(row), document, file, approved[1], approved[0],
            "y" if bill else "n", billed.get(key), refs.get(first), texts.get((key, "why")),
            found["standing"], found["recorded_at"], names.get(found["author"]),
            self._batches.first(found["subject"], found["sequence"], found["period"],
                                found["stock_no"]) or self._batch,
            self._places.document(fact).name, found["kind"], found["purpose"], found["item"],
            None if bill is None else Money(bill, currency),
            foreign,
            shares.get(key), found["unlinked"], _price_is_for(found),
            refs.get(found["reversed_by"]), refs.get(found["replaces"]),
            names.get(found["order"]), refs.get(found["rework_of"]), found["rework_cause"],
            found["rework_payer"], found["loss"], found["use"], found["measure_way"],
            _uncertainty(found), names.get(found["receipt"]), names.get(found["container"]),
            names.get(found["mixed"]), found["taken"], found["started_at"], found["ended_at"],
            *(_hours(found, of) for of in _OF_HOURS),
            *self._account(self._places.paid_from(fact), found["day"], found["period"]),
            found["hash"],
        )  # fmt: skip


def _number(text: str | None) -> Decimal | None:
    """Read an exact number."""
    return None if text is None else Decimal(text)


def _category(found: Any) -> str:  # noqa: ANN401 - a row's mapping
    """Sort a line as a bookkeeper does: by what it is for, then by what it is."""
    if found["kind"] == LineKind.COUNT:
        return "adjustment"
    if found["item"] == "purchase":
        return "purchase"
    purpose = found["purpose"]
    return str(found["kind"] if purpose == Purpose.RECONDITIONING else purpose)


def _price_is_for(found: Any) -> str | None:  # noqa: ANN401 - a row's mapping
    """Say what the unit cost is for."""
    if found["price_per_number"] is not None:
        return f"{found['price_per_number']} {found['price_per_unit']}"
    return "1 h" if found["kind"] == LineKind.LABOUR else None


def _uncertainty(found: Any) -> str | None:  # noqa: ANN401 - a row's mapping
    """Write the stated uncertainty of an amount."""
    number = found["measure_uncertainty_number"]
    return None if number is None else f"{number} {found['measure_uncertainty_unit']}"


def _hours(found: Any, field: str) -> Decimal | None:  # noqa: ANN401 - a row's mapping
    """Give one kind of time in hours."""
    number = found[f"{field}_number"]
    if number is None:
        return None
    return round_to(Quantity(Decimal(number), found[f"{field}_unit"]).to("h"), 2)


def _approvals(conn: Connection) -> dict[str, tuple[str, str]]:
    """Give ref and giver of the newest approval of each piece of candidate work."""
    names = reading.refs_by_id(conn, ("person",))
    return {
        candidate: (item.ref, names.get(item.entry.by, ""))
        for item in reading.stored(conn, "approval")
        if item.entry.answer.value == "approved"
        for candidate in item.entry.candidates
    }
