"""Whole days through the command line, and what each line answers."""

from __future__ import annotations

import json
import re
from decimal import Decimal
from pathlib import Path

import pytest

from tests.cli.days import BENCH, CONDITION, DECISION, ORDERS, OWNER, RATES
from tests.golden import masked, same_as_kept
from tests.running import done, run

GOLDEN = Path(__file__).parent / "golden"
DAYS = {
    "bench": BENCH,
    "condition": CONDITION,
    "decision": DECISION,
    "orders": ORDERS,
    "owner": OWNER,
    "rates": RATES,
}
STOCK = (
    "recondition stock list",
    "recondition stock moves coating",
    "recondition stock trace HF-3107",
    "recondition stock reorder",
    "recondition stock opened",
    "recondition stock unrecorded",
    "recondition product show cleaner",
    "recondition order list",
    "recondition order parts 0007",
    "recondition report rework",
    "recondition report operations",
    "recondition owner limit 0012",
    "recondition clock show",
    "recondition film show 0007",
    "recondition film show 0007 --range 100/140um",
    "recondition film sampling '12 m2'",
    "recondition gloss list 0007",
    "recondition water list",
    "recondition test list",
    "recondition rules list",
    "recondition rules check 0007",
    "recondition custody list",
    "recondition finding words",
    "recondition ladder P800 P2500",
    "recondition caution 0007 roof 'sand' --product cleaner",
    "recondition report arrival 0007",
    "recondition report condition 0007",
    "recondition report changes 0007",
    "recondition report track-record",
    "recondition report worth-doing 0007",
    "recondition trial list",
    "recondition comparables list 0007",
    "recondition comparables estimate 0007 --terms km",
    "recondition sale list",
)


@pytest.mark.parametrize("day", DAYS)
def test_a_day_goes_as_it_was_kept(day: str, shop: Path) -> None:
    said = "".join(f"$ {line}\n{done(line)}" for line in DAYS[day])
    same_as_kept(GOLDEN / f"day-{day}.txt", masked(said, shop))


@pytest.mark.usefixtures("year")
@pytest.mark.parametrize("line", STOCK)
def test_the_demos_stock_and_orders_fit_eighty_columns_and_give_json(line: str) -> None:
    said = done(line)
    assert [row for row in said.splitlines() if len(row) > 80] == []
    found = json.loads(done(f"{line} --json"))
    assert found
    assert all(isinstance(rows, list | dict) for rows in found.values())


def test_a_weighed_use_is_one_command_with_three_values(shop: Path) -> None:
    for line in BENCH[:18]:
        if not line.startswith(("recondition use", "recondition stock mix")):
            done(line)
    said = done("recondition use weigh K-07 742.6 701.9")
    assert "weighed: 37.7 ml ± 0.13 ml, on 0007" in said
    (row,) = [
        row
        for row in json.loads(done("recondition post list 0007 --json"))["Ledger"]
        if row["ref"] == "U-002"
    ]
    assert row["serves"] == "F-001"
    assert Decimal(row["cost"]["amount"]) == Decimal("1.78")  # 37.7 ml of 1,000 ml for 47.10
    assert shop.is_dir()


def test_what_an_owner_gets_shows_nothing_of_the_shops_side(shop: Path) -> None:
    done("recondition supplier add HUSH 'Hush Supplies'")
    done(
        "recondition post part 0008 'roof rail' 310.77 used 'rail fitted' --findings F-003 "
        "--billed-to-owner 450 --supplier HUSH --invoice-number HX-77 --private-note 'whispered'"
    )
    done("recondition owner quote 0008 --into quote.html")
    done("recondition owner invoice 0008 --into invoice.html")
    for name in ("quote.html", "invoice.html"):
        page = (shop / name).read_text(encoding="utf-8")
        plain = re.sub(r"<style>.*?</style>", "", page, flags=re.DOTALL)
        for secret in ("310.77", "HUSH", "Hush", "HX-77", "whispered", "41.00"):
            assert secret not in plain, (name, secret)
        assert "src=" not in page
        assert "http" not in plain
    assert "450.00" in (shop / "invoice.html").read_text(encoding="utf-8")


def test_an_invoice_that_cannot_be_written_is_not_posted(shop: Path) -> None:
    (shop / "in-the-way").write_text("a file")

    ran = run("recondition owner invoice 0008 --into in-the-way/invoice.html")
    assert ran.status == 1
    assert "new" not in ran.out
    assert "owner invoice IV-001: new" in done("recondition owner invoice 0008 --into bill.html")
