"""Who may see and enter what: nothing is open by omission, and no amount reaches the bench."""

from __future__ import annotations

import ast
import json
import re
from dataclasses import replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

import pytest

from recondition.amounts import Money
from recondition.amounts.money import total
from recondition.book import reading
from recondition.book.kinds import KINDS
from recondition.book.roles import RIGHTS, Right, Role
from recondition.intake.sheets import SHEETS
from recondition.intake.spec import Parse
from recondition.reports.books_named import OF_SHOP
from recondition.reports.pages import REPORTS
from recondition.reports.table import CellKind, Column, Table
from recondition.web import catalogue, permits
from recondition.web.blind import TELLING, blinded, documents_seen, without_amounts, without_money
from recondition.web.catalogue import NoSuchReport, NotForThisReport
from tests.house.tree import ROOT
from tests.places import copied_book, opened
from tests.web.visitors import PASSWORD, app_of, login_of, signed_in

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from flask.testing import FlaskClient

    from recondition.book import Connection
    from recondition.book.engine import Book

BENCH = RIGHTS[Role.PREPARER]
SELLER = RIGHTS[Role.SELLER]


@pytest.fixture(scope="module")
def book(demo: tuple[Path, str], tmp_path_factory: pytest.TempPathFactory) -> Iterator[Book]:
    to = tmp_path_factory.mktemp("seen") / "demo.book"
    made = opened(copied_book(demo[0] / "made" / "demo.book", to), keep=True)
    yield made
    made.close()


def test_every_sheet_kind_list_and_report_has_its_row() -> None:
    assert set(permits.ENTER) == {sheet.name for sheet in SHEETS}
    assert set(permits.SEE) == set(KINDS)
    named = {row.name for row in catalogue.REPORTS.values()}
    assert set(REPORTS) | set(OF_SHOP) <= named
    every = [*permits.ENTER.values(), *permits.SEE.values()]
    every += [row.rights for row in (*catalogue.LISTS.values(), *catalogue.REPORTS.values())]
    assert all(every)
    assert {kind for kind in permits.TAKEN_BACK if not KINDS[kind].once} == set()


def test_every_list_of_the_command_line_is_in_the_catalogue() -> None:
    known = {(row.module, row.function) for row in catalogue.LISTS.values()}
    found = set()
    for path in (ROOT / "recondition" / "cli").glob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and ast.unparse(node.func) == "list_command":
                module, _, function = ast.unparse(node.args[0]).partition(".")
                found.add((module, function))
    assert len(found) > 20
    assert found <= known


def test_a_preparer_enters_nothing_that_needs_an_amount() -> None:
    mine = [sheet for sheet in SHEETS if permits.may_enter(sheet.name, BENCH)]
    assert {"findings", "labour", "consumables", "containers", "orders"} <= {s.name for s in mine}
    for sheet in mine:
        shut = permits.hidden(sheet.kind, BENCH)
        assert not [c for c in sheet.columns if c.required and c.field in shut]
        money = {c.field for c in sheet.columns if c.parse in (Parse.MONEY, Parse.FOREIGN)}
        assert money <= shut
    for name in ("rates", "terms", "candidates", "parts", "sales", "payments", "settings"):
        assert not permits.may_enter(name, BENCH)


def test_a_seller_sees_no_private_text_and_no_amount() -> None:
    seen = [kind for kind in KINDS if permits.may_see(kind, SELLER)]
    assert {"vehicle", "document", "edition", "consent", "redaction"} <= set(seen)
    assert not {"labour", "terms", "candidate", "sale", "person", "finding"} & set(seen)
    for kind in seen:
        assert "private_note" in permits.hidden(kind, SELLER)
        assert "private_note" not in permits.words_seen(SELLER).get(kind, ())


def test_whoever_sees_money_sees_all_of_a_line() -> None:
    for role in (Role.DEALER, Role.BOOKKEEPER):
        assert permits.hidden("part", RIGHTS[role]) == frozenset()


USD = Money(123_456, "USD")


