"""Where postings gather until a period is made up: by day and document, legs merged."""

from __future__ import annotations

from typing import TYPE_CHECKING

from recondition.accounts import chart

if TYPE_CHECKING:
    from collections.abc import Iterable

    from recondition.accounts.places import Document

Leg = tuple[str, str | None, int]
"""Role, vehicle (its stock number) and amount in minor units, above zero a debit."""

WITHOUT_VEHICLE = frozenset({
    chart.STOCK, chart.INPUT_TAX, chart.BANK, chart.TO_ALLOCATE, chart.PAYABLE,
    chart.PAYABLE_SELLER, chart.ACCRUED, chart.OUTPUT_TAX, chart.OPENING, chart.LABOUR_ABSORBED,
    chart.COUNT_DIFFERENCE, chart.PRICE_DIFFERENCE, chart.ROUNDING, chart.OVERHEAD,
})  # fmt: skip
"""Accounts that are kept for the shop and not by vehicle."""


class Sheet:
    """Postings of one period by day and document; the legs of one account are one leg."""

    def __init__(self) -> None:
        """Begin with nothing."""
        self.posted: dict[tuple[str, Document], dict[tuple[str, str | None], int]] = {}
        self.memos: dict[tuple[str, Document], str] = {}
        self.parts: dict[tuple[str, Document], tuple[tuple[str, int], ...]] = {}

    def post(
        self, day: str, document: Document, legs: Iterable[Leg], memo: str | None = None
    ) -> None:
        """Add balanced legs. Raises ValueError for legs that do not balance."""
        kept = [leg for leg in legs if leg[2]]
        if sum(amount for _, _, amount in kept):
            message = f"{document.name} of {day} does not balance"
            raise ValueError(message)
        if not kept:
            return
        found = self.posted.setdefault((day, document), {})
        for role, vehicle, amount in kept:
            key = (role, None if role in WITHOUT_VEHICLE else vehicle)
            found[key] = found.get(key, 0) + amount
        if memo is not None:
            self.memos[day, document] = memo
