"""The five worked cases (own invented figures, answers worked out beforehand) to the cent.

Each goes through the ordinary import, as a folder of .csv, into a book of its own, and is
answered by ``recondition plan --json``.
"""

from __future__ import annotations

import csv
import json
from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from tests.running import done, stand_in
from tests.worth.scenarios import scenario

START = date(2031, 3, 3)
Row = dict[str, object]


def _three(name: str, points: list[object]) -> Row:
    return {f"{name} {point}": value for point, value in zip(("low", "likely", "high"), points)}  # noqa: B905


def _percent(share: object) -> str:
    return f"{Decimal(str(share)) * 100}%"


def _candidate(case: dict[str, Any], work: dict[str, Any]) -> Row:
    last = work["id"] in case["constraints"].get("after_all", ())
    return {
        "ref": work["id"],
        "vehicle": "0001",
        "work": work["name"],
        **_three("hours", work["hours"]),
        **_three("cash", work["cash"]),
        **_three("uplift", work["uplift"]),
        "uplift on": _basis(case),
        "chance of success": work["p_success"],
        "cash if it fails": work["fail_cash"],
        "uplift if it fails": work["fail_uplift"],
        "extra days": work.get("extra_days", 0),
        "requires": "; ".join(work.get("requires", ())),
        "excludes": "; ".join(work.get("excludes", ())),
        "after all other work": "yes" if last else "",
        "cure hours": work.get("cure_clock_h", 0),
        "delivery hours": work.get("lead_clock_h", 0),
        "irreversible": "yes" if work.get("irreversible") else "",
        "consent given": "yes" if work.get("irreversible") else "",
    }


def _basis(case: dict[str, Any]) -> str:
    return {"hammer": "hammer", "all_in": "all-in"}[case["uplift_basis"]]


