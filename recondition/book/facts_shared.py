"""What the document of a shared charge said in foreign money, for each line that is a share.

The shares are posted in home money alone. Of the foreign amount each bears what its home amount
is of the whole; the odd minor units go by largest remainder, so the shares add up to the document.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any

from sqlalchemy import Connection, select

from recondition.amounts import Money
from recondition.amounts.documents import Foreign
from recondition.amounts.sharing import share_out
from recondition.book import reading
from recondition.book.tables import entity, line


@dataclass(frozen=True, slots=True)
class Share:
    """One line's share of a foreign amount, the whole amount, and its shared charge's ref."""

    share: Foreign
    whole: Money
    shared: str


def foreign_shares(conn: Connection) -> dict[str, Share]:
    """Give the share of each line that is a share of foreign money, by the line's id."""
    cars, found = reading.refs_by_id(conn, ("vehicle",)), dict[str, Share]()
    query = select(entity.c.ref, line.c.record_id, line.c.price_minor).join(
        line, line.c.record_id == entity.c.id
    )
    for item in reading.stored(conn, "shared charge"):
        foreign = item.entry.foreign
        if foreign is None:
            continue
        refs = [f"{item.ref}/{cars[car]}" for car in item.entry.vehicles]
        named = query.where(entity.c.kind == "charge", entity.c.ref.in_(refs))
        lines = {row.ref: (row.record_id, row.price_minor) for row in conn.execute(named)}
        prices = [(ref, abs(price)) for ref, (_, price) in lines.items()]
        if not any(price for _, price in prices):
            continue
        for ref, minor in share_out(foreign.amount.minor, prices).items():
            own = replace(foreign, amount=Money(minor, foreign.amount.currency))
            found[lines[ref][0]] = Share(own, foreign.amount, item.ref)
    return found


def foreign_on(
    row: Any,  # noqa: ANN401 - a row's mapping
    shares: Mapping[str, Share],
) -> tuple[str | None, Decimal | None, str | None]:
    """Give the foreign amount of a row of lines as text, its rate and whose rate it is.

    ``row`` has the columns of the table of lines; what takes a line back has it below zero.
    """
    if row["foreign_amount_minor"] is not None:
        amount = Money(row["foreign_amount_minor"], row["foreign_amount_currency"])
        return amount.text, Decimal(row["foreign_rate"]), row["foreign_source"]
    found = shares.get(row["reverses"] or row["record_id"])
    if found is None:
        return None, None, None
    amount = -found.share.amount if row["reverses"] else found.share.amount
    return amount.text, found.share.rate, found.share.source
