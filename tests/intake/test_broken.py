"""Ten broken workbooks, ten useful answers, and a book that stays as it was.

The answers stand in ``golden``, one text each; a changed message is changed there too.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from openpyxl import Workbook

from recondition.book.reading import heads
from recondition.errors import Refused
from recondition.intake.load import load
from recondition.intake.problems import ImportRefused
from tests.golden import same_as_kept
from tests.intake.sheetmaker import Rows, base, write_workbook

if TYPE_CHECKING:
    from collections.abc import Callable

    from recondition.book.engine import Book

GOLDEN = Path(__file__).parent / "golden"


def numbers_and_dates() -> dict[str, Rows]:
    sheets = base()
    sheets["labour"][1][2] = "03/05/2024"
    sheets["labour"][1][4] = "2,5"
    sheets["rates"][1][3] = "€40"
    sheets["findings"][1][4] = 45414
    return sheets


def missing_things() -> dict[str, Rows]:
    sheets = base()
    for row in sheets["vehicles"]:
        del row[2]
    sheets["findings"][2][3] = None
    sheets["people"][1][1] = " "
    return sheets


def refs_that_lead_nowhere() -> dict[str, Rows]:
    sheets = base()
    sheets["findings"][1][1] = 7
    sheets["labour"][1][3] = "HX"
    sheets["labour"][1][6] = "F-001 60; F-022 40"
    return sheets


def refs_used_twice() -> dict[str, Rows]:
    sheets = base()
    sheets["findings"][2][0] = "F-001"
    sheets["labour"][1][6] = "F-001"
    return sheets


def damaged_by_a_spreadsheet() -> dict[str, Rows]:
    sheets = base()
    sheets["vehicles"][0] += ["chassis number as stamped", "engine number"]
    sheets["vehicles"][1] += [1234567890123456, "1.23457E+16"]
    sheets["findings"][1][3] = "#REF!"
    return sheets


def another_currency() -> dict[str, Rows]:
    sheets = base()
    heads = ["ref", "vehicle", "work date", "amount", "words (a buyer may read)",
             "no finding because"]  # fmt: skip
    sheets["charges"] = [
        heads,
        ["X-001", "0007", "2024-05-02", "EUR 250", "transport", "transport"],
        ["X-002", "0007", "2024-05-02", 12.345, "storage", "storage"],
        ["X-003", "0007", "2024-05-02", 12.3, "fee", "sail"],
    ]
    return sheets


def estimates() -> dict[str, Rows]:
    heads = ["ref", "vehicle", "work", "hours low", "hours likely", "hours high", "uplift low",
             "uplift likely", "uplift high", "chance of success"]  # fmt: skip
    rows: Rows = [
        heads,
        ["C-001", "0007", "polish", 3, 2, 1, 100, 200, 300, 0.9],
        ["C-002", "0007", "retrim", 1, 2, 3, 100, None, 300, 90],
        ["C-003", "0007", "wait for C-002", -1, 2, 3, None, None, None, "90%"],
    ]
    return {**base(), "candidates": rows}


def what_the_book_refuses() -> dict[str, Rows]:
    sheets = base()
    sheets["labour"].append(["L-002", "0007", "2023-05-03", "HK", 1, "too early", "F-001"])
    sheets["labour"].append(["L-003", "0007", "2024-05-03", "HK", 1, "for nothing", None])
    return sheets


def two_vehicles_mixed_up() -> dict[str, Rows]:
    sheets = base()
    sheets["vehicles"].append(["0008", "1968 Orlanda Brisa", "own stock"])
    sheets["findings"][2][1] = "0008"
    return sheets


def settings_that_cannot_be() -> dict[str, Rows]:
    rows: Rows = [
        ["setting", "value"],
        ["currency", "XXX"],
        ["date order", "year last"],
        ["datum", "iso"],
    ]
    return {"settings": rows, **base()}


def no_headings() -> dict[str, Rows]:
    sheets = base()
    sheets["findings"] = [["bonnet is dull"], ["roof scratched"]]
    return sheets


BROKEN: tuple[Callable[[], dict[str, Rows]], ...] = (
    numbers_and_dates,
    missing_things,
    refs_that_lead_nowhere,
    refs_used_twice,
    damaged_by_a_spreadsheet,
    another_currency,
    estimates,
    what_the_book_refuses,
    two_vehicles_mixed_up,
    settings_that_cannot_be,
    no_headings,
)


@pytest.mark.parametrize("make", BROKEN, ids=lambda make: make.__name__)
def test_every_problem_is_told_and_nothing_written(
    make: Callable[[], dict[str, Rows]], book: Book, tmp_path: Path
) -> None:
    path = write_workbook(tmp_path / "broken.xlsx", make())
    with pytest.raises(ImportRefused) as caught:
        load(book, path, author_ref="HK")
    same_as_kept(GOLDEN / f"{make.__name__}.txt", caught.value.words() + "\n")
    assert caught.value.exit_status == 1
    with book.reading() as conn:
        assert heads(conn) == []


def nothing_there(path: Path) -> None:
    """Leave the path empty."""


def no_workbook(path: Path) -> None:
    path.write_text("stock;designation\n7;green one\n", encoding="utf-8")


def old_workbook(path: Path) -> None:
    path.write_bytes(bytes.fromhex("d0cf11e0a1b11ae1") + bytes(600))


def with_password(path: Path) -> None:
    name = "EncryptedPackage".encode("utf-16-le")
    path.write_bytes(bytes.fromhex("d0cf11e0a1b11ae1") + bytes(600) + name)


def cut_off(path: Path) -> None:
    write_workbook(path, base())
    content = bytearray(path.read_bytes())
    start = content.index(b"xl/worksheets/sheet1.xml") + 40
    content[start : start + 60] = bytes(60)
    path.write_bytes(content)


def other_sheets(path: Path) -> None:
    write_workbook(path, {"cars": [["a"]], "money": [["b"]]})


def another_archive(path: Path) -> None:
    import zipfile  # noqa: PLC0415 - only here

    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr("content.xml", "<office/>")


FILES: tuple[Callable[[Path], None], ...] = (
    nothing_there,
    no_workbook,
    old_workbook,
    with_password,
    cut_off,
    other_sheets,
    another_archive,
)


@pytest.mark.parametrize("make", FILES, ids=lambda make: make.__name__)
def test_files_that_cannot_be_read(
    make: Callable[[Path], None], book: Book, tmp_path: Path
) -> None:
    path = tmp_path / "broken.xlsx"
    make(path)
    with pytest.raises(Refused) as caught:
        load(book, path, author_ref="HK")
    said = f"{caught.value.what}\n{caught.value.todo}\n".replace(str(path), "broken.xlsx")
    same_as_kept(GOLDEN / f"file_{make.__name__}.txt", said)


def test_a_bomb_is_not_unpacked(
    book: Book, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("recondition.intake.read_xlsx.UNPACKED_MAX_BYTES", 1000)
    path = write_workbook(tmp_path / "big.xlsx", base())
    with pytest.raises(Refused, match="unpacks to more than"):
        load(book, path, author_ref="HK")


def test_more_rows_than_a_workbook_may_have(
    book: Book, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("recondition.intake.read_xlsx.ROWS_MAX", 2)
    path = write_workbook(tmp_path / "big.xlsx", base())
    with pytest.raises(Refused, match="more than 2 rows on the sheet findings"):
        load(book, path, author_ref="HK")


def test_text_that_is_not_utf_8(book: Book, tmp_path: Path) -> None:
    (tmp_path / "job").mkdir()
    (tmp_path / "job" / "people.csv").write_bytes(b"initials,name,role\nHK,Ha\xf1a,preparer\n")
    with pytest.raises(Refused, match=r"people.csv is not UTF-8 text"):
        load(book, tmp_path / "job", author_ref="HK")


def test_one_csv_file_alone(book: Book, tmp_path: Path) -> None:
    path = tmp_path / "people.csv"
    path.write_text("initials,name,role\n", encoding="utf-8")
    with pytest.raises(Refused, match=r"one \.csv file alone"):
        load(book, path, author_ref="HK")


def test_the_first_200_problems_are_listed_and_the_rest_counted(book: Book, tmp_path: Path) -> None:
    sheets = base()
    bad = [f"B-{number}" for number in range(250)]
    sheets["findings"] += [[ref, "0007", "roof", "scratch", "soon"] for ref in bad]
    sheets["findings"].append(["B-999", "nowhere", "roof", "scratch", "2024-05-02"])
    path = write_workbook(tmp_path / "job.xlsx", sheets)
    with pytest.raises(ImportRefused, match="251 problems") as caught:
        load(book, path, author_ref="HK")
    problems = caught.value.problems
    assert len(problems.listed) == 200
    assert problems.words()[-2:] == [
        "and 50 more: date not readable",
        "and 1 more: ref leads nowhere",
    ]


def test_nobody_of_these_initials(book: Book, tmp_path: Path) -> None:
    path = write_workbook(tmp_path / "job.xlsx", base())
    with pytest.raises(Refused, match="nobody with the initials 'ZZ'"):
        load(book, path, author_ref="ZZ")


def test_the_currency_of_a_book_stays(book: Book, tmp_path: Path) -> None:
    load(book, write_workbook(tmp_path / "one.xlsx", base()), author_ref="HK")
    rows: Rows = [["setting", "value"], ["currency", "EUR"]]
    path = write_workbook(tmp_path / "two.xlsx", {"settings": rows})
    with pytest.raises(ImportRefused) as caught:
        load(book, path, author_ref="HK")
    assert [problem.kind for problem in caught.value.problems.listed] == ["currency fixed"]


def test_a_document_outside_the_folder(book: Book, tmp_path: Path) -> None:
    (tmp_path / "job").mkdir()
    (tmp_path / "secret.txt").write_text("not yours", encoding="utf-8")
    (tmp_path / "job" / "link.txt").symlink_to(tmp_path / "secret.txt")
    heads = ["ref", "vehicle", "kind", "title", "file"]
    rows: Rows = [
        heads,
        ["D-001", "0007", "other", "a", "../secret.txt"],
        ["D-002", "0007", "other", "b", "link.txt"],
        ["D-003", "0007", "other", "c", "absent.txt"],
    ]
    path = write_workbook(tmp_path / "job" / "job.xlsx", {**base(), "documents": rows})
    with pytest.raises(ImportRefused) as caught:
        load(book, path, author_ref="HK")
    assert [(p.row, p.kind) for p in caught.value.problems.listed] == [
        (2, "file not found"),
        (3, "file not found"),
        (4, "file not found"),
    ]


def test_an_empty_workbook_says_so(book: Book, tmp_path: Path) -> None:
    Workbook().save(tmp_path / "empty.xlsx")
    with pytest.raises(Refused, match="no sheet that is known here"):
        load(book, tmp_path / "empty.xlsx", author_ref="HK")
