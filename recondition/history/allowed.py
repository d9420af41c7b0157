"""What consents let show: hours, people, firms, product names, each its own switch."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from recondition.history.public import by_consent
from recondition.history.records import Shows

if TYPE_CHECKING:
    from recondition.history.source import Source
    from recondition.ledger.drafts import Stored


class Allowed:
    """The consents in force for one sheet, asked one thing at a time."""

    def __init__(self, source: Source) -> None:
        """Take the consents of a source."""
        self._source = source
        given = [consent.entry for consent in source.consents]
        self.hours = any(each.shows is Shows.HOURS for each in given)
        self.products = any(each.shows is Shows.PRODUCTS for each in given)
        self._people = {each.person for each in given if each.shows is Shows.PERSON}
        self._firms = {each.supplier for each in given if each.shows is Shows.FIRM}

    def person(self, person_id: str | None) -> str | None:
        """Give a person's name where that person agreed to be named."""
        known = self._source.people.get(person_id or "")
        if known is None or person_id not in self._people:
            return None
        return by_consent(Shows.PERSON, "person", known.entry)["name"] or None

    def firm(self, supplier_id: str | None) -> str | None:
        """Give a firm's name where that firm agreed to be named."""
        known = self._source.suppliers.get(supplier_id or "")
        if known is None or supplier_id not in self._firms:
            return None
        return by_consent(Shows.FIRM, "supplier", known.entry)["name"] or None

    def product(self, line: Stored[object]) -> tuple[str | None, str | None]:
        """Give the product of a consumable and its batch by name, where that was agreed."""
        entry = line.entry
        product = self._source.products.get(getattr(entry, "product", ""))
        if not self.products or product is None:
            return None, None
        name = by_consent(Shows.PRODUCTS, "product", product.entry)["name"]
        receipt = self._source.receipts.get(getattr(entry, "receipt", None) or "")
        if receipt is None:
            return name, None
        return name, by_consent(Shows.PRODUCTS, "receipt", receipt.entry)["batch_number"]

    def instrument(self, instrument_id: str | None) -> str | None:
        """Give what a gauge is called, where product names may be shown."""
        known = self._source.instruments.get(instrument_id or "")
        if known is None or not self.products:
            return None
        return str(by_consent(Shows.PRODUCTS, "instrument", known.entry)["name"])

    def names(self) -> Iterable[str]:
        """List every name that may be shown."""
        source = self._source
        found = [self.person(each) for each in source.people]
        found += [self.firm(each) for each in source.suppliers]
        if self.products:
            found += [each.entry.name for each in source.products.values()]
            found += [each.entry.name for each in source.instruments.values()]
        return [name for name in found if name]
