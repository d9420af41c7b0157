"""Reversals on both engines: exact negatives, once each, and shares that always add up."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from typing import TYPE_CHECKING

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from recondition.amounts import Money
from recondition.book import reading
from recondition.book.check import check
from recondition.book.context import NotThere
from recondition.book.kinds import LINE_KINDS
from recondition.book.reversing import NotADay, WhyNeeded, reverse_line
from recondition.fields import Words
from recondition.ledger.lines import Link, Reversal
from recondition.ledger.rules import AlreadyReversed, ReversalOfReversal, StaysWithItsVehicle
from tests.book.make import (
    DAY,
    Shop,
    add,
    charge,
    counted,
    finding,
    labour,
    one,
    refused,
    shop,
    usd,
)
from tests.places import copied_book, opened

if TYPE_CHECKING:
    from pathlib import Path

    from recondition.book.engine import Book


def test_a_reversal_is_the_exact_negative_share_by_share(book: Book) -> None:
    made = shop(book)
    third = add(book, "finding", "F-4", finding(made.consigned))
    weights = (Link(made.consigned_finding, Decimal(2)), Link(third, Decimal(1)))
    entry = charge(made.consigned, "-10.01", links=weights, billed=usd("20.02"))
    add(book, "charge", "L-1", entry)
    ref = reverse_line(book, "L-1", "wrong car", author_ref="HK", day="2031-03-05", period=None)
    line, back = one(book, "charge", "L-1"), one(book, "reversal", ref)
    assert (line.reversed_by, back.reverses) == (back.id, line.id)
    assert (back.priced.cost, back.priced.billed) == (-line.priced.cost, usd("-20.02"))
    pairs = zip(line.priced.shares, back.priced.shares, strict=True)
    assert all((a.finding, -a.cost, -a.billed) == (b.finding, b.cost, b.billed) for a, b in pairs)
    assert [share.cost.minor for share in sorted(line.priced.shares, key=lambda s: s.weight)] == [
        -334, -667
    ]  # fmt: skip
    assert check(book).damages == []


def test_a_line_stands_until_it_is_taken_back_and_what_takes_back_never_does(book: Book) -> None:
    made = shop(book)
    for ref in ("L-1", "L-2", "L-10"):
        add(book, "charge", ref, charge(made.own))
    add(book, "charge", "L-3", charge(made.consigned))
    reverse_line(book, "L-2", "wrong car", author_ref="HK", day="2031-03-05", period=None)
    with book.reading() as conn:
        assert reading.standing_refs(conn, made.own) == ["L-1", "L-10"]
        assert reading.standing_refs(conn, made.consigned) == ["L-3"]


def test_a_line_is_reversed_once_and_a_reversal_never(book: Book) -> None:
    made = shop(book)
    line_id = add(book, "charge", "L-1", charge(made.own))
    reversal = Reversal(vehicle=made.own, reverses=line_id, work_date=DAY, why=Words("twice"))
    back = add(book, "reversal", "V-1", reversal)
    said = str(refused(book, AlreadyReversed, "reversal", reversal, ref="V-2"))
    assert ("L-1" in said, "V-1" in said) == (True, True)
    again = replace(reversal, reverses=back)
    assert "V-1" in str(refused(book, ReversalOfReversal, "reversal", again, ref="V-2"))
    elsewhere = replace(reversal, vehicle=made.consigned)
    assert "L-1" in str(refused(book, StaysWithItsVehicle, "reversal", elsewhere, ref="V-2"))
    nothing = replace(reversal, reverses=made.own)
    refused(book, NotThere, "reversal", nothing, ref="V-2")


def test_reversing_by_name_says_what_it_lacks(small: Book) -> None:
    made = shop(small)
    add(small, "charge", "L-1", charge(made.own))
    for refusal, given_ref, why, who, day in (
        (WhyNeeded, "L-1", " ", "HK", None),
        (NotADay, "L-1", "why", "HK", "5 March"),
        (NotThere, "L-9", "why", "HK", None),
        (reading.UnknownAuthor, "L-1", "why", "ZZ", None),
    ):
        with pytest.raises(refusal):
            reverse_line(small, given_ref, why, author_ref=who, day=day, period=None)
    add(small, "labour", "L-1", labour(made.own, made.person, "1"))
    with pytest.raises(reading.SeveralLines, match="charge, labour"):
        reverse_line(small, "L-1", "why", author_ref="HK", day=None, period=None)
    ref = reverse_line(small, "labour:L-1", "why", author_ref="HK", day=None, period="2031-04")
    assert one(small, "reversal", ref).priced.cost == usd("-38.75")


@pytest.fixture(scope="module")
def lines_shop(empty_file: Path, tmp_path_factory: pytest.TempPathFactory) -> tuple[Book, Shop]:
    """Give one book that many drawn lines are posted to."""
    book = opened(copied_book(empty_file, tmp_path_factory.mktemp("lines") / "lines.sqlite"))
    return book, shop(book)


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    st.lists(
        st.tuples(
            st.integers(-(10**9), 10**9),
            st.integers(0, 10**9),
            st.tuples(st.integers(0, 99), st.integers(1, 99)),
        ),
        min_size=1,
        max_size=4,
    )
)
def test_shares_and_reversals_add_up_whatever_is_posted(
    lines_shop: tuple[Book, Shop], drawn: list[tuple[int, int, tuple[int, int]]]
) -> None:
    book, made = lines_shop
    other = add(book, "finding", f"F-{counted(book)}", finding(made.consigned))
    posted = []
    for cost, billed, (first, second) in drawn:
        weights = (Link(made.consigned_finding, Decimal(first)), Link(other, Decimal(second)))
        entry = charge(made.consigned, links=weights, billed=Money(billed, "USD"))
        entry = replace(entry, price=Money(cost, "USD"))
        ref = f"L-{counted(book)}"
        posted.append(add(book, "charge", ref, entry))
        reverse_line(book, ref, "drawn", author_ref="HK", day="2031-03-05", period=None)
    with book.reading() as conn:
        lines = {line.id: line for line in reading.stored(conn, *LINE_KINDS)}
    for line_id in posted:
        line = lines[line_id]
        assert sum(share.cost.minor for share in line.priced.shares) == line.priced.cost.minor
        assert sum(share.billed.minor for share in line.priced.shares) == line.priced.billed.minor
        assert lines[line.reversed_by].priced.cost == -line.priced.cost
    assert check(book).damages == []
