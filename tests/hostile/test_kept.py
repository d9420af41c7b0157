"""Inputs that once ended in anything but a value or a refusal, or took far too long."""

from __future__ import annotations

import base64
import io
import os
import struct
import time
import zlib
from typing import TYPE_CHECKING, Any

import pypdf
import pytest

from recondition.book.setting_errors import BadSetting
from recondition.book.settings import settings_from
from recondition.condition.data_sheet import read_data_sheet
from recondition.intake.cells import Cell, CellRefused, NotADate, NotANumber, OutOfBounds
from recondition.intake.dates import month
from recondition.intake.lists import READINGS_MAX
from recondition.intake.sheets import sheet_named
from recondition.intake.typed import LINES_MAX, LineNotClear, Typed, lines_of
from recondition.intake.values import parse_cell
from recondition.reports.checking import NothingToCheck, checked
from recondition.reports.exporting import BadColumnMap, _chosen
from recondition.reports.public_files import FileNotPublished, pictured_pdf
from recondition.reports.public_pictures import PictureNotPublished, publish
from recondition.reports.reopened import OutputNotReadable, texts_of
from recondition.reports.reopened_pdf import NoPdf, inside
from recondition.reports.reopened_pictures import NoPicture, blocks_in
from tests.hostile import good

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

SETTINGS = settings_from({"currency": "USD"})
NO_PALETTE = (
    "iVBORw0KGgoAAAANSUhEUgAAAAkAAAAHAQMAAADgVfUjAAAAC0lEQVR4nGNgwAIAABUAAapll8QAAAAASUVORK5CYII="
)
LONG = 20_000
SECONDS_MAX = 1.0


def read(sheet: str, field: str, text: str) -> Any:
    """Read a text as a cell of a column."""
    return parse_cell(Cell(text), sheet_named(sheet).column(field), SETTINGS)


def test_a_picture_of_a_palette_without_one() -> None:
    with pytest.raises(PictureNotPublished, match="damaged"):
        publish(base64.b64decode(NO_PALETTE))


def test_a_zip_whose_member_lies_before_its_beginning() -> None:
    content = bytearray(good.packed({"a.txt": b"b"}))
    struct.pack_into("<L", content, content.index(b"PK\x05\x06") + 16, 0xFF000000)
    with pytest.raises(OutputNotReadable, match="no whole zip"):
        texts_of("a.zip", bytes(content))


def test_a_member_of_a_zip_without_a_name(tmp_path: Path) -> None:
    (tmp_path / "a.zip").write_bytes(good.packed({"": b"a"}))
    with pytest.raises(NothingToCheck, match="leads elsewhere"):
        checked(tmp_path / "a.zip")
    assert "a" in texts_of("a.zip", good.packed({"": b"a"}))


@pytest.mark.parametrize("row", ["9" * 5000, "0", "4", "\u0664"])
def test_a_row_of_a_typed_sheet_that_is_none(row: str) -> None:
    with pytest.raises(LineNotClear, match="rows 1 to 3") as caught:
        Typed("0007", "2031-03-04", ("bonnet", "roof", "boot lid")).row(f"{row}: scratch")
    assert len(caught.value.what) < 200


def test_a_raised_figure_is_the_name_of_a_panel() -> None:
    _, values = Typed("0007", "2031-03-04", ("roof",)).row("\u00b2: scratch") or ("", {})
    assert values["panel"] == "\u00b2"


@pytest.mark.parametrize("text", ["x" * 10**6, "a\n" * (LINES_MAX + 1)])
def test_more_lines_than_a_sheet_has(text: str) -> None:
    with pytest.raises(LineNotClear, match="more than a sheet has"):
        list(lines_of(io.StringIO(text)))


def test_lines_in_another_encoding() -> None:
    stream = io.TextIOWrapper(io.BytesIO(b"lamp = s\xfcn\n"), encoding="utf-8")
    with pytest.raises(LineNotClear, match="UTF-8"):
        list(lines_of(stream))


@pytest.mark.parametrize("text", ["1000000001", "9" * 50])
def test_a_count_that_no_database_holds(text: str) -> None:
    for sheet, field in (("vehicles", "model_year"), ("products", "expected_uses")):
        with pytest.raises(OutOfBounds, match="at most"):
            read(sheet, field, text)


def test_a_month_in_other_figures_is_none() -> None:
    with pytest.raises(NotADate):
        month(Cell("\u0662\u0660\u0662\u0664-05"), sheet_named("rates").columns[0], SETTINGS)


