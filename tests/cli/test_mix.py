"""``recondition mix``: every reading is shown, one is settled by option or by answering."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from tests.golden import same_as_kept
from tests.running import done, run

GOLDEN = Path(__file__).parent / "golden"
LINES = (
    'recondition mix 1:10 --total "750 ml"',
    'recondition mix 1:10 --total "750 ml" --reads one-in',
    'recondition mix 10:1 --total "1 l"',
    'recondition mix 10:1 --total "1 l" --reads water-to-product',
    'recondition mix 1+10 --product "68 ml"',
    'recondition mix "2 fl oz per US gallon" --total "1 US gallon"',
    'recondition mix "10 %" --total "500 ml"',
    'recondition mix neat --total "50 ml"',
    'recondition mix 1:10 --total "750 ml" --json',
)


def _json(line: str, answer: str | None = None) -> dict[str, Any]:
    ran = run(f"{line} --json", answer)
    assert ran.status == 0, ran.err
    found: dict[str, Any] = json.loads(ran.out)
    return found


def test_what_is_said() -> None:
    said = "".join(f"$ {line}\n{done(line)}\n" for line in LINES)
    same_as_kept(GOLDEN / "mix.txt", said)
    assert [row for row in said.splitlines() if len(row) > 80] == []


def test_the_sentence_of_the_batch() -> None:
    said = done('recondition mix 1:10 --total "750 ml" --reads product-to-water')
    assert "for 750 ml: 68.2 ml product + 681.8 ml water\n" in said
    assert "75 ml product" not in said
    assert "Settle" not in said


def test_nobody_to_ask_leaves_it_open_and_names_the_option() -> None:
    ran = run('recondition mix 1:10 --total "750 ml"')
    assert ran.status == 0
    assert "Settle it with --reads product-to-water or --reads one-in." in ran.out
    assert "Which one" not in ran.out


@pytest.mark.parametrize(("answer", "amounts"), [("1", "68.2 ml product"), ("2", "75 ml product")])
def test_somebody_at_the_terminal_is_asked_once(answer: str, amounts: str) -> None:
    ran = run('recondition mix 1:10 --total "750 ml"', f"{answer}\n")
    assert ran.status == 0, ran.err
    before, _, after = ran.out.partition("Which one does the label mean?")
    assert "can be read in 2 ways" in before
    assert "Which one" not in after
    assert f"for 750 ml: {amounts}" in after
    assert "Settle" not in ran.out


def test_a_plain_label_and_a_settled_one_are_not_asked_about() -> None:
    for rest in ('"1 in 10"', "1:10 --reads one-in"):
        ran = run(f'recondition mix {rest} --total "750 ml"', "")
        assert ran.status == 0, ran.err
        assert "Which one" not in ran.out
        assert "for 750 ml: 75 ml product + 675 ml water" in ran.out


def test_only_what_was_settled_has_to_be_measurable() -> None:
    """At 1000:1 the other readings would take 0.04 ml of product."""
    line = 'recondition mix 1000:1 --total "60 ml" --reads product-to-water'
    assert "for 60 ml: 59.9 ml product + 0.1 ml water" in done(line)


def test_json_gives_every_reading_and_never_asks() -> None:
    found = _json('recondition mix 1:10 --total "750 ml"', answer="")
    assert [one["reads"] for one in found["readings"]] == ["product-to-water", "one-in"]
    assert [one["ordinary"] for one in found["readings"]] == [True, False]
    assert [one["product_ml"] for one in found["readings"]] == ["68.2", "75.0"]
    assert found["chosen"] is None


def test_json_names_what_was_settled() -> None:
    assert _json('recondition mix 1:10 --total "1 l" --reads one-in')["chosen"] == "one-in"
    assert _json('recondition mix "1 in 10" --total "1 l"')["chosen"] == "one-in"


def test_every_answer_ends_with_what_is_counted_and_the_caution() -> None:
    for line in LINES[:-1]:
        said = " ".join(done(line).split())
        assert "Stock and cost count the " in said
        assert "the label and the safety data sheet decide" in said
        assert "water goes in first, then the concentrate" in said


def test_reading_needs_no_book(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("RECONDITION_BOOK", raising=False)
    assert run('recondition mix 1:4 --total "500 ml"').status == 0
    assert list(tmp_path.iterdir()) == []


def test_where_a_refusal_comes_from() -> None:
    assert "where: --total" in run('recondition mix 1:10 --total "2 caps"').err
    assert "where: --product" in run('recondition mix 1:10 --product "1 gallon"').err
    assert "where: RATIO" in run('recondition mix 1:-10 --total "1 l"').err


@pytest.mark.usefixtures("shop")
def test_a_blocked_product_is_not_mixed_until_it_is_allowed() -> None:
    add = "recondition product add HF 'Wheel acid' 'wheel acid' ml --ph 2 --parts-of-product 1"
    row = f"{add} --parts-of-water 4 --dilution-on-the-label 1+4 --ingredients 'bifluoride 3 %'"
    done(row)
    refused = run("recondition mix --of HF --total 750ml")
    assert refused.status == 1
    assert "burn deep without early pain" in refused.err
    assert "750" not in refused.out
    done(f"{row} --allowed-because 'gel on site, two trained'")
    mixed = run("recondition mix --of HF --total 750ml")
    assert mixed.status == 0
    assert "150 ml product" in mixed.out
    assert "corrosive" in mixed.err
    assert "pH: 2 as it is, 2.7 in the mix at most" in mixed.err
