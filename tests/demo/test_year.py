"""A year of an invented shop with 60 vehicles, closed month by month, ties to the cent."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from openpyxl import load_workbook

from tests.once import once
from tests.running import demo_line, done, stand_in

pytestmark = pytest.mark.long

MONTHS = [f"2032-{month:02}" for month in range(1, 13)]


def _year(folder: Path) -> str:
    with pytest.MonkeyPatch.context() as patched:
        stand_in(folder, patched, book="made/year.book")
        return done(demo_line("made/year.book", " --year"))


@pytest.fixture(scope="module")
def year(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, str]:
    return once(tmp_path_factory, "year", _year)


def rows(path: Path, sheet: str) -> list[dict[str, Any]]:
    first, *rest = load_workbook(path, read_only=True)[sheet].iter_rows(values_only=True)
    return [dict(zip(map(str, first), row, strict=True)) for row in rest]


def cents(value: Any) -> int:
    return round(float(value or 0) * 100)


def test_every_month_is_closed_and_ties(year: tuple[Path, str]) -> None:
    said = [line.split() for line in year[1].splitlines() if line.startswith("2032-")]
    table = [words for words in said if len(words) == 7]
    assert [words[0] for words in table] == MONTHS
    assert {(words[3], words[5]) for words in table} == {("0.00", "0.00")}
    # One bill is 18.15 above its line, and stays named until it is settled.
    assert {words[6] for words in table[4:]} == {"18.15"}


def test_the_months_add_up_to_the_year_and_every_account_to_its_legs(
    year: tuple[Path, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    reports = year[0] / "made" / "reports"
    whole: dict[str, int] = {}
    for leg in rows(reports / "books-year.xlsx", "journal"):
        amount = cents(leg["debit"]) - cents(leg["credit"])
        whole[leg["account_code"]] = whole.get(leg["account_code"], 0) + amount
    parts: dict[str, int] = {}
    for month in MONTHS:
        entries: dict[str, int] = {}
        for leg in rows(reports / f"books-{month}.xlsx", "journal"):
            amount = cents(leg["debit"]) - cents(leg["credit"])
            entries[leg["entry"]] = entries.get(leg["entry"], 0) + amount
            parts[leg["account_code"]] = parts.get(leg["account_code"], 0) + amount
        assert set(entries.values()) == {0}, month
    # December's accruals are taken back in January, which only the whole book shows.
    apart = {code: whole[code] - parts.get(code, 0) for code in whole}
    assert sum(whole.values()) == sum(parts.values()) == sum(apart.values()) == 0
    assert {code for code, amount in apart.items() if amount} <= {"1350", "1490", "2050"}
    stand_in(year[0], monkeypatch, book="made/year.book")
    (table,) = json.loads(done("recondition books accounts --json")).values()
    stated: dict[str, int] = {}
    for row in table:
        stated[row["account"]] = stated.get(row["account"], 0) + cents(row["balance"]["amount"])
    assert stated == whole


def test_what_came_late_names_its_own_month(
    year: tuple[Path, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    stand_in(year[0], monkeypatch, book="made/year.book")
    (late,) = json.loads(done("recondition books late --period 2032-05 --json")).values()
    assert {(row["booked"], row["own"], row["vehicle"]) for row in late} >= {
        ("2032-05", "2032-04", "1016")
    }
    assert done("recondition check").endswith("No damage was found.\n")