def _terms(case: dict[str, Any]) -> Row:
    limits, later = case["constraints"], case.get("next_sale", {})
    row: Row = {
        "ref": "T-001",
        "vehicle": "0001",
        "prices are": _basis(case),
        **_three("as-is price", case["as_is_hammer"]),
        "labour cost rate per hour": case["labour_cost_rate"],
        "charge-out rate per hour": case["charge_out_rate"],
        "seller's commission": _percent(case["seller_commission"]),
        "buyer's premium": _percent(case["buyer_premium"]),
        "holding cost per day": case["holding_per_day"],
        "cash limit": limits.get("cash", ""),
        "hours limit": limits.get("hours", ""),
        "owner's limit": limits.get("owner_spend", ""),
        "days to the next sale": later.get("days_later", ""),
        "next sale fee": later.get("entry_fee", ""),
        "work from": START,
    }
    if "schedule_hours" in limits:
        row["cut-off"] = START + timedelta(days=int(limits["schedule_hours"]) // 24 - 1)
    return row


def _sheets(case: dict[str, Any], settings: dict[str, str]) -> dict[str, list[Row]]:
    consigned = case["labour_rate_used"] != case["labour_cost_rate"]
    owner = (
        {"whose it is": "consigned", "owner": "OW"} if consigned else {"whose it is": "own stock"}
    )
    sheets: dict[str, list[Row]] = {
        "settings": [
            {"setting": name, "value": value}
            for name, value in {"currency": case["currency"], **settings}.items()
        ],
        "people": [
            {"initials": "MR", "name": "Mara Ridd", "role": "preparer"},
            {"initials": "OW", "name": "Otto Wend", "role": "owner"},
        ],
        "vehicles": [{"stock number": "0001", "designation": case["car"], **owner}],
        "candidates": [_candidate(case, work) for work in case["items"]],
        "interactions": [
            {"ref": f"I-{n}", "vehicle": "0001", "candidates": "; ".join(term["items"]),
             "uplift together": term["delta_uplift"]}
            for n, term in enumerate(case["interactions"], 1)
        ],
        "terms": [_terms(case)],
    }  # fmt: skip
    if "decision_tree" in case:
        sheets["test first"] = [_trial(case["decision_tree"])]
    return {name: rows for name, rows in sheets.items() if rows}


def _trial(tree: dict[str, Any]) -> Row:
    good, bad, test = tree["good"], tree["bad"], tree["test"]
    return {
        "ref": "X-1",
        "vehicle": "0001",
        "item": "hidden test panel",
        "chance it turns out well": tree["p_good"],
        **_three("uplift if well", good["uplift"]),
        **_three("uplift if badly", bad["uplift"]),
        **_three("hours", good["hours"]),
        **_three("cash", good["cash"]),
        **_three("hours if badly", bad["hours"]),
        **_three("cash if badly", bad["cash"]),
        "test hours": test["hours"],
        "test cash": test["cash"],
        "test is right": test["reliability"],
    }


@pytest.fixture
def planned(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, request: pytest.FixtureRequest
) -> tuple[dict[str, Any], dict[str, Any]]:
    """Import one case and plan it; give the case and the answer."""
    name, settings = request.param
    stand_in(tmp_path, monkeypatch)
    case = scenario(name)
    folder = tmp_path / name
    folder.mkdir()
    for sheet, rows in _sheets(case, settings).items():
        with (folder / f"{sheet}.csv").open("w", encoding="utf-8", newline="") as file:
            writer = csv.DictWriter(file, fieldnames=list(rows[0]))
            writer.writeheader()
            writer.writerows(rows)
    done(f"recondition --as MR import {folder}")
    answer = json.loads(done("recondition plan 0001 --json"))["0001"]
    return case, answer


def _case(name: str, **settings: str) -> Any:
    return pytest.param((name, {key.replace("_", " "): value for key, value in settings.items()}),
                        id=" ".join((name, *settings.values())))  # fmt: skip


DAYS = {"working_days": "every day", "shop_hours": "00:00 to 08:00"}
CASES = [
    _case("S01"), _case("S03"), _case("S06"),
    _case("S05", laying_out="shop calendar", **DAYS),
    _case("S05", laying_out="serial blocks", **DAYS),
]  # fmt: skip


@pytest.mark.parametrize("planned", CASES, indirect=True)
def test_a_case_comes_out_to_the_cent(planned: tuple[dict[str, Any], dict[str, Any]]) -> None:
    case, answer = planned
    expected, tables = case["expected"], answer["tables"]
    assert answer["proven"]
    assert sorted(answer["do"] + answer["ask"]) == sorted(expected["choose"])
    plans = {row["plan"]: row for row in tables["Plans side by side"]}
    plan = plans["the plan"]
    for field, key in (
        ("net", "expected_net"), ("uplift", "expected_uplift"), ("cost", "expected_cost"),
        ("net_low", "net_low"), ("net_high", "net_high"),
    ):  # fmt: skip
        assert Decimal(plan[field]["amount"]) == Decimal(str(expected[key])), field
    second = Decimal(plans["next best set"]["net"]["amount"])
    assert second == Decimal(str(expected["runner_up_net"]))


@pytest.mark.parametrize("planned", CASES[3:], indirect=True)
def test_the_deadline_case_in_time(planned: tuple[dict[str, Any], dict[str, Any]]) -> None:
    case, answer = planned
    expected, tables = case["expected"], answer["tables"]
    ways = {row["way"]: row for row in tables["Ways to go on"]}
    free = ways["all that would pay"]
    assert free["net"]["amount"] == str(expected["its_net"])
    waiting = ways["the next sale, 60 days later"]
    assert waiting["net"]["amount"] == str(expected["net_if_waiting_for_next_sale"])
    serial = answer["ready"]["laid out by"] == "serial blocks"
    chosen, full = (
        (expected["chosen_clock_hours"], expected["its_clock_hours"])
        if serial
        else (expected["calendar"]["finish_h"], expected["calendar"]["full_set_finish_h"])
    )
    assert ways["what fits before the cut-off"]["end"] == _moment(chosen)
    assert free["end"] == _moment(full)
    left = {row["ref"]: row["reason"] for row in tables["What to do, leave and ask about"]}
    assert left["B"] == "could not be ready in time with the rest of the plan"
    assert left["C"].startswith("cannot be ready by 2031-03-07 00:00")
    late = "12.1" if serial else "7.3"
    assert answer["ready"]["relax"] == (
        f"To do A, B, C, D and E, worth 1,514.60 more, relax the cut-off by {late} days."
    )


def _moment(hours: int) -> str:
    day = START + timedelta(days=hours // 24)
    return f"{day} {hours % 24:02d}:00"


@pytest.mark.parametrize("planned", [_case("S10")], indirect=True)
def test_the_test_first_case(planned: tuple[dict[str, Any], dict[str, Any]]) -> None:
    case, answer = planned
    expected = case["expected"]
    (row,) = answer["tables"]["Test first"]
    found = {key: Decimal(row[key]["amount"]) for key in ("good", "bad", "untested", "cost")}
    found |= {key: Decimal(row[key]["amount"]) for key in ("tested", "value")}
    assert found == {
        "good": Decimal(str(expected["net_if_good"])),
        "bad": Decimal(str(expected["net_if_bad"])),
        "untested": Decimal(str(expected["net_untested"])),
        "cost": Decimal(str(expected["test_cost"])),
        "tested": Decimal(str(expected["net_test_first"])),
        "value": Decimal(str(expected["value_of_test"])),
    }
    assert row["advice"] == "test first, then do it only if the test says good"
