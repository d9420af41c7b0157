"""What posting has to look up in the book: holdings, rates, findings, lines, texts."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any, cast

from sqlalchemy import Connection, select

from recondition.amounts import Money
from recondition.book.settings import CurrencyFixed, Settings, settings_from
from recondition.book.tables import (
    entity,
    finding,
    free_text,
    line,
    product,
    rate,
    record,
    setting,
    vehicle,
)
from recondition.condition.vehicle import Holding
from recondition.errors import Refused
from recondition.fields import Id
from recondition.ledger import chain
from recondition.ledger.codec import decode_fields
from recondition.ledger.people import Rate
from recondition.ledger.pricing import Priced
from recondition.ledger.rules import FindingOfAnotherVehicle


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
        self._conn = conn
        self._consigned: dict[str, bool] = {}
        self._rates: dict[str, list[Rate]] = {}
        self._settings: Settings | None = None

    def forget(self, kind: str) -> None:
        """Forget what a newly posted record of a kind may have changed."""
        if kind == "vehicle":
            self._consigned.clear()
        elif kind == "rate":
            self._rates.clear()
        elif kind == "setting":
            self._settings = None

    def settings(self) -> Settings:
        """Give the settings in force."""
        if self._settings is None:
            self._settings = settings_from(self._chosen())
        return self._settings

    def check_setting(self, name: str, value: str) -> None:
        """Refuse a setting that the book could not work with, or another home currency.

        Raises UnknownSetting, BadSetting, UnknownCurrency, CurrencyFixed.
        """
        chosen = self._chosen()
        settings = settings_from(chosen | {name: value})
        if name == "currency" and settings.currency != chosen.get(name, settings.currency):
            raise CurrencyFixed(chosen[name])

    def _chosen(self) -> dict[str, str]:
        """Read the settings that were chosen, as texts."""
        query = select(entity.c.ref, setting.c.value).join(
            setting, setting.c.record_id == entity.c.current
        )
        return {row.ref: row.value for row in self._conn.execute(query)}

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
            holding = self._conn.execute(query).scalar()
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
                .where(rate.c.person == person)
                .order_by(rate.c.from_date, record.c.sequence)
            )
            self._rates[person] = [self._rate(row) for row in self._conn.execute(query)]
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

    def rate_days(self, person: str) -> list[tuple[str, date]]:
        """List the refs of a person's rates with the day from which each holds."""
        query = (
            select(entity.c.ref, rate.c.from_date)
            .join(rate, rate.c.record_id == entity.c.current)
            .where(rate.c.person == person)
        )
        return [(row.ref, date.fromisoformat(row.from_date)) for row in self._conn.execute(query)]

    def product(self, product_id: str) -> tuple[str, str]:
        """Give the name and the stock unit of a product. Raises NotThere."""
        query = (
            select(product.c.name, product.c.unit)
            .join(entity, entity.c.current == product.c.record_id)
            .where(entity.c.id == product_id)
        )
        row = self._conn.execute(query).first()
        if row is None:
            raise NotThere(what="product", name=product_id)
        return row.name, row.unit

    def found_on(self, finding_id: str) -> date | None:
        """Give the day on which a finding was made, None where it is not in the book."""
        query = (
            select(finding.c.found_on)
            .join(entity, entity.c.current == finding.c.record_id)
            .where(entity.c.id == finding_id)
        )
        day = self._conn.execute(query).scalar()
        return None if day is None else date.fromisoformat(day)

    def check_findings(self, entry: Any) -> None:  # noqa: ANN401 - any entry class
        """Refuse an entry that names findings of another vehicle.

        A kept file of the shop's own may name any. Raises FindingOfAnotherVehicle.
        """
        named = [link.finding for link in getattr(entry, "links", ())]
        if getattr(entry, "vehicle", None) is not None:
            named += [*getattr(entry, "findings", ()), getattr(entry, "finding", None)]
        for each in filter(None, named):
            query = select(finding.c.vehicle).where(finding.c.record_id == each)
            if self._conn.execute(query).scalar() != entry.vehicle:
                raise FindingOfAnotherVehicle(self.ref(each))

    def line(self, line_id: str) -> tuple[dict[str, Any], str | None]:
        """Give a posted line's payload and the id of the line that reversed it, if any."""
        query = (
            select(record.c.canonical)
            .join(line, line.c.record_id == record.c.id)
            .where(record.c.id == line_id)
        )
        text = self._conn.execute(query).scalar()
        if text is None:
            raise NotThere(what="line", name=line_id)
        by = self._conn.execute(select(line.c.record_id).where(line.c.reverses == line_id)).scalar()
        return chain.read(text), by

    def priced(self, payload: dict[str, Any]) -> Priced:
        """Read a posted line's money."""
        return decode_fields(Priced, payload["priced"], {})

    def ref(self, entity_id: str) -> str:
        """Give the user's name for a record, or its id where there is none."""
        query = select(entity.c.ref).where(entity.c.id == entity_id)
        return self._conn.execute(query).scalar() or entity_id

    def texts(self, records: Sequence[str]) -> dict[str, dict[str, str]]:
        """Give the free texts of records by field."""
        found: dict[str, dict[str, str]] = {}
        query = select(free_text).where(free_text.c.record_id.in_(records))
        for row in self._conn.execute(query):
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
        by_id = {row.id: chain.read(row.canonical) for row in self._conn.execute(query)}
        absent = [name for name in documents if name not in by_id]
        if absent:
            raise NotThere(what="document", name=absent[0])
        return tuple(
            cast("str", by_id[name]["texts"]["file"])
            for name in documents
            if "file" in by_id[name]["texts"]
        )
