"""Products against surfaces, and the cautions that a task meets.

What stops is the trade's (the job, B.2 and G); the bounds of an extreme pH are published.
"""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest

from recondition.condition.cautions import DEFER, Stopped, Task, cautions, says
from recondition.condition.chemistry import Nature, Surface, clash, diluted, nature, ph_of
from recondition.condition.panels import Finish, Substrate


def product(ph: str | None = None, to: str | None = None, *texts: str) -> Nature:
    low, high = (Decimal(value) if value else None for value in (ph, to))
    return nature("M-1", low, high, "cleaner", *texts)


ACID, ALKALI, MILD = product("1.5"), product("12.1", "12.6"), product("7")
SOLVENT = product(None, None, "H226; H336")
FLUORIDE = product("3", None, "H301", "ammonium bifluoride 1-5 %")


@pytest.mark.parametrize(
    ("ph", "corrosive"),
    [("2.0", True), ("2.01", False), ("11.49", False), ("11.5", True), ("7", False)],
)
def test_an_extreme_ph_points_to_corrosion(ph: str, *, corrosive: bool) -> None:
    """CLP Annex I, 3.2.2.2: 2 or less, 11.5 or more, bounds included (check-values 4)."""
    assert product(ph).corrosive is corrosive


def test_a_range_counts_by_its_worse_end() -> None:
    assert product("11.0", "11.6").corrosive
    assert product("5.9", "7").acid
    assert not product("6", "8.5").alkaline


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("hydrofluoric acid 4 %", True),
        ("Ammonium bifluoride", True),
        ("CAS 7664-39-3", True),
        ("phosphoric acid 10 %", False),
        ("sodium fluoride-free", False),
    ],
)
def test_hydrofluoric_products_are_known_by_their_ingredients(text: str, *, found: bool) -> None:
    assert product("3", None, "", text).fluoride is found


BARE = Surface("left front wheel", Substrate.ALUMINIUM, Finish.BARE)
ANODISED = Surface("grille", material="anodised aluminium")
LACQUER = Surface("roof", finish=Finish.LACQUER)
GLASS = Surface("windscreen", material="laminated glass")
HIDE = Surface("left front seat", material="leather, original hide")
CLEAR = Surface("bonnet", Substrate.STEEL, Finish.BASE_CLEAR, "clear coat")


@pytest.mark.parametrize(
    ("used", "surface", "word"),
    [
        (ACID, BARE, "acid attacks the bare metal"),
        (ACID, ANODISED, "acid eats the anodised layer"),
        (ALKALI, BARE, "alkali etches the bare aluminium"),
        (ALKALI, ANODISED, "alkali dissolves"),
        (ALKALI, HIDE, "strong alkali"),
        (SOLVENT, LACQUER, "solvent softens the old lacquer"),
        (FLUORIDE, GLASS, "etch glass"),
        (ACID, CLEAR, ""),
        (ALKALI, CLEAR, ""),
        (MILD, BARE, ""),
        (MILD, HIDE, ""),
        (SOLVENT, CLEAR, ""),
    ],
)
def test_what_a_product_is_kept_off(used: Nature, surface: Surface, word: str) -> None:
    found = clash(used, surface)
    assert (word in found) if word else not found


def stops(task: Task) -> list[str]:
    return [each.about for each in cautions(task) if each.stops]


def abouts(task: Task) -> list[str]:
    return [each.about for each in cautions(task)]


def test_a_clash_stops_and_says_who_has_the_last_word() -> None:
    task = Task("clean", "wheel", "left front wheel", (BARE,), ACID)
    (stop,) = [each for each in cautions(task) if each.stops]
    assert stop.why == "acid attacks the bare metal of the left front wheel."
    assert cautions(task)[0] is stop or cautions(task)[0].stops
    said = str(Stopped(stop))
    assert "acid attacks" in said
    assert DEFER in said
    assert "override because" in said


def test_hydrofluoric_products_are_blocked_unless_allowed_with_a_reason() -> None:
    task = Task("clean", panel="left front wheel", product=FLUORIDE)
    assert stops(task) == ["hydrofluoric acid"]
    allowed = Task("clean", panel="left front wheel", product=FLUORIDE,
                   allowed_because="gel and training on site")  # fmt: skip
    assert stops(allowed) == []


@pytest.mark.parametrize(
    "task",
    [
        Task("spray", "two-pack lacquer on the rear quarter"),
        Task("paint", "sprayed the sill, 2K"),
        Task("prime", product=product(None, None, "EUH204")),
        Task("prime", product=product(None, None, "", "hexamethylene diisocyanate")),
    ],
)
def test_two_pack_spraying_is_sent_out(task: Task) -> None:
    assert stops(task) == ["two-pack spraying is sent out"]
    outside = Task(task.operation, task.words, product=task.product, in_house=False)
    assert stops(outside) == []


@pytest.mark.parametrize(
    ("task", "about"),
    [
        (Task("clean", panel="left front brake"), "assume asbestos"),
        (Task("scrape", "old gasket off the cover"), "assume asbestos"),
        (Task("clean", "underside washed and photographed"), "stands, not jacks"),
        (Task("wheels off"), "stands, not jacks"),
        (Task("decal off", "with heat"), "heat"),
        (Task("polish", panel="roof", product=SOLVENT), "solvent"),
        (Task("polish", panel="roof", product=SOLVENT), "surface not on record"),
        (Task("clean", panel="left front wheel", product=ACID), "mild cleaner first"),
        (Task("clean", panel="grille", surfaces=(CLEAR,), product=ALKALI), "corrosive"),
        (Task("clean", product=product()), "no data sheet on file"),
        (Task("wet sand", panel="bonnet"), "sanding dust"),
        (Task("coat", panel="bonnet"), "coating vapour"),
        (Task("ozone", "smell"), "ozone"),
        (Task("remove", "airbag cover"), "airbags"),
    ],
)
def test_a_caution_shows_where_it_applies(task: Task, about: str) -> None:
    assert about in abouts(task)
    (found,) = [each for each in cautions(task) if each.about == about]
    assert found.why.endswith(".")
    assert found.said().endswith(DEFER)


def test_where_nothing_applies_nothing_shows() -> None:
    assert cautions(Task("inspect", "in the room with one lamp", "bonnet")) == []
    assert cautions(Task("clean", panel="bonnet", surfaces=(CLEAR,), product=MILD)) == []


def test_words_match_from_their_beginning() -> None:
    assert says("roof polished", "polish")
    assert not says("unpolished", "polish")
    assert says("clean headlining", "headlining+clean")
    assert not says("clean seats", "headlining+clean")


@pytest.mark.parametrize(("ions", "ph"), [("1.2e-3", "2.92"), ("2.0e-6", "5.70")])
def test_ph_is_that_of_the_hydronium_ions(ions: str, ph: str) -> None:
    """OpenStax Chemistry, "pH and pOH": printed examples (check-values 4)."""
    assert round(ph_of(Decimal(ions)), 2) == Decimal(ph)


@pytest.mark.parametrize(
    ("ph", "times", "mixed"),
    [("1", 10, "2"), ("12.6", 11, "11.56"), ("13", 100, "11"), ("6.5", 1000, "7"), ("7", 5, "7"),
     ("8", 1000, "7"), ("2", 1, "2")],
)  # fmt: skip
def test_a_dilution_moves_the_ph_by_its_logarithm_at_most(ph: str, times: int, mixed: str) -> None:
    assert round(diluted(Decimal(ph), Fraction(times)), 2) == Decimal(mixed)
