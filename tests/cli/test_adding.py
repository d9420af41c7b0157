"""Each kind of entry is one short line; retried, reversed or erased, the book stays right."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.cli.lines import ADDING
from tests.golden import masked, same_as_kept
from tests.running import done, run

GOLDEN = Path(__file__).parent / "golden"
LINE_LENGTH_MAX = 100


def test_every_entry_is_one_short_line(typed: tuple[Path, str]) -> None:
    assert [line for line in ADDING if len(line) > LINE_LENGTH_MAX] == []
    same_as_kept(GOLDEN / "adding.txt", masked(typed[1], typed[0]))


def _lines(stock: str) -> list[dict[str, object]]:
    found: list[dict[str, object]] = json.loads(
        done(f"recondition post list {stock} --json")
    )["Ledger"]  # fmt: skip
    return found


@pytest.mark.usefixtures("shop")
def test_a_key_is_never_posted_twice() -> None:
    line = 'recondition post labour 0007 1 "second polish" --findings F-001 --key morning-1'
    assert done(line).startswith("labour ")
    before = _lines("0007")
    run(line)
    assert _lines("0007") == before


@pytest.mark.usefixtures("shop")
def test_the_same_ref_and_content_is_there_already() -> None:
    line = 'recondition finding add 0007 roof "stone chip" --ref F-050'
    assert done(line) == "finding F-050: new\n"
    assert "new" not in done(line)


@pytest.mark.usefixtures("shop")
def test_a_reversal_takes_a_line_back_to_the_cent() -> None:
    stock = json.loads(done("recondition vehicle list --json"))["Vehicles"]
    costs = {row["stock"]: row["cost"]["amount"] for row in stock}
    # By hand: 2.5 h x 41 + 120 + 35/500 x 18.50 + 240 + 310; the other line was reversed.
    assert costs == {"0007": "773.80", "0008": "0.00"}


@pytest.mark.usefixtures("shop")
def test_an_erased_person_is_gone_and_the_book_is_whole() -> None:
    assert "Otto Wend" in done("recondition person list")
    said = done('recondition person erase OW --ground "request of 4 March"')
    assert "cannot be recovered" in said
    listed = done("recondition person list")
    assert "Otto Wend" not in listed
    assert "(erased)" in listed
    assert "No damage was found." in done("recondition check")


@pytest.mark.usefixtures("shop")
def test_options_stand_before_or_after_the_command() -> None:
    before = done("recondition --book shop.book --as MR vehicle list")
    assert before == done("recondition vehicle list --book shop.book")


@pytest.mark.usefixtures("shop")
def test_an_owner_agrees_to_what_cannot_be_undone_with_the_answer() -> None:
    strip = 'recondition candidate add 0008 "strip the roof" --hours 1/2/3 --uplift 100/200/300'
    work = done(f"{strip} --irreversible yes").split()[1].rstrip(":")
    answer = f"recondition owner approve 0008 {work} 250 message OW --agreed --key answer-1"
    refused = run(f"{answer} --answer declined")
    assert "declines the work and agrees" in refused.err
    assert done(answer) == f"approval AP-001: new\ncandidate {work}: new version\n"
    assert done(answer) == f"approval AP-001: already there\ncandidate {work}: already there\n"


@pytest.mark.usefixtures("shop")
def test_a_limit_that_is_passed_already_is_said_with_the_answer() -> None:
    done("recondition terms set 0008 hammer 9000/10000/12000 41 --charge-out-rate 98")
    work = done('recondition candidate add 0008 "roof" --hours 2/3/4 --uplift 100/200/300')
    ref = work.split()[1].rstrip(":")
    answer = f"recondition owner approve 0008 {ref} 300 message OW"
    said = " ".join(done(f"{answer} --limit 100").split())
    assert "294.00 USD are billed, ordered or still to come: the limit of 100.00 USD" in said
    assert "is passed" not in done(f"{answer} --limit 400")


@pytest.mark.usefixtures("shop")
def test_a_decision_under_a_key_is_frozen_once() -> None:
    line = "recondition decide 0007 --note spring --key auction-1"
    first = done(line).splitlines()[0]
    assert first.endswith(": new")
    assert done(line) == first.replace("new", "already there") + "\n"
    other = run(line.replace("spring", "autumn"))
    assert other.status == 1
    assert "auction-1" in other.err


@pytest.mark.usefixtures("shop")
def test_a_new_version_says_what_it_leaves_out() -> None:
    add = 'recondition vehicle add 0010 "1960 Car"'
    assert done(f'{add} --odometer-shown 23415 --private-note "sold by an aunt"').endswith("new\n")
    said = done('recondition vehicle add 0010 "1960 Car again"')
    note = "the version before also had: odometer shown, private note. It stays on record."
    assert " ".join(said.split()) == f"vehicle 0010: new version note: {note}"


@pytest.mark.usefixtures("shop")
def test_a_count_far_above_the_book_is_asked_about() -> None:
    done('recondition product add glaze "Glaze" glaze ml')
    done('recondition stock receive glaze "500 ml" 22.00')
    said = done('recondition stock count glaze "4500000 ml" "typed too many noughts"')
    asks = "the book had 500 ml, and 4500000 ml were found: was it counted in that unit?"
    assert asks in " ".join(said.split())
    for found in ("4499990 ml", "10 ml", "0 ml"):
        assert "was it counted" not in done(f'recondition stock count glaze "{found}" "once more"')


@pytest.mark.usefixtures("shop")
def test_paid_hours_are_no_more_than_a_week_has_in_any_unit() -> None:
    assert "new" in done('recondition person paid MR 2031-03-03 "2400 min"')
    assert "a week has 168 hours" in run('recondition person paid MR 2031-03-10 "10081 min"').err


@pytest.mark.usefixtures("shop")
def test_a_number_below_zero_is_said_to_be_one() -> None:
    for line in ('post labour 0007 -2 "polish"', 'stock receive glaze "50 ml" -5'):
        ran = run(f"recondition {line}")
        assert ran.status == 2
        assert "begins a number below zero" in ran.err
    assert "No such option" in run("recondition post labour --wrong").err


@pytest.mark.usefixtures("shop")
def test_a_clock_without_a_rate_says_so_when_it_is_started() -> None:
    done('recondition person add ZZ "Zed" detailer')
    said = done(
        'recondition --as ZZ clock start 0007 "polish" --no-finding-because "whole vehicle"'
    )
    assert "note: no cost rate of ZZ holds on" in " ".join(said.split())


@pytest.mark.usefixtures("shop")
def test_a_label_of_another_product_is_refused_for_what_it_is() -> None:
    for ref in ("glaze", "sealant"):
        done(f'recondition product add {ref} "{ref}" glaze ml')
    done("recondition stock container W-1 glaze")
    ran = run("recondition stock container W-1 sealant")
    assert "W-1 is on record for another product" in ran.err
    assert "Name its own product" in ran.err


@pytest.mark.usefixtures("shop")
def test_what_goes_to_a_later_month_says_so_also_where_it_moves_stock() -> None:
    done('recondition product add glaze "Glaze" glaze ml')
    done('recondition stock receive glaze "500 ml" 22.00 --received-on 2031-02-03')
    for row in json.loads(done("recondition period list --json"))["Periods"]:
        if row["period"] <= "2031-02":
            done(f"recondition period close {row['period']} 'month end'")
    late = done('recondition stock receive glaze "500 ml" 23.00 --received-on 2031-02-04')
    count = done('recondition stock count glaze "900 ml" "spilt" --counted-on 2031-02-05')
    for said in (late, count):
        assert "note: period 2031-02 is closed: booked in 2031-03" in " ".join(said.split())
    assert "23.00" in done("recondition books late")
