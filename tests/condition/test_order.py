"""The order of work: each rule of the trade's table broken once and kept once.

The rules are those of the job, A.3 (common practice, no source).
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from recondition.condition.cautions import Task
from recondition.condition.order import (
    RULES,
    Event,
    EventLog,
    RuleKind,
    Scope,
    WorkRule,
    broken,
    in_force,
)
from recondition.fields import Words

DAY = date(2031, 3, 4)


def events(*told: str, panel: str | None = "roof", on: date = DAY) -> list[Event]:
    return [Event(text, panel, on, n, f"L-{n}") for n, text in enumerate(told, start=1)]


def names(task: str, *before: str, panel: str | None = "roof", on: date = DAY) -> list[str]:
    found = broken(EventLog(RULES, events(*before, on=DAY)), Task(task, panel=panel), on)
    return [each.name for each in found]


@pytest.mark.parametrize(
    ("rule", "task", "breaks", "keeps"),
    [
        ("photographs before the wash", "wash", [], ["photograph arrival"]),
        ("arrival photographs after the wash", "photograph arrival", ["wash"], []),
        ("fragile places before water", "wash", ["photograph"], ["intake"]),
        ("wash before decontamination", "clay", ["decontaminate"], ["wash", "decontaminate"]),
        ("iron and tar before clay", "clay", ["wash"], ["wash", "iron remover"]),
        ("wash before measuring", "measure", [], ["wash"]),
        ("readings before abrasives", "polish", ["test panel"], ["measure film"]),
        ("test panel before correction", "compound", ["measure film"], ["test panel"]),
        ("lead swab before dry sanding", "dry sand", ["lead swab positive"],
         ["lead swab negative"]),
        ("cure before polishing new paint", "polish", ["blend repaint"],
         ["blend repaint", "cured, released"]),
        ("polish before coating", "coat", ["wipe-down"], ["polish", "wipe-down"]),
        ("wipe-down before coating", "coat", ["wipe-down", "polish"], ["polish", "wipe-down"]),
        ("residue off before the new decal", "new decal", ["decal off with heat"],
         ["decal off with heat", "residue"]),
        ("never a decal on a coating", "new decal", ["coat"], ["polish"]),
        ("decal on a cooled panel", "new decal", ["heat", "residue"],
         ["heat", "residue", "cooled"]),
        ("no heat after solvent", "heat", ["residue solvent"], ["wash"]),
        ("dusty work first", "compound", ["clean seats"], ["polish"]),
        ("headlining first", "clean headlining", ["clean carpets"], ["clean glass"]),
        ("dash before seats and carpets", "clean dash", ["clean seats"], ["clean headlining"]),
        ("seats before carpets", "clean seats", ["clean carpets"], ["clean dash"]),
        ("leather: dye before feeding", "recolour", ["feed"], ["clean"]),
        ("leather: repair before dyeing", "fill", ["dye"], ["clean"]),
        ("wheels off once", "wheels off", ["wheels off"], ["wash"]),
        ("engine bay before the final wipe", "clean engine covers", ["wipe-down"], ["wash"]),
        ("tyres last", "clean glass", ["dress tyres"], ["wash"]),
        ("a coating is left overnight", "polish", ["coat"], ["wash"]),
        ("quality check next morning", "quality check", ["polish"], ["wash"]),
        ("photographs after the quality check", "photograph", ["polish"],
         ["polish", "quality check"]),
    ],
)  # fmt: skip
def test_each_rule_is_told_when_broken(
    rule: str, task: str, breaks: list[str], keeps: list[str]
) -> None:
    assert rule in names(task, *breaks)
    assert rule not in names(task, *keeps)


def test_every_rule_of_the_trade_is_tried_above() -> None:
    marks = [m for m in test_each_rule_is_told_when_broken.pytestmark if m.name == "parametrize"]
    assert {row[0] for row in marks[0].args[1]} == set(RULES)


def test_only_health_stops_work() -> None:
    assert [name for name, rule in RULES.items() if rule.stops] == ["lead swab before dry sanding"]
    assert "lead swab before dry sanding" not in names("wet sand")
    dusty = Task("prepare", "dry sanded the edge", "roof")
    assert [b.name for b in broken(EventLog(RULES), dusty, DAY) if b.rule.stops]


def test_another_panels_work_does_not_count() -> None:
    seen = events("wipe-down", "polish", panel="bonnet")
    found = [b.name for b in broken(EventLog(RULES, seen), Task("coat", panel="roof"), DAY)]
    assert {"polish before coating", "wipe-down before coating"} <= set(found)


def test_the_next_day_is_another_day() -> None:
    assert "quality check next morning" not in names("quality check", "polish",
                                                     on=DAY + timedelta(days=1))  # fmt: skip


def test_a_books_own_rule_adds_replaces_and_takes_away() -> None:
    own = WorkRule(
        task=("sand",), kind=RuleKind.NEEDS, other=("mask",), why=Words("edges burn"),
        scope=Scope.PANEL,
    )  # fmt: skip
    together = in_force({"mask first": own, "tyres last": replace(own, off=True)})
    assert "mask first" in together
    assert "tyres last" not in together
    assert len(together) == len(RULES)
    (found,) = [
        b for b in broken(EventLog(together), Task("sand", panel="roof"), DAY) if b.rule is own
    ]
    assert found.said() == "mask first: nothing on record says 'mask' before it; edges burn."


def test_what_broke_a_rule_is_named() -> None:
    (found,) = [
        b
        for b in broken(EventLog(RULES, events("coat")), Task("new decal", panel="roof"), DAY)
        if b.name == "never a decal on a coating"
    ]
    assert found.said().startswith("never a decal on a coating: it comes after L-1; ")
