"""The empty workbook opens, is empty, and shows how to fill it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest
from openpyxl import load_workbook

from recondition.book.settings import settings_from
from recondition.condition.panels import PANELS
from recondition.intake import headings
from recondition.intake.blank import FileThere, choices, heading, write_blank, write_blank_for
from recondition.intake.cells import Cell
from recondition.intake.load import load
from recondition.intake.sheets import SHEETS
from recondition.intake.sources import READ_ME
from tests.intake.sheetmaker import base, write_workbook

if TYPE_CHECKING:
    from pathlib import Path

    from recondition.book.engine import Book


@pytest.fixture(scope="module")
def blank_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("blank") / "blank.xlsx"
    write_blank(path)
    return path


@pytest.fixture(scope="module")
def blank(blank_file: Path) -> Any:
    return load_workbook(blank_file)


def test_it_imports_as_empty(book: Book, blank_file: Path, tmp_path: Path) -> None:
    load(book, write_workbook(tmp_path / "job.xlsx", base()), author_ref="HK")
    report = load(book, blank_file, author_ref="HK")
    assert report.rows == 0
    assert report.notices == ()
    assert report.words() == ["blank.xlsx has no rows to import; the book is as it was."]


def test_every_sheet_and_every_heading(blank: Any) -> None:
    assert blank.sheetnames == [READ_ME, *(sheet.name for sheet in SHEETS)]
    for sheet in SHEETS:
        first = [Cell(cell.value) for cell in blank[sheet.name][1]]
        found = headings.match(sheet, 1, first)
        assert found is not None
        assert set(found.positions) == {column.field for column in sheet.columns}
        assert found.extra == ()
        assert blank[sheet.name].freeze_panes == "B2"


def test_refs_are_there_as_text(blank: Any) -> None:
    page = blank["findings"]
    assert [page["A2"].value, page["A201"].value, page["A202"].value] == ["F-001", "F-200", None]
    assert page["A2"].number_format == "@"
    chassis = next(c for c in blank["vehicles"][1] if str(c.value).startswith("chassis"))
    assert blank["vehicles"].column_dimensions[chassis.column_letter].number_format == "@"


def test_lists_fit_into_a_cell_and_say_what_is_allowed(blank: Any) -> None:
    for sheet in SHEETS:
        lists = {v.promptTitle: v for v in blank[sheet.name].data_validations.dataValidation}
        for column in sheet.columns:
            check = lists[column.heading[:32]]
            assert check.prompt
            assert len(check.prompt) <= 255
            listed = choices(column)
            if listed:
                assert check.formula1 == '"' + ",".join(listed) + '"'
                assert len(check.formula1) <= 255
                assert not any("," in word for word in listed)


def test_the_page_names_every_column_and_panel(blank: Any) -> None:
    said = {cell.value for row in blank[READ_ME].iter_rows() for cell in row if cell.value}
    for sheet in SHEETS:
        assert sheet.explanation in said
        assert {column.heading for column in sheet.columns} <= said
    assert {panel for panels in PANELS.values() for panel in panels} <= said


def test_a_filled_blank_comes_in(book: Book, tmp_path: Path) -> None:
    path = tmp_path / "blank.xlsx"
    write_blank(path, settings_from({"currency": "EUR"}))
    workbook = load_workbook(path)
    for name, rows in base().items():
        page = workbook[name]
        at = {str(cell.value).removesuffix(" *"): cell.column for cell in page[1]}
        for number, row in enumerate(rows[1:], start=2):
            for title, value in zip(rows[0], row, strict=True):
                page.cell(number, at[title], value)
    workbook.save(path)
    report = load(book, path, author_ref="HK")
    assert {count.sheet: count.new for count in report.counts} == {
        "settings": 4, "people": 1, "rates": 1, "vehicles": 1, "findings": 2, "labour": 1,
    }  # fmt: skip


def test_a_second_workbook_goes_on_where_the_first_ended(book: Book, tmp_path: Path) -> None:
    load(book, write_workbook(tmp_path / "job.xlsx", base()), author_ref="HK")
    write_blank_for(book, tmp_path / "next.xlsx")
    workbook = load_workbook(tmp_path / "next.xlsx")
    assert workbook["findings"]["A2"].value == "F-003"
    assert workbook["labour"]["A2"].value == "L-002"
    assert workbook["settings"]["B2"].value == "USD"


def test_nothing_is_overwritten(tmp_path: Path) -> None:
    (tmp_path / "blank.xlsx").write_text("mine", encoding="utf-8")
    with pytest.raises(FileThere):
        write_blank(tmp_path / "blank.xlsx")
    assert (tmp_path / "blank.xlsx").read_text(encoding="utf-8") == "mine"


def test_a_star_marks_what_is_needed() -> None:
    stars = {heading(column) for column in SHEETS[1].columns}
    assert stars == {"initials *", "name *", "role *", "contact", "skills", "hours a day"}
