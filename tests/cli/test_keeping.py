"""Import, export, check, backup, restore and the demo, as typed."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from recondition.book.reading import heads
from recondition.book.starting import is_there
from recondition.resources import resource
from tests.golden import masked, same_as_kept
from tests.places import opened, place
from tests.running import demo_line, done, run

GOLDEN = Path(__file__).parent / "golden"
REPORTS = {"worth-doing.html", "cost-and-uplift.html", "books.xlsx", "work-history.html",
           "work-history.pdf", "work-history.json"}  # fmt: skip
PROOF = {"work-history-manifest.json", "work-history-release.json", "work-history-evidence"}


def _heads(book: str) -> list[tuple[int, str]]:
    with opened(book).reading() as conn:
        return sorted((head.count, head.hash) for head in heads(conn))


def test_the_demo_says_what_is_worth_doing_and_writes_six_reports(demo: tuple[Path, str]) -> None:
    folder, said = demo
    assert {path.name for path in (folder / "made/reports").iterdir()} == REPORTS | PROOF
    same_as_kept(GOLDEN / "demo.txt", masked(said, folder))


@pytest.mark.long
def test_the_demo_runs_again_and_changes_nothing(year: Path) -> None:
    before = _heads("made/demo.book")
    said = done(demo_line("made/demo.book"))
    assert _heads(str(year / "made/demo.book")) == before
    assert "already there" in said


@pytest.mark.usefixtures("shop")
def test_the_demo_stays_out_of_another_shops_book() -> None:
    before = _heads("shop.book")
    ran = run("recondition demo --into made --book shop.book")
    assert ran.status == 2
    assert "there is already something at shop.book" in ran.err
    assert _heads("shop.book") == before


@pytest.mark.long
def test_import_tries_writes_and_then_finds_all_there(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    line = f"recondition --book new.book --as IC import {resource('demo_data')}/shop-year.xlsx"
    tried = done(f"{line} --check")
    assert not is_there(place("new.book"))
    written, again = done(line), done(line)
    said = f"$ --check\n{tried}\n$ import\n{written}\n$ again\n{again}"
    same_as_kept(GOLDEN / "import.txt", masked(said, tmp_path))


@pytest.mark.usefixtures("shop")
def test_the_blank_workbook_holds_settings_and_no_rows() -> None:
    assert "blank.xlsx" in done("recondition import --blank blank.xlsx")
    first = done("recondition import blank.xlsx")
    assert [line.split(":")[0] for line in first.splitlines() if " new" in line] == ["settings"]
    before = _heads("shop.book")
    assert "nothing was changed" in done("recondition import blank.xlsx")
    assert _heads("shop.book") == before


@pytest.mark.usefixtures("shop")
def test_import_needs_something_to_import() -> None:
    ran = run("recondition import")
    assert ran.status == 2
    assert "Name the workbook to import" in ran.err


@pytest.mark.usefixtures("shop")
def test_check_against_a_workbook_and_a_backup() -> None:
    done("recondition export workbook books.xlsx")
    done("recondition backup shop.backup")
    for file in ("books.xlsx", "shop.backup"):
        assert "No damage was found." in done(f"recondition check --against {file}")
    found = json.loads(done("recondition check --against books.xlsx --json"))
    assert found["damage"] == []


@pytest.mark.usefixtures("shop")
def test_a_book_cut_back_to_an_older_copy_is_found_against_a_later_workbook() -> None:
    done("recondition backup early.backup")
    done('recondition post charge 0007 15 "parking" --no-finding-because storage')
    done("recondition export workbook later.xlsx")
    done("recondition --book older.book restore early.backup")
    assert "No damage" in done("recondition --book older.book check")
    ran = run("recondition --book older.book check --against later.xlsx")
    assert ran.status == 3
    assert "Damage: " in ran.out


def test_a_backup_comes_back_whole(shop: Path) -> None:
    done("recondition backup shop.backup")
    said = done("recondition restore shop.backup --book back.book")
    assert "back.book" in said
    assert _heads("back.book") == _heads("shop.book")
    kept = {path.name for path in (shop / "shop.book.files").rglob("*") if path.is_file()}
    came = {path.name for path in (shop / "back.book.files").rglob("*") if path.is_file()}
    assert kept == came != set()


@pytest.mark.usefixtures("year")
def test_the_work_history_is_written() -> None:
    said = done("recondition history make 0007 --into sheet --as IC")
    made = {Path(line).name for line in said.splitlines() if line.startswith("sheet")}
    assert made == {name for name in REPORTS | PROOF if name.startswith("work-history")} - {
        "work-history-evidence"
    }
    assert Path("sheet/work-history.pdf").read_bytes().startswith(b"%PDF-")
