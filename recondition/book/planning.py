"""What a plan needs from the book besides the work itself: the shop, what was used, the owner."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from fractions import Fraction
from typing import Any

from sqlalchemy import Connection

from recondition.amounts import Money
from recondition.amounts.exact import as_fraction
from recondition.book import reading
from recondition.book.owed import job_of
from recondition.book.settings import Settings
from recondition.condition.vehicle import Holding, Vehicle
from recondition.ledger.approvals import Answer
from recondition.ledger.drafts import Stored
from recondition.ledger.lines import Labour, Reversal
from recondition.worth.owner import answers, running
from recondition.worth.question import Used
from recondition.worth.shop import Hand, Shop


def shop_of(conn: Connection, settings: Settings) -> Shop:
    """Give the shop with the people whose hours a day are stated."""
    people = reading.stored(conn, "person")
    hands = tuple(
        Hand(
            name=person.ref,
            skills=frozenset(person.entry.skills),
            hours_a_day=Fraction(person.entry.hours_a_day),
        )
        for person in sorted(people, key=lambda each: each.ref)
        if person.entry.hours_a_day
    )
    return replace(settings.shop, hands=hands)


def used_of(lines: Iterable[Stored[Any]], holding: Holding) -> dict[str, Used]:
    """Give what standing lines took of each piece of candidate work: hours, and other money."""
    among = list(lines)
    taken_back = {line.reverses for line in among if line.reverses}
    used: dict[str, Used] = {}
    for line in among:
        entry = line.entry
        if isinstance(entry, Reversal) or line.id in taken_back or not entry.candidate:
            continue
        was = used.get(entry.candidate, Used(Fraction(0), Fraction(0)))
        if isinstance(entry, Labour):
            hours = was.hours + as_fraction(entry.quantity.to("h"))
            used[entry.candidate] = Used(hours, was.cash)
        elif line.priced is not None:
            owned = holding is Holding.CONSIGNED
            money = line.priced.billed if owned else line.priced.cost
            cash = was.cash + (money.fraction if money is not None else 0)
            used[entry.candidate] = Used(was.hours, cash)
    return used


def owner_facts(
    conn: Connection, vehicle: Stored[Vehicle], refs: Mapping[str, str]
) -> dict[str, Any]:
    """Give what an owner has allowed and what is billed, as fields of a question."""
    if vehicle.entry.holding is not Holding.CONSIGNED:
        return {}
    job = job_of(conn, vehicle.id)
    found = running(job)
    said = answers(job.approvals)
    unapproved: dict[str, str] = {}
    for item in refs if said else ():
        answer = said.get(item)
        if answer is Answer.DECLINED:
            unapproved[item] = "the owner declined it"
        elif answer is not Answer.APPROVED:
            unapproved[item] = "the owner has not approved it"
    billed: Money = found.billed + found.committed
    approved = frozenset(item for item in refs if said.get(item) is Answer.APPROVED)
    return {
        "unapproved": unapproved, "approved": approved, "already_billed": billed,
        "authority": found.limit,
    }  # fmt: skip
