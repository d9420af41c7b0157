"""Reading commands fit 80 columns and give the same figures as JSON."""

from __future__ import annotations

import json
import re
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from tests.cli.lines import READING
from tests.golden import masked, same_as_kept
from tests.running import done, run

if TYPE_CHECKING:
    from collections.abc import Iterator

GOLDEN = Path(__file__).parent / "golden"
WIDTH = 80
CAR = "0007"


def _figures(found: Any) -> Iterator[str]:
    """Give every amount of money in some JSON."""
    if isinstance(found, dict):
        if set(found) == {"amount", "currency"}:
            yield found["amount"]
            return
        found = list(found.values())
    if isinstance(found, list):
        for inner in found:
            yield from _figures(inner)


def _squeezed(text: str) -> str:
    """Take out blanks and what groups digits, so that folded cells can be compared."""
    return re.sub(r"[\s,\u2009\u202f]", "", text.replace("\u2212", "-"))


@pytest.mark.usefixtures("year")
@pytest.mark.parametrize("line", READING)
def test_the_demo_fits_eighty_columns_and_json_has_the_same_figures(line: str) -> None:
    said = done(line.format(car=CAR))
    assert [row for row in said.splitlines() if len(row) > WIDTH] == []
    text = _squeezed(said)
    found = json.loads(done(f"{line.format(car=CAR)} --json"))
    assert found
    missing = [amount for amount in _figures(found) if _squeezed(amount) not in text]
    assert missing == []


@pytest.mark.usefixtures("year")
def test_the_ledger_of_a_consigned_vehicle_shows_what_is_billed() -> None:
    said = done("recondition vehicle show 0012")
    assert [row for row in said.splitlines() if len(row) > WIDTH] == []
    ledger = json.loads(done("recondition vehicle show 0012 --json"))["Ledger"]
    billed = sum(Decimal(row["billed"]["amount"]) for row in ledger)
    (total,) = [row for row in said.splitlines() if row.startswith("all")]
    assert total.endswith(f"{billed:,.2f}")
    assert "Billed" not in done("recondition vehicle show 0007")


@pytest.mark.usefixtures("year")
@pytest.mark.parametrize("name", ["cost-and-uplift", "worth-doing"])
def test_json_of_several_vehicles_is_one_document(name: str) -> None:
    assert len(json.loads(done(f"recondition report {name} --json"))) == 2
    assert set(json.loads(done(f"recondition plan {CAR} 0012 --json"))) == {CAR, "0012", "together"}


@pytest.mark.usefixtures("year")
def test_the_ledger_in_json_adds_up_to_the_total() -> None:
    shown = json.loads(done(f"recondition vehicle show {CAR} --json"))
    listed = json.loads(done("recondition vehicle list --json"))["Vehicles"]
    total = next(row["cost"] for row in listed if row["stock"] == CAR)
    cents = [int(row["cost"]["amount"].replace(".", "")) for row in shown["Ledger"]]
    assert sum(cents) == int(total["amount"].replace(".", ""))
    assert total["currency"] == "USD"


@pytest.mark.usefixtures("shop")
def test_what_a_small_book_shows(shop: Path) -> None:
    lines = [line.format(car=CAR) for line in READING]
    said = "".join(f"$ {line}\n{done(line)}\n" for line in lines)
    same_as_kept(GOLDEN / "reading.txt", masked(said, shop))


@pytest.mark.usefixtures("year")
def test_a_report_as_a_page() -> None:
    said = done("recondition report worth-doing --html pages/worth.html")
    assert said == "The page lies at pages/worth.html.\n"
    page = Path("pages/worth.html").read_text(encoding="utf-8")
    assert page.startswith("<!DOCTYPE html>")
    assert "<svg" in page


@pytest.mark.usefixtures("shop")
def test_the_workbook_lies_only_under_a_name_that_spreadsheets_open() -> None:
    assert run("recondition export workbook books.csv").status == 2
    assert not Path("books.csv").exists()
    done("recondition export workbook BOOKS.XLSX")
    assert Path("BOOKS.XLSX").read_bytes().startswith(b"PK")
