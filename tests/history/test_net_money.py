"""What counts as an amount in money form, and how the refusal tells of one that was found."""

from __future__ import annotations

import pytest

from recondition.history.net import Hit, LeakFound, search
from tests.history.test_net import amounts, usd


@pytest.mark.parametrize(
    ("written", "found"),
    [
        ("Soleta 1500 cabriolet", False),
        ("1,500", True),
        ("1500.00", True),
        ("1500 USD", True),
        ("$1500", True),
        ("EUR 1500", True),
        ("1 500", True),
    ],
)
def test_a_round_amount_is_one_only_in_money_form(written: str, *, found: bool) -> None:
    hits = search({"page.html": [f"the {written} it was"]}, amounts(usd("1500.00")))
    assert bool(hits) is found


def test_a_figure_that_is_not_round_is_found_bare_too() -> None:
    assert search({"page.html": ["1204 on the roof"]}, amounts(usd("1204.00")))


def test_one_private_thing_in_several_outputs_is_one_line_of_the_refusal() -> None:
    (made,) = amounts(usd("4711.25"))
    hits = [Hit(name, made, "for it") for name in ("page.html", "sheet.pdf")]
    assert "in page.html, sheet.pdf:" in LeakFound("MY-CAR", hits, {made: "abcdefgh"}).where
