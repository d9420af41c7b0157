"""The files that are handed out: which, in what order, under which names, and in what groups."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from recondition.history.evidence import grouped, path_of
from recondition.history.layout import Pictures, Section, Table
from recondition.history.sheet import Issue, Sheet, build
from recondition.ledger.documents import Visibility
from tests.history.invented import sheet, source
from tests.history.invented_seen import documents, issued
from tests.history.reading import html_of, json_of, page_of, page_text
from tests.history.storing import MADE_ON

TITLES = [
    "as it rolled in",
    "bonnet under the point light",
    "the same place after the last step",
    "tracing of the side stripe",
]


def _section(made: Sheet, anchor: str) -> Section:
    (section,) = [section for section in page_of(made).sections if section.anchor == anchor]
    return section


def test_listed_files_come_by_the_time_they_were_taken_and_others_are_counted() -> None:
    made = sheet()
    assert [row.title for row in made.evidence] == TITLES
    assert [row.number for row in made.evidence] == [1, 2, 3, 4]
    assert made.kept_back == 2
    seen = page_text(html_of(made)) + json_of(made)
    assert "2 further files are kept" in seen
    for hidden in ("the owner's garage", "invoice of the maker", "0001.jpg"):
        assert hidden not in seen


def test_files_are_named_by_number_and_kind_alone() -> None:
    assert [row.path.rpartition("/")[2] for row in sheet().evidence] == [
        "001.jpg", "002.jpg", "003.jpg", "004.pdf",
    ]  # fmt: skip
    assert path_of(12, "text/plain") == "work-history-evidence/012.txt"


def test_a_pair_names_its_finding_and_its_picture_before() -> None:
    _, before, after, tracing = sheet().evidence
    assert (before.finding, before.before) == (1, None)
    assert (after.finding, after.before) == (None, 2)
    assert (tracing.picture, before.picture) == (False, True)
    # The camera was an hour ahead, and the day is the one of the time put right.
    assert (before.taken_on, after.taken_on) == (date(2025, 4, 3), date(2025, 4, 18))


def test_a_clock_that_was_ahead_can_move_the_day() -> None:
    late = [
        replace(each, entry=replace(each.entry, taken_at="2025-04-19T00:30:00+02:00"))
        if each.id == "d-after"
        else each
        for each in documents()
    ]
    assert sheet(documents=tuple(late)).evidence[2].taken_on == date(2025, 4, 18)


def test_each_picture_stands_in_one_group_a_pair_before_all_else() -> None:
    rows = sheet().evidence
    found = grouped(rows, date(2025, 4, 5))
    assert [row.number for row in found.arrival] == [1]
    assert [(one.number, two.number) for one, two in found.pairs] == [(2, 3)]
    assert found.others == ()
    late = grouped(rows, date(2025, 4, 2))
    assert (late.arrival, [row.number for row in late.others]) == ((), [1])


def test_a_picture_whose_partner_is_not_handed_out_stands_alone() -> None:
    told = [
        replace(each, entry=replace(each.entry, visibility=Visibility.EVIDENCE))
        if each.id == "d-before"
        else each
        for each in documents()
    ]
    found = grouped(sheet(documents=tuple(told)).evidence, date(2025, 4, 5))
    assert found.pairs == ()
    assert [row.number for row in found.others] == [2]


def test_pictures_of_no_known_day_are_not_of_the_arrival() -> None:
    rows = tuple(replace(row, taken_on=None) for row in sheet().evidence)
    assert grouped(rows, date(2025, 4, 5)).arrival == ()
    assert len(grouped(sheet().evidence, None).arrival) == 1


def test_pictures_stand_where_they_belong_with_words_for_each() -> None:
    made = sheet()
    (arrival,) = [b for b in _section(made, "condition").blocks if isinstance(b, Pictures)]
    assert [[shot.name for shot in group] for group in arrival.groups] == [["evidence/1"]]
    (pairs,) = [b for b in _section(made, "pictures").blocks if isinstance(b, Pictures)]
    assert [[shot.name for shot in group] for group in pairs.groups] == [
        ["evidence/2", "evidence/3"]
    ]
    assert pairs.groups[0][1].alt == "the same place after the last step, bonnet, 18 April 2025"


def test_the_list_gives_the_hash_of_the_copy_and_of_the_sealed_original() -> None:
    made = sheet()
    (table,) = [block for block in _section(made, "evidence").blocks if isinstance(block, Table)]
    assert len(table.rows) == 4
    for row, told in zip(made.evidence, table.rows, strict=True):
        assert told[-1].lines == (f"copy {row.sha256}",)
        assert told[-1].notes == (f"sealed original {row.sealed}",)


def test_a_text_is_handed_out_as_it_is_and_needs_no_sealed_original() -> None:
    files = issued(documents())
    plain = replace(files["d-tracing"], media_type="text/plain")
    told = tuple(each for each in documents() if each.id == "d-tracing")
    (row,) = build(source(documents=told), Issue(1, MADE_ON), {"d-tracing": plain}).evidence
    assert (row.sealed, row.path) == (None, "work-history-evidence/001.txt")


def test_work_and_parts_point_at_the_files_that_show_them() -> None:
    made = sheet()
    (decals,) = made.parts
    assert decals.evidence == (4,)  # the tracing; the invoice beside it is private
    assert "Shown in" in page_text(html_of(made))
