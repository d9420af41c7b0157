"""One table in the terminal, as CSV and as JSON: goldens, and texts that mean harm."""

from __future__ import annotations

import csv
import io
import unicodedata
from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from recondition.amounts import Money
from recondition.reports.cells import NOTHING, visible
from recondition.reports.plain import defused, to_csv, to_json
from recondition.reports.table import CellKind, Column, Table
from recondition.reports.terminal import to_terminal
from tests.strategies import monies

COLUMNS = (
    Column("line", "Line"),
    Column("words", "What was done"),
    Column("on", "Work date", CellKind.DATE),
    Column("hours", "Hours", CellKind.NUMBER),
    Column("count", "Files", CellKind.INTEGER),
    Column("chance", "Chance", CellKind.PERCENT),
    Column("cost", "Cost", CellKind.MONEY),
)
TABLE = Table(
    title="Posted lines",
    columns=COLUMNS,
    rows=(
        (
            "0001",
            "Bonnet machined, then a long sentence that has to be wrapped somewhere",
            date(2031, 3, 28),
            Decimal("2.50"),
            3,
            Decimal("0.9"),
            Money.of("1234567.80", "USD"),
        ),
        ("0002", "=1+1", date(2031, 3, 29), None, 0, None, Money.of("-12.30", "USD")),
    ),
    note="Measured hours.",
    total=("all", "", None, Decimal("2.5"), 3, None, Money.of("1234555.50", "USD")),
)

TERMINAL = f"""\
Posted lines
Line  What was done               Work date   Hours  Files  Chance     Cost, USD
────────────────────────────────────────────────────────────────────────────────
0001  Bonnet machined, then a     2031-03-28    2.5      3    90 %  1,234,567.80
      long sentence that has to
      be wrapped somewhere
0002  =1+1                        2031-03-29      {NOTHING}      0       {NOTHING}        -12.30

all                               {NOTHING}             2.5      3       {NOTHING}  1,234,555.50
Measured hours.
"""


def test_the_terminal() -> None:
    assert to_terminal(TABLE) == TERMINAL
    assert max(map(len, TERMINAL.splitlines())) == 80


def test_csv_is_quoted_defused_and_without_the_total() -> None:
    assert to_csv(TABLE) == (
        '"Line","What was done","Work date","Hours","Files","Chance","Cost, USD"\r\n'
        '"0001","Bonnet machined, then a long sentence that has to be wrapped somewhere",'
        '"2031-03-28","2.5","3","0.9","1234567.80"\r\n'
        '"0002","\'=1+1","2031-03-29","","0","","-12.30"\r\n'
    )


def test_json_has_strings_for_money_and_numbers() -> None:
    assert to_json(TABLE)[1] == {
        "line": "0002",
        "words": "=1+1",
        "on": "2031-03-29",
        "hours": None,
        "count": 0,
        "chance": None,
        "cost": {"amount": "-12.30", "currency": "USD"},
    }
    assert to_json(TABLE)[0]["hours"] == "2.5"


# OWASP, CSV Injection (community page, as read): the two printed examples.
@pytest.mark.parametrize(
    ("text", "printed"),
    [
        ('=1+2";=1+2', '"\'=1+2"";=1+2"'),
        ("=1+2'\" ;,=1+2", '"\'=1+2\'"" ;,=1+2"'),
    ],
)
def test_the_published_injection_examples(text: str, printed: str) -> None:
    table = Table("t", (Column("a", "A"),), ((text,),))
    assert to_csv(table).splitlines()[1] == printed


@given(st.lists(st.tuples(st.text(), st.one_of(st.none(), monies("KWD"))), max_size=5))
def test_csv_reads_back(rows: list[tuple[str, Money | None]]) -> None:
    table = Table("t", (Column("a", "A"), Column("m", "M", CellKind.MONEY)), tuple(rows))
    read = list(csv.reader(io.StringIO(to_csv(table), newline="")))[1:]
    assert read == [[defused(text), "" if money is None else str(money)] for text, money in rows]


@given(st.text(), st.lists(monies(), min_size=1, max_size=5), st.integers(40, 120))
def test_no_amount_is_ever_cut_in_the_terminal(text: str, amounts: list[Money], width: int) -> None:
    money = tuple(Column(str(i), "Amount", CellKind.MONEY) for i in range(len(amounts)))
    table = Table("t", (Column("a", "A"), *money), ((text, *amounts),))
    written = to_terminal(table, width)
    for amount in amounts:
        assert amount.grouped in written
    assert all(len(line) <= width or _is_wide(line) for line in written.splitlines())


def _is_wide(line: str) -> bool:
    """Tell whether some character takes no column of its own, so that counting them misleads."""
    return any(unicodedata.combining(char) or unicodedata.category(char) == "Cf" for char in line)


def test_many_amounts_stand_as_blocks_that_lose_nothing() -> None:
    money = tuple(Column(f"m{i}", f"Amount {i}", CellKind.MONEY) for i in range(9))
    amounts = tuple(Money(10**12 + i, "USD") for i in range(9))
    written = to_terminal(Table("Wide", (Column("a", "A"), *money), (("x", *amounts),)))
    assert all(amount.grouped in written for amount in amounts)
    assert max(map(len, written.splitlines())) <= 80


def test_the_terminal_obeys_no_control_characters_and_no_markup() -> None:
    hostile = "\x1b[31m[bold]red[/bold]\x07"
    written = to_terminal(Table(hostile, (Column("a", hostile),), ((hostile,),), note=hostile))
    assert "\x1b" not in written
    assert "\x07" not in written
    assert written.count("[bold]red[/bold]") == 4


def test_visible_replaces_what_cannot_be_shown_and_nothing_else() -> None:
    assert visible("a\x00b\ud800c\ufffed\te\nf") == "a\ufffdb\ufffdc\ufffdd\te\nf"


def test_a_column_of_two_currencies_names_them_in_the_cells() -> None:
    rows = ((Money.of("1.00", "USD"),), (Money.of("2", "JPY"),))
    table = Table("t", (Column("m", "Amount", CellKind.MONEY),), rows)
    assert to_csv(table) == '"Amount"\r\n"1.00 USD"\r\n"2 JPY"\r\n'
    assert "1.00 USD" in to_terminal(table)


@pytest.mark.parametrize("cell", [1.5, True, "12", Decimal(1)])
def test_a_cell_of_another_kind_is_refused(cell: object) -> None:
    with pytest.raises(TypeError, match="column n holds integer"):
        Table("t", (Column("n", "N", CellKind.INTEGER),), ((cell,),))  # type: ignore[arg-type]


def test_a_row_of_another_length_is_refused() -> None:
    with pytest.raises(ValueError, match=r"shorter|longer"):
        Table("t", (Column("n", "N"),), (("a", "b"),))