def test_a_table_loses_its_amounts_and_what_tells_of_them() -> None:
    columns = (
        Column("ref", "Ref"),
        Column("cost", "Cost", CellKind.MONEY),
        Column("average_cost", "Average cost"),
        Column("words", "Words"),
    )
    rows = (("L-001", USD, "12.30 USD/ml", "paid 1,234.56 USD to all"),)
    whole = Table("t", columns, rows, "In all 1,234.56, of 8 lines.", ("all", USD, "", "8"))
    left = without_money(whole)
    assert [column.key for column in left.columns] == ["ref", "words"]
    assert left.rows == (("L-001", "paid to all"),)
    assert left.total == ("all", "8")
    assert without_money(replace(whole, total=("all", USD, "", ""))).total is None
    assert left.note == "In all …, of 8 lines."
    assert "average_cost" in TELLING


@pytest.mark.parametrize(
    ("said", "left"),
    [
        ("labour L-1: 1 h hands-on, 45.00 EUR", "labour L-1: 1 h hands-on"),
        ("cost: 1,234.50 USD is posted", "cost: is posted"),
        ("density 1.08 g/ml, 35.25 ml", "density 1.08 g/ml, 35.25 ml"),
        ("lowest 104.0 um (4.09 mil)", "lowest 104.0 um (4.09 mil)"),
    ],
)
def test_a_sentence_loses_its_amounts_and_keeps_its_measures(said: str, left: str) -> None:
    assert without_amounts(said) == left


def test_a_refusal_loses_its_amounts() -> None:
    refused = blinded(catalogue.NoSuchReport("of 1,234.50 USD", ["45.00 USD"]))
    assert "1,234" not in str(refused)
    assert "45.00" not in str(refused)


def test_papers_of_money_are_not_listed_to_the_bench() -> None:
    columns = (Column("ref", "Ref"), Column("kind", "Kind"), Column("who_may_see", "Who"))
    rows = (("D-1", "photograph", "listing"), ("D-2", "invoice", "listing"),
            ("D-3", "photograph", "evidence"))  # fmt: skip
    table = Table("Documents", columns, rows)
    assert [row[0] for row in documents_seen(table, BENCH).rows] == ["D-1", "D-3"]
    assert [row[0] for row in documents_seen(table, SELLER).rows] == ["D-1", "D-2"]
    assert documents_seen(table, RIGHTS[Role.BOOKKEEPER]) == table


def test_a_report_is_asked_for_with_what_it_takes(book: Book) -> None:
    now = datetime(2033, 1, 1, tzinfo=UTC).replace(tzinfo=None)
    with book.reading() as conn:
        film = catalogue.of_name(catalogue.REPORTS, "film", BENCH)
        with pytest.raises(NotForThisReport, match="vehicle is missing"):
            catalogue.tables_of(conn, film, {}, BENCH, now)
        asked = {"vehicle": ["0007"], "period": ["2031-01"]}
        with pytest.raises(NotForThisReport, match="narrowed by period"):
            catalogue.tables_of(conn, film, asked, BENCH, now)
        assert catalogue.tables_of(conn, film, {"vehicle": ["0007"]}, BENCH, now)
    with pytest.raises(NoSuchReport):
        catalogue.of_name(catalogue.REPORTS, "journal", BENCH)


