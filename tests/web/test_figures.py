"""Drawings keep their look under the strict policy, and stay apart from each other."""

from __future__ import annotations

import re

from recondition.reports.drawing import Figure, drawing, finished
from recondition.web.figures import strict


def drawn(name: str) -> Figure:
    with drawing(2) as (canvas, axes):
        axes.plot([1, 2], [2, 3])
        axes.text(1, 2, 'said "so" & more')
        return finished(canvas, name, "A line", "It rises.")


def test_no_style_stands_on_an_element_and_each_has_its_rule() -> None:
    figure = drawn("steps")
    made = strict(figure, "mark")
    sheet, body = made.split("</style>", 1)
    assert sheet.startswith('<style nonce="mark">')
    assert "style" not in re.sub(r">[^<]*<", "><", body)
    named = set(re.findall(r'class="([^"]+)"', body))
    ruled = dict(re.findall(r"#fig-steps \.(\S+) \{([^}]*)\}", sheet))
    assert named == set(ruled)
    kept = {style.replace("&quot;", '"') for style in re.findall(r'style="([^"]*)"', figure.svg)}
    assert set(ruled.values()) == kept


def test_a_rule_of_one_drawing_does_not_reach_another() -> None:
    rules = strict(drawn("steps 0007"), "m").split("</style>")[0].splitlines()[1:]
    assert all(rule.startswith("#fig-steps-0007 ") for rule in rules if rule)
    assert '<svg id="fig-steps-0007"' in strict(drawn("steps 0007"), "m")
