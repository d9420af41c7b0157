"""Whatever is booked, the journal balances, cars tie to their lines and stock to its movements."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

import pytest
from hypothesis import given

from recondition.accounts import chart
from recondition.accounts.chart import DEFAULT, Chart, MappedAccount
from recondition.accounts.journal import Journal
from recondition.accounts.places import Document
from recondition.accounts.sheet import Sheet
from recondition.book.accounting import thawed
from recondition.book.closing import frozen
from tests.strategies_books import NAMES, OWN, PERIODS, ledgers

if TYPE_CHECKING:
    from recondition.accounts.facts import Facts
    from recondition.accounts.journal import Entry

SOLD = (chart.COST_VEHICLE, chart.COST_RECONDITIONING, chart.AFTER_SALE)


def entries(facts: Facts, frozen_ones: dict[str, tuple[Entry, ...]] | None = None) -> list[Entry]:
    return list(Journal(facts, Chart(), frozen_ones).entries())


def standing(found: list[Entry]) -> dict[tuple[str | None, str], int]:
    sums: dict[tuple[str | None, str], int] = defaultdict(int)
    for entry in found:
        for leg in entry.legs:
            sums[leg.vehicle, leg.role] += leg.amount
    return sums


@given(ledgers())
def test_every_entry_balances_and_has_one_leg_an_account(facts: Facts) -> None:
    found = entries(facts)
    for entry in found:
        assert sum(leg.amount for leg in entry.legs) == 0
        assert entry.debits > 0
        keys = [(leg.role, leg.vehicle) for leg in entry.legs]
        assert len(set(keys)) == len(keys)
        assert all(leg.amount for leg in entry.legs)
    documents = [(entry.period, entry.day, entry.document) for entry in found]
    assert len(set(documents)) == len(documents)
    numbers = [entry.number for entry in found]
    assert numbers == sorted(numbers)


@given(ledgers())
def test_each_own_car_stands_at_its_lines_less_what_was_sold(facts: Facts) -> None:
    sums = standing(entries(facts))
    for vehicle in OWN:
        name = NAMES[vehicle]
        cost = sum(
            line.cost for line in facts.lines
            if line.vehicle == vehicle and line.purpose in ("landed", "reconditioning")
        )  # fmt: skip
        tested = sum(fact.change for fact in facts.values if fact.vehicle == vehicle)
        here = sum(amount for (whose, role), amount in sums.items()
                   if whose == name and role.startswith(chart.INVENTORY))  # fmt: skip
        gone = sum(sums[name, role] for role in SOLD)
        # An accrual of the last month is taken back in the next, so all of them net to nothing.
        assert here + gone == cost + tested


@given(ledgers())
def test_a_sold_car_leaves_nothing_in_inventory(facts: Facts) -> None:
    found = entries(facts)
    for sale in facts.sales:
        if sale.consigned or sale.result != "sold" or sale.undone is not None:
            continue
        sums = standing([entry for entry in found if entry.period <= sale.period])
        name = NAMES[sale.vehicle]
        here = sum(amount for (whose, role), amount in sums.items()
                   if whose == name and role.startswith(chart.INVENTORY))  # fmt: skip
        assert here == 0


@given(ledgers())
def test_stock_by_the_journal_is_what_was_received_less_what_was_used(facts: Facts) -> None:
    sums = standing(entries(facts))
    used = sum(line.cost for line in facts.lines if line.from_stock)
    came = sum(fact.owed - fact.difference for fact in facts.stock)
    assert sums[None, chart.STOCK] == came - used
    assert sums[None, chart.PRICE_DIFFERENCE] == sum(fact.difference for fact in facts.stock)


@given(ledgers())
def test_a_closed_month_stays_as_it_was_and_later_ones_follow_from_it(facts: Facts) -> None:
    first = entries(facts)
    kept = {
        period: thawed(period, frozen([e for e in first if e.period == period]))
        for period in PERIODS[:2]
    }
    assert [e for e in entries(replace(facts), kept) if e.period in kept] == [
        e for e in first if e.period in kept
    ]
    assert entries(facts, kept) == first


def test_what_does_not_balance_is_never_posted() -> None:
    with pytest.raises(ValueError, match="does not balance"):
        Sheet().post("2031-03-01", Document(1, "sale"), [(chart.BANK, None, 1)])


def test_the_account_map_holds_from_its_day_and_has_a_version() -> None:
    row = MappedAccount(role=chart.BANK, from_date=date(2031, 4, 1), code="8", name="House bank")
    mapped = Chart([row])
    assert mapped.account(chart.BANK, "2031-03-31") == DEFAULT[chart.BANK]
    assert mapped.account(chart.BANK, "2031-04-01").name == "House bank"
    assert mapped.version("2031-03-31") == Chart().version("2031-04-01")
    assert mapped.version("2031-04-01") != Chart().version("2031-04-01")
    codes = [account.code for account in DEFAULT.values()]
    assert len(set(codes)) == len(codes)