def test_a_number_so_small_that_it_fills_the_memory() -> None:
    from decimal import Decimal  # noqa: PLC0415 - only here

    column = sheet_named("parts").column("price")
    with pytest.raises(CellRefused):
        parse_cell(Cell(Decimal("1E-99999999")), column, SETTINGS)


SLOW: dict[str, Callable[[], object]] = {
    "money": lambda: read("parts", "price", "1 " + "to " * LONG + "5"),
    "a rate": lambda: read("terms", "premium", "6%" + " up" * 6000 + "x"),
    "a rate of blanks": lambda: read("terms", "premium", "6%" + " " * 19_000 + "x"),
    "drops": lambda: read("water drops", "drops", " " * 19_000 + "y"),
    "refs": lambda: read("candidates", "findings", "; ".join(map(str, range(3000))) + "; 1"),
}


@pytest.mark.parametrize("name", SLOW)
def test_a_long_text_is_told_at_once(name: str) -> None:
    begun = time.process_time()
    with pytest.raises(CellRefused):
        SLOW[name]()
    assert time.process_time() - begun < SECONDS_MAX


def test_a_data_sheet_of_open_brackets() -> None:
    begun = time.process_time()
    assert read_data_sheet("9. Physical\n" + "(" * 200_000).ph is None
    assert time.process_time() - begun < SECONDS_MAX


def test_a_data_sheet_with_its_conditions_in_brackets() -> None:
    assert str(read_data_sheet("9. Physical\npH (at 20 C, 1 % in water): 9.5").ph) == "9.5"


def test_a_packed_text_that_could_begin_anywhere() -> None:
    body = b"\x78\x9c" * 200_000
    chunk = struct.pack(">I4s", len(body), b"zTXt") + body + bytes(4)
    begun = time.process_time()
    with pytest.raises(NoPicture, match="cannot be told"):
        blocks_in(b"\x89PNG\r\n\x1a\n" + chunk)
    assert time.process_time() - begun < SECONDS_MAX


def test_a_packed_text_behind_a_sign_that_looks_like_one() -> None:
    body = b"x\x9ctitle\0\0" + zlib.compress(b"somebody")
    chunk = struct.pack(">I4s", len(body), b"zTXt") + body + bytes(4)
    end = struct.pack(">I4s", 0, b"IEND") + bytes(4)
    (block,) = blocks_in(b"\x89PNG\r\n\x1a\n" + chunk + end)
    assert b"somebody" in block.content


def test_a_pdf_that_says_it_has_very_many_objects() -> None:
    content = good.pdf().replace(b"/Size ", b"/Size 99999999")
    with pytest.raises(NoPdf, match="objects"):
        inside(content)


def test_a_pdf_whose_table_lies_beyond_any_file() -> None:
    content = good.pdf().replace(b"startxref\n", b"startxref\n" + b"9" * 25)
    with pytest.raises(NoPdf, match="damaged"):
        inside(content)


def test_a_pdf_of_many_pages_as_large_as_walls() -> None:
    writer = pypdf.PdfWriter()
    for _ in range(20):
        writer.add_blank_page(2000, 3000)
    file = io.BytesIO()
    writer.write(file)
    with pytest.raises(FileNotPublished, match="larger together"):
        pictured_pdf(file.getvalue(), "a plan")


def test_as_many_readings_as_a_cell_may_hold() -> None:
    assert len(read("film readings", "readings", "1 " * READINGS_MAX)) == READINGS_MAX
    with pytest.raises((OutOfBounds, NotANumber)):
        read("film readings", "readings", "1 " * (READINGS_MAX + 1))


@pytest.mark.parametrize("text", ["\u00b2", "9" * 5000, "0"])
def test_bays_and_hours_that_are_no_numbers(text: str) -> None:
    for name, value in (("bays", text), ("shop hours", f"{text}:{text} to 00:00")):
        with pytest.raises(BadSetting):
            settings_from({name: value})


@pytest.mark.parametrize("text", ["1e99999999", "9/1e9999999", "1/0", "-1"])
def test_a_bar_that_is_no_sensible_number(text: str) -> None:
    with pytest.raises(BadSetting):
        settings_from({"irreversible bar": text})


@pytest.mark.parametrize("text", ["NaN", "sNaN", "Infinity", "-Infinity%"])
def test_a_rate_that_is_no_number(text: str) -> None:
    with pytest.raises(BadSetting):
        settings_from({"interest a year": text})


def test_a_map_of_columns_that_is_no_file(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "map.csv")
    with pytest.raises(BadColumnMap, match="no ordinary file"):
        _chosen(tmp_path / "map.csv", ["day"])
