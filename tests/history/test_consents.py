"""Hours, people, firms and product names: each shown by its own consent, and by no other."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from recondition.fields import Id
from recondition.history.allowed import Allowed
from recondition.history.records import Shows
from tests.history.invented import CONSENTS, consent, sheet, source
from tests.history.invented_work import lines
from tests.history.reading import html_of, json_of, page_text, pdf_of, pdf_text, squeezed

if TYPE_CHECKING:
    from recondition.history.sheet import Sheet

# What each consent lets show of the invented vehicle, in words as they stand on the page.
SHOWN = {
    Shows.HOURS: ("3.5 h hands-on", "1.5 h hands-on"),
    Shows.PERSON: ("Marit Oxholm",),
    Shows.FIRM: ("Vantongeren Trim",),
    Shows.PRODUCTS: ("Lumeska No. 3", "LB-2204", "Tallgren 4"),
}
# Never shown, whatever anybody agreed to.
NEVER = ("Asked at the bench", "the yard, by bell", "Pellard Supplies", "TG-118", "24.00", "7741")


def _given(*shows: Shows) -> Sheet:
    return sheet(consents=tuple(each for each in CONSENTS if each.entry.shows in shows))


@pytest.mark.parametrize("switch", [*Shows, None])
def test_each_switch_alone_shows_its_own_fields_and_no_other(switch: Shows | None) -> None:
    made = _given(switch) if switch else _given()
    seen = squeezed(page_text(html_of(made)))
    for shows, texts in SHOWN.items():
        there = [squeezed(text) in seen for text in texts]
        assert there == [shows is switch] * len(texts), shows
    told = json_of(made)
    for shows, texts in SHOWN.items():
        if shows is not Shows.HOURS:  # a number there, without its words
            assert [text in told for text in texts] == [shows is switch] * len(texts), shows
    hours = [row.hours for row in made.work if row.hours is not None]
    assert bool(hours) is (switch is Shows.HOURS)


def test_all_together_show_all_and_still_nothing_else() -> None:
    made = _given(*Shows)
    agreed = [text for texts in SHOWN.values() for text in texts]
    for seen in (page_text(html_of(made)), pdf_text(pdf_of(made))):
        bare = squeezed(seen)
        assert [text for text in agreed if squeezed(text) not in bare] == []
        assert [text for text in NEVER if squeezed(text) in bare] == []
    assert [text for text in NEVER if text in json_of(made)] == []


def test_a_person_or_firm_that_was_not_asked_is_not_named() -> None:
    other = (consent(Shows.PERSON, person=Id("p-2")), consent(Shows.FIRM, supplier=Id("s-9")))
    made = sheet(consents=other)
    assert [row.people for row in made.work if row.people] == []
    assert [row.firms for row in made.work if row.firms] == []


def test_others_who_worked_are_told_of_without_a_name() -> None:
    told = [
        replace(line, entry=replace(line.entry, person=Id("p-2"))) if line.id == "l-7" else line
        for line in lines()
    ]
    # Two lines on one day at one place: one by somebody who agreed, one by somebody else.
    pair = [line for line in told if line.id == "l-7"]
    second = replace(pair[0], id="l-77", entry=replace(pair[0].entry, person=Id("p-1")))
    made = sheet(lines=(*told, second), consents=(consent(Shows.PERSON, person=Id("p-1")),))
    (row,) = [row for row in made.work if row.unnamed]
    assert row.people == ("Marit Oxholm",)
    assert "Marit Oxholm and others of the shop" in page_text(html_of(made))


def test_an_erased_name_is_not_shown() -> None:
    whole = source(consents=CONSENTS)
    gone = replace(whole.people["p-1"], entry=replace(whole.people["p-1"].entry, name=""))
    erased = Allowed(replace(whole, people={"p-1": gone}))
    assert erased.person("p-1") is None
    assert Allowed(whole).person("p-1") == "Marit Oxholm"


def test_the_names_that_may_be_shown_are_listed() -> None:
    names = set(Allowed(source(consents=CONSENTS)).names())
    assert names == {"Marit Oxholm", "Vantongeren Trim", "Lumeska No. 3", "Tallgren 4"}
    assert set(Allowed(source()).names()) == set()