def _amounts(value: Any) -> Iterator[Money]:
    """Find every amount in a plain value."""
    if isinstance(value, dict):
        if "minor" in value:
            yield Money(int(value["minor"]), value["currency"])
        for inner in value.values():
            yield from _amounts(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from _amounts(inner)


def _of_the_book(conn: Connection) -> set[str]:
    """Write every amount of the book, and the sums of its lines, as they could be shown."""
    from sqlalchemy import select  # noqa: PLC0415 - only here

    from recondition.book.tables import record  # noqa: PLC0415 - only here

    found = [json.loads(row) for row in conn.execute(select(record.c.canonical)).scalars()]
    amounts = {abs(amount) for each in found for amount in _amounts(each)}
    lines = [line.priced.cost for line in reading.lines(conn) if line.priced]
    amounts.add(total(lines, lines[0].currency))
    # A small amount is a number like any other: 12.50 may be hours.
    telling = [amount for amount in amounts if amount.minor >= 10_000]
    return {text for amount in telling for text in (str(amount), amount.grouped)}


def _addresses(conn: Connection) -> Iterator[str]:
    """Give the addresses of everything that can be read here."""
    stocks = reading.all_refs(conn, "vehicle")
    for name, row in catalogue.LISTS.items():
        yield f"/api/v1/lists/{name}"
        if row.takes:
            yield f"/api/v1/lists/{name}?vehicle={stocks[0]}"
    for name, row in catalogue.REPORTS.items():
        asked = {"vehicle*": f"vehicle={stocks[0]}", "which*": "which=M-001"}
        yield f"/api/v1/reports/{name}?" + "&".join(asked[t] for t in row.takes if t in asked)
    for kind in KINDS:
        for ref in reading.all_refs(conn, kind)[:2]:
            yield f"/records/{kind.replace(' ', '-')}/{ref}"
            yield f"/api/v1/records/{kind.replace(' ', '-')}/{ref}"
    for sheet in SHEETS:
        for ref in reading.all_refs(conn, sheet.kind)[:1]:
            yield f"/enter/{sheet.name.replace(' ', '-')}?ref={ref}"
    for word in ("0007", "invoice", "0", "stripe", "."):
        yield f"/search?q={word}"
        yield f"/api/v1/search?q={word}"
    yield from ("/enter", "/api/v1/clocks", "/api/v1/sheets", "/api/v1/session")


def _visitor(book: Book, role: str) -> tuple[FlaskClient, dict[str, str]]:
    client = app_of(book).test_client()
    name = login_of(book, role)
    answer = client.post("/api/v1/session", json={"name": name, "password": PASSWORD})
    return client, {"Authorization": f"Bearer {answer.get_json()['token']}"}


@pytest.mark.parametrize("role", ["preparer", "seller"])
def test_no_amount_of_the_book_reaches_who_may_see_none(book: Book, role: str) -> None:
    client, headers = _visitor(book, role)
    with book.reading() as conn:
        amounts, addresses = _of_the_book(conn), list(_addresses(conn))
    assert len(amounts) > 50
    any_of = "|".join(sorted(map(re.escape, amounts), key=len, reverse=True))
    pattern = re.compile(rf"(?<![\d.,])(?:{any_of})(?!\d)")
    seen = 0
    for address in addresses:
        answer = client.get(address, headers=headers)
        assert answer.status_code in (200, 302, 403, 404, 422), (address, answer.data)
        text = answer.get_data(as_text=True)
        assert not pattern.search(text), (address, pattern.findall(text))
        seen += answer.status_code == 200
    assert seen > (60 if role == "preparer" else 15)


def test_the_dealer_sees_amounts_there(book: Book) -> None:
    client, headers = _visitor(book, "dealer")
    with book.reading() as conn:
        amounts = _of_the_book(conn)
    text = client.get("/api/v1/lists/lines?vehicle=0007", headers=headers).get_data(as_text=True)
    assert any(amount in text for amount in amounts)


def test_a_kept_invoice_is_shut_to_the_bench(book: Book) -> None:
    with book.reading() as conn:
        papers = [d for d in reading.stored(conn, "document") if d.entry.kind.value == "invoice"]
    assert papers
    address = f"/records/document/{papers[0].ref}"
    assert signed_in(book, "preparer").get(address).status_code == 404
    page = signed_in(book, "dealer").get(address).get_data(as_text=True)
    file = re.search(r"/files/[0-9a-f]{64}", page)
    assert file is not None
    for role, status in (("preparer", 404), ("seller", 404)):
        assert signed_in(book, role).get(file[0]).status_code == status
    with signed_in(book, "bookkeeper").get(file[0]) as kept:
        assert kept.status_code == 200
        assert "sandbox" in kept.headers["Content-Security-Policy"]
        assert kept.headers["X-Content-Type-Options"] == "nosniff"
    assert app_of(book).test_client().get(file[0]).status_code == 302


def test_money_right_is_asked_wherever_an_amount_is_shown() -> None:
    for row in (*catalogue.LISTS.values(), *catalogue.REPORTS.values()):
        if row.module in ("books_named", "books_one_car", "owner"):
            assert Right.BENCH not in row.rights
            assert Right.MONEY in row.rights
