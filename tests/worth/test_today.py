"""The day's list: a doable order, and why what waits has to wait."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from recondition.amounts import Quantity
from recondition.condition.bodies import body_of
from recondition.condition.film import FilmReading, Instrument, Principle
from recondition.condition.order import RULES
from recondition.fields import Id, Words
from recondition.ledger.jobsheet import JobSheet
from recondition.ledger.lines import Labour, Purpose, Standing, Unlinked
from recondition.ledger.orders import Order, Ordered
from recondition.ledger.planned import plan_notes
from recondition.materials.products import Product
from recondition.worth.estimates import Candidate, CandidateState, ThreeNumbers
from recondition.worth.today import Day, Todo, Worked, hours_words, not_chosen, todays
from tests.worth.build import work

NOW = datetime(2031, 3, 4, 10, tzinfo=UTC)
TODAY = NOW.date()
DONE, STARTED, LEFT = CandidateState.DONE, CandidateState.STARTED, CandidateState.LEFT


def um(text: str) -> Quantity:
    return Quantity.of(text, "um")


def sheet(candidates: dict[str, Candidate], **more: Any) -> JobSheet:
    """Give what is known of a car: no rules of the order of work unless they are named."""
    known = {"body": body_of("coupe"), "floor_um": Decimal(80), "rules": {}, "names": {}}
    gauge = Instrument(name="gauge", principle=Principle.BOTH, uncertainty=um("2.5"))
    known |= {"instruments": {"G": gauge}, "products": {}, "candidates": candidates}
    return JobSheet(**(known | more))


def day(candidates: dict[str, Candidate], **more: Any) -> Day:
    named = {item: each if each.name != "work" else replace(each, name=Words(f"job {item}"))
             for item, each in candidates.items()}  # fmt: skip
    known: dict[str, Any] = {
        "sheet": sheet(named), "refs": {item: item for item in named}, "now": NOW, "chosen": None,
        "worked": {}, "orders": {}, "owner": {}, "shelf": {}, "no_touch": frozenset(),
    }  # fmt: skip
    return Day(candidates=named, **(known | more))


def listed(found: Day) -> dict[str, Todo]:
    return {todo.item: todo for todo in todays(found)}


def why(found: Day, item: str) -> list[str]:
    return [each.words for each in listed(found)[item].waits]


def test_what_was_chosen_is_listed_and_what_is_over_is_not() -> None:
    candidates = {
        "A": work(), "B": work(state=STARTED), "C": work(), "D": work(state=DONE),
        "E": work(state=LEFT),
    }  # fmt: skip
    assert list(listed(day(candidates))) == ["B", "A", "C"]
    decided = day(candidates, chosen=frozenset({"A", "D"}))
    assert list(listed(decided)) == ["B", "A"]
    assert not_chosen(decided) == ("C",)
    assert not_chosen(day(candidates)) == ()


def test_requirements_come_first_and_are_waited_for() -> None:
    found = day({"A": work(requires=("C",)), "B": work(after_all=True), "C": work(),
                 "D": work(requires=("E",)), "E": work(state=LEFT), "F": work(excludes=("G",)),
                 "G": work(state=DONE)})  # fmt: skip
    assert list(listed(found)) == ["C", "A", "D", "F", "B"]
    assert why(found, "A") == ["needs C (job C) first"]
    assert why(found, "B") == ["comes after all other work: A, C, D and 1 more to do yet"]
    assert why(found, "C") == []
    assert why(found, "D") == ["needs E (job E), which was left"]
    assert why(found, "F") == ["excluded by G (job G), which is done"]


def test_a_cure_runs_on_what_requires_it_and_on_its_panels() -> None:
    spray = work(state=DONE, cure_hours=Decimal("12.5"), panels=("bonnet",))
    candidates = {"S": spray, "A": work(requires=("S",)), "B": work(panels=("bonnet", "roof")),
                  "C": work(panels=("roof",))}  # fmt: skip
    ended = {"S": Worked(Fraction(1), NOW - timedelta(hours=3))}
    found = day(candidates, worked=ended)
    assert why(found, "A") == ["the cure of S (job S) runs until 19:30"]
    assert why(found, "B") == ["the cure of S (job S) on bonnet runs until 19:30"]
    assert why(found, "C") == []
    late = day(candidates, worked={"S": Worked(Fraction(1), NOW)})
    assert why(late, "A") == ["the cure of S (job S) runs until 22:30"]
    tomorrow = day(candidates, worked={"S": Worked(Fraction(1), NOW + timedelta(hours=3))})
    assert why(tomorrow, "A") == ["the cure of S (job S) runs until 2031-03-05 01:30"]
    over = day(candidates, worked={"S": Worked(Fraction(1), NOW - timedelta(hours=12.5))})
    assert why(over, "A") == []


def order(**more: Any) -> Order:
    given = {"what": Ordered.PART, "name": Words("decal"), "quantity": Quantity.of("1", "piece")}
    return Order(vehicle=Id("v"), **(given | more))


@pytest.mark.parametrize(
    ("made", "said"),
    [
        (order(), ["decal (OR-1) is not ordered yet"]),
        (order(what=Ordered.SUBLET), ["decal (OR-1) is not sent out yet"]),
        (order(ordered_on=date(2031, 2, 1), promised_on=date(2031, 3, 1)),
         ["decal (OR-1) is not here: ordered 2031-02-01, promised for 2031-03-01, which is past"]),
        (order(what=Ordered.SUBLET, ordered_on=date(2031, 2, 1), promised_on=TODAY),
         ["decal (OR-1) is out since 2031-02-01, promised for 2031-03-04"]),
        (order(ordered_on=date(2031, 2, 1)),
         ["decal (OR-1) is not here: ordered 2031-02-01, no day promised"]),
        (order(ordered_on=date(2031, 2, 1), received_on=date(2031, 2, 9)), []),
        (order(ordered_on=date(2031, 2, 1), returned_on=date(2031, 2, 9)), []),
    ],
)  # fmt: skip
def test_a_part_or_sublet_work_that_is_not_here(made: Order, said: list[str]) -> None:
    assert why(day({"A": work()}, orders={"A": (("OR-1", made),)}), "A") == said


def test_the_owner_consent_and_what_must_not_be_touched() -> None:
    candidates = {
        "A": work(), "B": work(irreversible=True), "D": work(panels=("roof", "bonnet")),
        "C": work(irreversible=True, consent_given=True), "E": work(no_touch=True),
        "F": work(products=("P",)),
    }  # fmt: skip
    found = day(
        candidates, owner={"A": "the owner declined it"}, no_touch=frozenset({"roof"}),
        shelf={"P": "nothing of Cut 3 is in stock on record"},
        sheet=sheet({}, products={"P": Product(name="Cut 3", material_type="compound", unit="ml")},
                    names={"P": "PR-1"}),
    )  # fmt: skip
    said = {item: why(found, item) for item in "ABCDEF"}
    assert said == {
        "A": ["the owner declined it"],
        "B": ["cannot be undone, and no consent is on record"],
        "C": [],
        "D": ["not to be touched: roof"],
        "E": ["not to be touched"],
        "F": ["nothing of Cut 3 is in stock on record"],
    }


def reading_on(on: date, lowest: str = "120") -> FilmReading:
    return FilmReading(
        vehicle=Id("v"), panel="bonnet", instrument=Id("G"), read_on=on, unit="um",
        readings=(Decimal(lowest),), place=None,
    )  # fmt: skip


def measured(candidates: dict[str, Candidate], lowest: str) -> JobSheet:
    known = sheet(candidates)
    known.note("T-1", reading_on(TODAY, lowest), 1)
    return known


def test_film_stops_work_or_is_not_known() -> None:
    cut = work(panels=("bonnet",), film_removal=um("4"))
    unknown = day({"A": cut})
    assert why(unknown, "A") == ["the headroom of the bonnet is not known: no readings before it."]
    assert not listed(unknown)["A"].stopped
    thin = day({"A": cut}, sheet=measured({"A": cut}, "85"))
    (said,) = why(thin, "A")
    assert said.startswith("the work is expected to take 4 um off the bonnet, more than its headr")
    assert listed(thin)["A"].stopped
    assert why(day({"A": cut}, sheet=measured({"A": cut}, "120")), "A") == []
    answered = replace(cut, override=Words("the owner wants it"))
    assert why(day({"A": answered}, sheet=measured({"A": answered}, "85")), "A") == []
    assert listed(day({"A": answered}))["A"].override == "the owner wants it"


def named(name: str, **more: Any) -> Candidate:
    return replace(work(**more), name=Words(name))


def test_rules_of_the_order_of_work_order_the_list_and_are_told() -> None:
    candidates = {
        "A": named("coat the bonnet", panels=("bonnet",)),
        "B": named("polish the bonnet", panels=("bonnet",)),
        "C": named("wash"),
    }
    rules = {name: RULES[name] for name in ("polish before coating", "wash before measuring")}
    found = day(candidates, sheet=sheet(candidates, rules=rules))
    assert list(listed(found)) == ["B", "A", "C"]
    (said,) = why(found, "A")
    assert said == (
        "polish before coating: nothing on record says 'polish' before it; a coating seals the "
        "faults in."
    )
    assert not listed(found)["A"].stopped
    done = candidates | {"B": replace(candidates["B"], state=DONE)}
    assert why(day(done, sheet=sheet(done, rules=rules)), "A") == []


def test_a_broken_rule_names_its_panels_where_it_is_not_all_of_them() -> None:
    candidates = {"A": named("coat", panels=("bonnet", "roof"))}
    known = sheet(candidates, rules={"polish before coating": RULES["polish before coating"]})
    line = Labour(
        vehicle=Id("v"), work_date=TODAY, words=Words("polish"), unlinked=Unlinked.WHOLE_VEHICLE,
        purpose=Purpose.RECONDITIONING, standing=Standing.MEASURED, panel="bonnet",
        person=Id("p"), quantity=Quantity.of("1", "h"),
    )  # fmt: skip
    known.note("L-1", line, 1)
    (said,) = why(day(candidates, sheet=known), "A")
    assert said.endswith("a coating seals the faults in. That is on: roof.")


def test_what_is_on_record_went_before_work_that_is_to_come_whatever_its_day() -> None:
    candidates = {"A": named("polish", panels=("bonnet",))}
    rules = {name: RULES[name] for name in ("readings before abrasives", "wash before measuring")}
    known = sheet(candidates, rules=rules)
    (said,) = why(day(candidates, sheet=known), "A")
    assert said.startswith("readings before abrasives: nothing on record says 'measure' before it")
    known.note("T-1", reading_on(TODAY + timedelta(days=30)), 1)
    assert why(day(candidates, sheet=known), "A") == []
    names = {"A": "C-1"}
    assert plan_notes(known, candidates, names, TODAY) == []


def test_a_coating_of_today_is_left_overnight_and_one_marked_some_day_is_not() -> None:
    candidates = {"A": named("wash"), "B": named("coat", state=DONE)}
    known = sheet(candidates, rules={"night": RULES["a coating is left overnight"]})
    worked = {"B": Worked(Fraction(1), NOW - timedelta(hours=1))}
    (said,) = why(day(candidates, sheet=known, worked=worked), "A")
    assert said.startswith("night: it comes on the same day after B")
    yesterday = {"B": Worked(Fraction(1), NOW - timedelta(hours=20))}
    assert why(day(candidates, sheet=known, worked=yesterday), "A") == []
    assert why(day(candidates, sheet=known), "A") == []


def test_rules_that_go_in_a_circle_leave_the_order_of_entry() -> None:
    candidates = {"A": named("clean seat and carpet"), "B": named("clean carpet and seat")}
    found = day(candidates, sheet=sheet(candidates, rules=dict(RULES)))
    assert list(listed(found)) == ["A", "B"]


def test_cautions_and_hours_stand_beside_the_work() -> None:
    candidates = {"A": named("coat", hours=ThreeNumbers(Decimal(1), Decimal("2.50"), Decimal(4)))}
    (todo,) = todays(day(candidates, worked={"A": Worked(Fraction(4, 3), NOW)}))
    assert todo.cautions[0].startswith("coating vapour: ")
    assert hours_words(todo) == "2.5 h (1 to 4), 1.33 h done"
    assert hours_words(todays(day({"A": work()}))[0]) == "0 h"


NAMES = st.sampled_from(["wash", "polish", "coat", "clean seat", "clean carpet", "sand", "photo"])


@given(st.lists(st.tuples(NAMES, st.integers(0, 6), st.booleans()), min_size=1, max_size=7))
def test_every_order_respects_requirements_and_lists_each_once(
    rows: list[tuple[str, int, bool]],
) -> None:
    candidates: dict[str, Candidate] = {}
    for number, (name, needs, last) in enumerate(rows):
        requires = (f"C{needs}",) if needs < number and not rows[needs][2] else ()
        candidates[f"C{number}"] = named(name, requires=requires, after_all=last)
    found = [todo.item for todo in todays(day(candidates, sheet=sheet(candidates, rules=RULES)))]
    assert sorted(found) == sorted(candidates)
    for item, each in candidates.items():
        assert all(found.index(first) < found.index(item) for first in each.requires)
        firm = [found.index(other) for other in candidates if not candidates[other].after_all]
        assert not each.after_all or all(place < found.index(item) for place in firm)
