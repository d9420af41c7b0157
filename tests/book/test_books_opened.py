"""What totals of the books open up to: each total is the sum of the lines behind it."""

from __future__ import annotations

import random
from collections import Counter
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING, Any

import pytest

from recondition.accounts.hours import PaidHours, monday_of
from recondition.amounts import Quantity
from recondition.book import admission, reading
from recondition.book.context import NotThere
from recondition.book.posting import Poster
from recondition.book.reversing import reverse_line
from recondition.book.sums import hours_of, lines_with_tax, tax_by_code
from recondition.fields import Words
from recondition.ledger.lines import Cause, Labour, Payer, Rework, Unlinked
from recondition.ledger.rollup import entered_of
from recondition.ledger.rules import SecondFromOneDay
from recondition.ledger.taxes import TaxCode
from recondition.reports.books_hours import hours, of_week
from recondition.reports.books_tax import of_code
from tests.book import make

if TYPE_CHECKING:
    from recondition.book.engine import Book

MONDAY = date(2031, 3, 3)


def _worked(book: Book, made: make.Shop) -> None:
    """Book hours on a car, again on it, for an owner and for the shop; take some back later."""
    chance = random.Random(8)  # noqa: S311 - drawn days, no secret
    refs = list[str]()
    for number in range(24):
        day = MONDAY + timedelta(days=number)
        more: dict[str, Any] = {"work_date": day}
        car = chance.choice([made.own, made.consigned, None])
        if car is None:
            more["unlinked"] = Unlinked.OVERHEAD
        elif number % 5 == 4 and (first := _first_on(book, car)):
            more["rework"] = Rework(of=first, cause=Cause.METHOD, payer=Payer.SHOP)
        entry = make.labour(car, made.person, chance.choice(["0.25", "1", "2.3333"]), **more)
        refs.append(f"L-{number:02}")
        make.add(book, "labour", refs[-1], entry)
    for ref in refs[::3]:
        later = MONDAY + timedelta(days=30 + chance.randrange(20))
        reverse_line(book, ref, "booked twice", author_ref="HK", day=str(later), period=None)


def _first_on(book: Book, car: str) -> Any:
    """Give the first line on a car, None where there is none."""
    with book.reading() as conn:
        return next((each.id for each in reading.stored(conn, "labour", vehicle=car)), None)


def test_hours_that_are_taken_back_go_from_the_week_in_which_they_were_worked(book: Book) -> None:
    _worked(book, make.shop(book))
    with book.reading() as conn:
        by_id = {each.id: each for each in reading.lines(conn)}
        whole = Counter[tuple[str, date]]()
        for each in by_id.values():
            _, entry = entered_of(each, by_id)
            assert isinstance(entry, Labour)
            sign = -1 if each.reverses else 1
            whole[entry.person, entry.work_date] += sign * Fraction(entry.quantity.to("h"))  # type: ignore[assignment]
        found = Counter[tuple[str, date]]()
        for one in hours_of(conn):
            found[one.person, one.day] += one.hours  # type: ignore[assignment]
        assert found == whole
        (table,) = hours(conn, None)
        assert len(table.rows) == 4  # none in the weeks in which they were taken back
        for who, week, _, *shown, _ in table.rows:
            lines = of_week(conn, str(who), date.fromisoformat(str(week)))[0]
            assert lines.total is not None
            assert list(lines.total[5:]) == shown
        kinds = Counter(row[1] for row in of_week(conn, "HK", monday_of(MONDAY))[0].rows)
    assert kinds == {"labour": 7, "reversal": 3}


def test_a_week_is_paid_once_in_one_import_too(book: Book) -> None:
    made = make.shop(book)
    week = PaidHours(person=made.person, week=MONDAY, hours=Quantity.of("38", "h"))
    with book.writing() as conn:
        drafts = [make.draft("paid hours", ref, week) for ref in ("PH-1", "PH-2")]
        first, second = Poster(book, conn, make.ACTING).post_many(drafts)
    assert first.refused is None
    assert isinstance(second.refused, SecondFromOneDay)


def test_where_a_week_was_paid_twice_before_both_count_and_each_can_be_put_right(
    book: Book, monkeypatch: pytest.MonkeyPatch
) -> None:
    made = make.shop(book)
    paid = [PaidHours(person=made.person, week=MONDAY, hours=Quantity.of(h, "h")) for h in "123"]
    with monkeypatch.context() as patched:
        patched.setattr(admission, "_check_first_day", lambda *_: None)  # as it was before
        for ref, each in zip(("PH-1", "PH-2"), paid, strict=False):
            make.add(book, "paid hours", ref, each)
    make.add(book, "paid hours", "PH-1", paid[2])
    make.refused(book, SecondFromOneDay, "paid hours", paid[2], ref="PH-3")
    with book.reading() as conn:
        assert hours(conn, None)[0].rows[0][2] == 5
        assert [row[2] for row in of_week(conn, "HK", MONDAY)[1].rows] == [3, 2]


def test_tax_of_a_code_is_the_sum_of_its_lines_whichever_were_taken_back(book: Book) -> None:
    made = make.shop(book)
    code = TaxCode(
        code="ST", from_date=MONDAY, rate=Decimal("0.1"), recoverable=Decimal("0.5"),
        source=Words("invented"),
    )  # fmt: skip
    make.add(book, "tax code", "TC-1", code)
    for ref, car, price in (("X-1", made.own, "100.00"), ("X-2", None, "33.33")):
        more = {} if car else {"unlinked": Unlinked.OVERHEAD}
        line = make.charge(car, price, tax_code="ST", work_date=MONDAY, **more)
        make.add(book, "charge", ref, line)
    reverse_line(book, "X-1", "not ours", author_ref="HK", day="2031-04-20", period=None)
    with book.reading() as conn:
        for month in (None, "2031-03", "2031-04"):
            lines = lines_with_tax(conn, "ST", month)
            ((_, net, tax, back, count),) = tax_by_code(conn, month)
            sums = [sum(row[place] for row in lines) for place in (5, 6, 7)]
            assert (*sums, len(lines)) == (net, tax, back, count)
        ((ref, kind, _, day, *_),) = lines_with_tax(conn, "ST", "2031-04")
        assert (ref, kind, day) == ("X-1-reversed", "reversal", "2031-04-20")
        assert of_code(conn, "ST", "2031-05")[0].rows == ()
        with pytest.raises(NotThere):
            of_code(conn, "none", None)
