"""What posting has to look up in the book: holdings, rates, findings, lines, texts."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any, cast

from sqlalchemy import Column, Connection, select

from recondition.amounts import Money
from recondition.book.kinds import KINDS
from recondition.book.settings import CurrencyFixed, Settings, StockValueFixed, settings_from
from recondition.book.standing import standing
from recondition.book.tables import (
    entity,
    finding,
    free_text,
    line,
    product,
    rate,
    record,
    setting,
    share,
    vehicle,
)
from recondition.book.tables_bench import custody_move
from recondition.book.tables_books import period_event
from recondition.book.tables_stock import (
    clock,
    late_freight,
    movement,
    stock_reversal,
    supplier_return,
)
from recondition.condition.custody import CustodyItem, CustodyMove
from recondition.condition.vehicle import Holding
from recondition.errors import Refused
from recondition.fields import Id
from recondition.ledger import chain
from recondition.ledger.booked import Booked
from recondition.ledger.clocks import Clock
from recondition.ledger.codec import decode_fields
from recondition.ledger.people import Rate
from recondition.ledger.periods import PeriodStep
from recondition.ledger.pricing import Priced
from recondition.ledger.rules import ClockRunsAlready, FindingOfAnotherVehicle
from recondition.ledger.taxes import NoTaxCode, TaxCode, in_force
from recondition.materials.products import Product

REMEMBERED_MAX = 20_000  # findings at a time, so that memory stays bounded


class NotThere(Refused):
    """A record that something names is not in the book."""

    def __init__(self, what: str, name: str) -> None:
        """Say what kind of thing is missing and how it was named."""
        super().__init__(
            f"there is no {what} {name!r} in the book",
            todo="Check the spelling, or add it first.",
        )


class Context:
    """Look-ups of one transaction, remembered until something of their kind is posted."""

    def __init__(self, conn: Connection) -> None:
        """Read through one connection."""
        self.conn = conn
        self._consigned: dict[str, bool] = {}
        self._rates: dict[str, list[Rate]] = {}
        self._products: dict[str, Product] = {}
        self._settings: Settings | None = None
        self._tax_codes: list[TaxCode] | None = None
        self._closed: set[str] | None = None
        self._people: dict[str, str] = {}
        self._vehicle_of: dict[str, str] = {}

    def forget(self, kind: str) -> None:
        """Forget what a newly posted record of a kind may have changed."""
        if kind == "vehicle":
            self._consigned.clear()
        elif kind == "rate":
            self._rates.clear()
        elif kind == "product":
            self._products.clear()
        elif kind == "setting":
            self._settings = None
        elif kind == "tax code":
            self._tax_codes = None
        elif kind == "period event":
            self._closed = None

    def settings(self) -> Settings:
        """Give the settings in force."""
        if self._settings is None:
            self._settings = settings_from(self._chosen())
        return self._settings

    def check_setting(self, name: str, value: str) -> None:
        """Refuse a setting that the book could not work with, or another home currency.

        Raises UnknownSetting, BadSetting, UnknownCurrency, CurrencyFixed, StockValueFixed.
        """
        chosen = self._chosen()
        settings = settings_from(chosen | {name: value})
        if name == "currency" and settings.currency != chosen.get(name, settings.currency):
            raise CurrencyFixed(chosen[name])
        before = settings_from(chosen).stock_value
        if settings.stock_value is not before and self._has_stock():
            raise StockValueFixed(before)

    def _has_stock(self) -> bool:
        """Tell whether anything was ever received into stock."""
        return self.conn.execute(select(movement.c.record_id).limit(1)).first() is not None

    def _chosen(self) -> dict[str, str]:
        """Read the settings that were chosen, as texts."""
        query = select(entity.c.ref, setting.c.value).join(
            setting, (setting.c.record_id == entity.c.current) & (entity.c.kind == "setting")
        )
        return {row.ref: row.value for row in self.conn.execute(query)}

    def consigned(self, vehicle_id: str | None) -> bool:
        """Tell whether a vehicle belongs to somebody else. Raises NotThere."""
        if vehicle_id is None:
            return False
        if vehicle_id not in self._consigned:
            query = (
                select(vehicle.c.holding)
                .join(entity, entity.c.current == vehicle.c.record_id)
                .where(entity.c.id == vehicle_id)
            )
            holding = self.conn.execute(query).scalar()
            if holding is None:
                raise NotThere(what="vehicle", name=vehicle_id)
            self._consigned[vehicle_id] = holding == Holding.CONSIGNED
        return self._consigned[vehicle_id]

    def rate(self, person: str, day: date) -> Rate | None:
        """Give the rate of a person that holds on a day, None where there is none."""
        if person not in self._rates:
            query = (
                select(rate)
                .join(entity, entity.c.current == rate.c.record_id)
                .join(record, record.c.id == rate.c.record_id)
                .where(rate.c.person == person, entity.c.kind == "rate")
                .order_by(rate.c.from_date, record.c.sequence)
            )
            self._rates[person] = [self._rate(row) for row in self.conn.execute(query)]
        holding = [r for r in self._rates[person] if r.from_date <= day]
        return holding[-1] if holding else None

    def _rate(self, row: Any) -> Rate:  # noqa: ANN401 - a row of the table
        """Read one rate."""
        currency = self.settings().currency
        charge = row.charge_out_rate_minor
        return Rate(
            person=Id(row.person),
            from_date=date.fromisoformat(row.from_date),
            cost_rate=Money(row.cost_rate_minor, currency),
            charge_out_rate=None if charge is None else Money(charge, currency),
        )

    def from_day(self, key: Column[Any], value: str, first: Column[Any], day: date) -> set[str]:
        """Give the refs of the rows of a dated table that hold for a key from this very day."""
        query = (
            select(entity.c.ref)
            .join(key.table, key.table.c.record_id == entity.c.current)
            .where(key == value, first == day.isoformat())
        )
        return set(self.conn.execute(query).scalars())

    def entry(self, kind: str, entity_id: str) -> Any:  # noqa: ANN401 - any entry class
        """Give a record's entry as it stands, with its texts. Raises NotThere."""
        query = (
            select(record.c.id, record.c.canonical)
            .join(entity, entity.c.current == record.c.id)
            .where(entity.c.id == entity_id, entity.c.kind == kind)
        )
        row = self.conn.execute(query).first()
        if row is None:
            raise NotThere(what=kind, name=entity_id)
        words = {f: w for f, w in self.texts([row.id]).get(row.id, {}).items() if f != "ref"}
        return decode_fields(KINDS[kind].entry, chain.read(row.canonical)["entry"], words)

    def product(self, product_id: str) -> Product:
        """Give a product as it stands. Raises NotThere."""
        if product_id not in self._products:
            self._products[product_id] = self.entry("product", product_id)
        return self._products[product_id]

    def tax_code(self, code: str | None, day: date) -> TaxCode:
        """Give a tax code as it holds on a day. Raises NoTaxCode."""
        found = in_force(self._codes(), code or "", day)
        if found is None:
            raise NoTaxCode(code or "", day.isoformat())
        return found

    def charged_codes(self, day: date) -> list[TaxCode]:
        """Give the codes that are charged on owners' invoices on a day."""
        names = sorted({code.code for code in self._codes()})
        holding = [in_force(self._codes(), name, day) for name in names]
        return [code for code in holding if code is not None and code.charged_on]

    def _codes(self) -> list[TaxCode]:
        """Read the tax codes once."""
        if self._tax_codes is None:
            query = select(entity.c.id).where(entity.c.kind == "tax code")
            ids = self.conn.execute(query).scalars().all()
            self._tax_codes = [self.entry("tax code", each) for each in ids]
        return self._tax_codes

    def closed_periods(self) -> set[str]:
        """Give the posting periods that are closed."""
        if self._closed is None:
            query = (
                select(period_event.c.period, period_event.c.step)
                .join(record, record.c.id == period_event.c.record_id)
                .order_by(record.c.sequence)
            )
            last = {row.period: row.step for row in self.conn.execute(query)}
            self._closed = {period for period, step in last.items() if step == PeriodStep.CLOSED}
        return self._closed

    def booked(self, record_id: str) -> Booked | None:
        """Give what was worked out when a record was booked; None where nothing was."""
        payload = self.line_if_there(record_id)
        kept = payload["priced"] if payload is not None else None
        return decode_fields(Booked, kept, {}) if kept else None

    def found_on(self, finding_id: str) -> date | None:
        """Give the day on which a finding was made, None where it is not in the book."""
        query = (
            select(finding.c.found_on)
            .join(entity, entity.c.current == finding.c.record_id)
            .where(entity.c.id == finding_id)
        )
        day = self.conn.execute(query).scalar()
        return None if day is None else date.fromisoformat(day)

    def check_findings(self, entry: Any) -> None:  # noqa: ANN401 - any entry class
        """Refuse an entry that names findings of another vehicle.

        A kept file of the shop's own may name any. Raises FindingOfAnotherVehicle.
        """
        named = [link.finding for link in getattr(entry, "links", ())]
        if getattr(entry, "vehicle", None) is not None:
            named += [*getattr(entry, "findings", ()), getattr(entry, "finding", None)]
        for each in filter(None, named):
            if self._found_on_vehicle(each) != entry.vehicle:
                raise FindingOfAnotherVehicle(self.ref(each))

    def _found_on_vehicle(self, finding_id: str) -> str | None:
        """Give the vehicle of a finding, which never changes; None where it is not there."""
        if finding_id not in self._vehicle_of:
            query = select(finding.c.vehicle).where(finding.c.record_id == finding_id)
            if (found := self.conn.execute(query).scalar()) is None:
                return None
            if len(self._vehicle_of) >= REMEMBERED_MAX:
                self._vehicle_of.clear()
            self._vehicle_of[finding_id] = found
        return self._vehicle_of[finding_id]

    def worked_on(self, finding_id: str, day: date) -> bool:
        """Tell whether a posted line up to a day serves a finding and was not taken back."""
        query = (
            select(share.c.record_id)
            .join(line, line.c.record_id == share.c.record_id)
            .where(
                share.c.finding == finding_id,
                line.c.work_date <= day.isoformat(),
                standing(),
            )
            .limit(1)
        )
        return self.conn.execute(query).first() is not None

    def custody(self, item_id: str) -> tuple[str, CustodyItem, list[CustodyMove]]:
        """Give a thing in custody: its ref, itself, and its movements so far in their order."""
        query = (
            select(entity.c.id)
            .join(custody_move, custody_move.c.record_id == entity.c.current)
            .join(record, record.c.id == entity.c.id)
            .where(custody_move.c.item == item_id, entity.c.kind == "custody move")
            .order_by(record.c.sequence)
        )
        moves = [self.entry("custody move", found) for found in self.conn.execute(query).scalars()]
        return self.ref(item_id), self.entry("custody item", item_id), moves

    def line_if_there(self, line_id: str) -> dict[str, Any] | None:
        """Give a posted line's payload, None where it is not posted yet."""
        query = select(record.c.canonical).where(record.c.id == line_id)
        text = self.conn.execute(query).scalar()
        return None if text is None else chain.read(text)

    def stock_unit(self, product_ref: str) -> str | None:
        """Give the unit of a product that was ever in stock, by its ref; None of any other."""
        query = (
            select(product.c.unit)
            .join(entity, entity.c.current == product.c.record_id)
            .join(movement, movement.c.product == entity.c.id)
            .where(entity.c.kind == "product", entity.c.ref == product_ref)
            .limit(1)
        )
        return self.conn.execute(query).scalar()

    def stock_reversed(self, record_id: str) -> bool:
        """Tell whether a receipt, late freight or return was taken back."""
        query = select(stock_reversal.c.record_id).where(stock_reversal.c.reverses == record_id)
        return self.conn.execute(query).first() is not None

    def moved_on(self, record_id: str) -> date:
        """Give the day on which a record moved stock. Raises NotThere."""
        query = select(movement.c.moved_on).where(movement.c.source == record_id)
        day = self.conn.execute(query).scalar()
        if day is None:
            raise NotThere(what="movement of stock by", name=self.ref(record_id))
        return date.fromisoformat(day)

    def standing_on_receipt(self, receipt_id: str) -> list[str]:
        """List late freight and returns on a receipt that were not taken back."""
        found: list[str] = []
        for table in (late_freight, supplier_return):
            query = select(table.c.record_id).where(
                table.c.receipt == receipt_id,
                table.c.record_id.not_in(select(stock_reversal.c.reverses)),
            )
            found += self.conn.execute(query).scalars()
        return found

    def check_clock(self, ref: str, entry: Clock) -> None:
        """Refuse a second open clock of one person. Raises ClockRunsAlready."""
        if entry.stopped:
            return
        query = (
            select(entity.c.ref)
            .join(clock, clock.c.record_id == entity.c.current)
            .where(entity.c.kind == "clock", clock.c.person == entry.person)
            .where(clock.c.stopped.is_not(True))
        )
        others = [other for other in self.conn.execute(query).scalars() if other != ref]
        if others:
            raise ClockRunsAlready(self.ref(entry.person), others[0])

    def line(self, line_id: str) -> tuple[dict[str, Any], str | None]:
        """Give a posted line's payload and the id of the line that reversed it, if any."""
        query = (
            select(record.c.canonical)
            .join(line, line.c.record_id == record.c.id)
            .where(record.c.id == line_id)
        )
        text = self.conn.execute(query).scalar()
        if text is None:
            raise NotThere(what="line", name=line_id)
        by = self.conn.execute(select(line.c.record_id).where(line.c.reverses == line_id)).scalar()
        return chain.read(text), by

    def priced(self, payload: dict[str, Any]) -> Priced:
        """Read a posted line's money."""
        return decode_fields(Priced, payload["priced"], {})

    def ref(self, entity_id: str) -> str:
        """Give the user's name for a record, or its id where there is none."""
        query = select(entity.c.ref).where(entity.c.id == entity_id)
        return self.conn.execute(query).scalar() or entity_id

    def person(self, person_id: str) -> str:
        """Give the user's name for a person, looked up once."""
        if person_id not in self._people:
            self._people[person_id] = self.ref(person_id)
        return self._people[person_id]

    def texts(self, records: Sequence[str]) -> dict[str, dict[str, str]]:
        """Give the free texts of records by field."""
        found: dict[str, dict[str, str]] = {}
        query = select(free_text).where(free_text.c.record_id.in_(records))
        for row in self.conn.execute(query):
            found.setdefault(row.record_id, {})[row.field] = row.content
        return found

    def commitments(self, documents: Sequence[str]) -> tuple[str, ...]:
        """Give the commitments of the files of some documents, in their order."""
        if not documents:
            return ()
        query = (
            select(entity.c.id, record.c.canonical)
            .join(record, record.c.id == entity.c.current)
            .where(entity.c.id.in_(documents))
        )
        by_id = {row.id: chain.read(row.canonical) for row in self.conn.execute(query)}
        absent = [name for name in documents if name not in by_id]
        if absent:
            raise NotThere(what="document", name=absent[0])
        return tuple(
            cast("str", by_id[name]["texts"]["file"])
            for name in documents
            if "file" in by_id[name]["texts"]
        )
