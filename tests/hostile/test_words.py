"""Signs that mean something to a database, a shell, a page or a typesetter stay signs."""

from __future__ import annotations

import csv
import json
from typing import TYPE_CHECKING

import pytest
from openpyxl import load_workbook

from recondition.cli.report import NAMES
from tests.intake.sheetmaker import Rows, base, write_folder
from tests.running import done, run

if TYPE_CHECKING:
    from pathlib import Path

NASTY = (
    "x'; DROP TABLE line; -- \" OR 1=1 $(touch canary) `touch canary` | touch canary & %s %n {0} "
    '{{ 7*7 }} {% x %} <script>alert(1)</script> <!-- ]]> &lt; #panic("x") #eval("1") \\u0041 '
    "$x^2$ *b* _i_ [bold]r[/] = // /* ../ C:\\ \u202f"
)
KEPT = NASTY.rstrip("\u202f ")
FILE = "a'; touch canary; $(touch canary) `touch canary` | & <b> {{7*7}} %s #x.txt"
FORMULA = '=HYPERLINK("http://127.0.0.1:9/?"&A1)'


def job() -> dict[str, Rows]:
    """Give the small job with such signs in every text."""
    sheets = base()
    sheets["people"].append(["X'--", NASTY, NASTY])
    sheets["vehicles"].append(["0'--", NASTY, "own stock"])
    sheets["findings"][0].append("words")
    sheets["findings"].append(["F'--", "0'--", "roof", "scratch", "2024-05-02", NASTY])
    sheets["labour"].append(["L'--", "0'--", "2024-05-03", "HK", 1, NASTY, "F'--"])
    sheets["labour"].append(["L-9", "0'--", "2024-05-03", "HK", 1, FORMULA, "F'--"])
    sheets["terms"] = [
        [
            "ref",
            "vehicle",
            "prices are",
            "labour cost rate per hour",
            "as-is price low",
            "as-is price likely",
            "as-is price high",
        ],
        ["T-1", "0'--", "hammer", 40, 1000, 2000, 3000],
    ]
    sheets["documents"] = [["ref", "vehicle", "kind", "title", "file"]]
    sheets["documents"].append(["D'--", "0'--", "other", NASTY, FILE])
    return sheets


@pytest.fixture
def nasty(shop: Path) -> Path:
    """Stand in a folder with a book that holds such texts."""
    write_folder(shop / "nasty", job())
    (shop / "nasty" / FILE).write_text("a paper")
    done("recondition import nasty")
    return shop


def untouched(shop: Path) -> bool:
    """Tell that nothing was carried out and the book is whole."""
    return not list(shop.rglob("canary")) and run("recondition check").status == 0


def test_texts_are_kept_as_they_are(nasty: Path) -> None:
    (car,) = [
        row
        for rows in json.loads(done("recondition vehicle list --json")).values()
        for row in rows
        if "0'--" in row.values()
    ]
    assert KEPT in car.values()
    done("recondition export lines lines.csv")
    with (nasty / "lines.csv").open(encoding="utf-8-sig", newline="") as file:
        cells = [cell for row in csv.reader(file) for cell in row]
    assert KEPT in [cell.lstrip("'") for cell in cells]
    assert not [cell for cell in cells if cell.startswith(("=", "+", "-", "@", "\t", "\r"))]
    assert untouched(nasty)


def test_a_workbook_of_them_holds_no_formula_of_theirs(nasty: Path) -> None:
    done("recondition export workbook out.xlsx")
    book = load_workbook(nasty / "out.xlsx")
    cells = [cell for page in book for row in page.iter_rows() for cell in row]
    formulas = [str(cell.value) for cell in cells if cell.data_type == "f"]
    assert not [formula for formula in formulas if 'HYPERLINK("http' in formula]
    assert [cell for cell in cells if isinstance(cell.value, str) and "DROP TABLE" in cell.value]
    assert untouched(nasty)


@pytest.mark.long
@pytest.mark.parametrize("name", NAMES)
def test_reports_of_them_show_them(nasty: Path, name: str) -> None:
    done(f'recondition report {name} "0\'--" --html out.html --pdf out.pdf')
    page = (nasty / "out.html").read_text(encoding="utf-8")
    assert "<script>alert(1)" not in page
    assert "49" not in page.partition("{{")[2][:10]
    assert (nasty / "out.pdf").read_bytes().startswith(b"%PDF")
    assert untouched(nasty)


@pytest.mark.parametrize("ref", ["x'; DROP TABLE line; --", "%", "_", "0007' OR '1'='1", "../x"])
def test_a_ref_is_never_more_than_a_ref(shop: Path, ref: str) -> None:
    for line in ("report condition", "plan make", "finding add"):
        ran = run(f'recondition {line} "{ref}" roof scratch')
        assert ran.status in {1, 2}
        assert "went wrong inside" not in ran.err
    assert untouched(shop)


@pytest.mark.parametrize("text", ["\ud800", "a\udcffb", "\x00", "\x1b[2J", "\u202e"])
def test_signs_that_are_none_are_refused_in_words(shop: Path, text: str) -> None:
    for line in (["vehicle", "add", "0009", text], ["vehicle", "add", text, "a car"]):
        ran = run("recondition " + " ".join(f"'{word}'" for word in line))
        assert ran.status in {1, 2}, ran.out
        assert "went wrong inside" not in ran.err
    assert untouched(shop)
