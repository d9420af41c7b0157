"""What lies at a path and is no file: pipes, devices, folders, links, and names that trick."""

from __future__ import annotations

import os
import zipfile
from typing import TYPE_CHECKING

import pytest

from tests.hostile.cases import mostly_long
from tests.hostile.confined import ran, refused
from tests.intake.sheetmaker import base, write_folder

if TYPE_CHECKING:
    from pathlib import Path

    from tests.history.released import Released

READING = (
    "import {}",
    "import {} --check",
    "check --against {}",
    "history verify {}",
    "history record {} finding/1 --into out.json",
    "document add 0007 photograph outside {}",
    "document folder 0007 {}",
    "product sheet M-001 {}",
)


def pipe(path: Path) -> Path:
    """Make a pipe that nobody writes to."""
    os.mkfifo(path)
    return path


def endless(path: Path) -> Path:
    """Make a link to a device that never ends."""
    path.symlink_to("/dev/zero")
    return path


def circle(path: Path) -> Path:
    """Make a link that leads to itself."""
    path.symlink_to(path.name)
    return path


def too_long(path: Path) -> Path:
    """Give a name of 300 bytes."""
    return path.with_name("n" * 300 + path.suffix)


MAKERS = {each.__name__: each for each in (pipe, endless, circle, too_long)}


@pytest.mark.parametrize("name", mostly_long(MAKERS, "pipe"))
@pytest.mark.parametrize("line", READING)
def test_what_is_no_file_is_refused_at_once(shop: Path, line: str, name: str) -> None:
    path = MAKERS[name](shop / ("given.zip" if line.startswith("history") else "given"))
    said = refused(f"recondition {line.format(path)}", seconds=10)
    assert len(said) < 5000


@pytest.mark.parametrize("name", ["pipe", *mostly_long(["endless", "circle"])])
def test_a_pipe_in_a_folder_of_csv_files(shop: Path, name: str) -> None:
    write_folder(shop / "job", base())
    MAKERS[name](shop / "job" / "charges.csv")
    said = refused("recondition import job", seconds=10)
    assert "charges.csv" in said


DOCUMENTS = {
    "../outside.txt": "outside the folder",
    "a/../../outside.txt": "outside the folder",
    "/etc/passwd": "outside the folder",
    "C:\\\\boot.ini": "outside the folder",
    "link.txt": "outside the folder",
    "linked/passwd": "outside the folder",
    "pipe": "no such file",
    "circle": "no such file",
    "n" * 250 + ".txt": "no such file",
    "a\0b": "control character",
    "CON": "no such file",
}


@pytest.mark.parametrize("name", mostly_long(DOCUMENTS, "link.txt", "pipe"))
def test_a_document_that_lies_elsewhere(shop: Path, name: str) -> None:
    job = shop / "job"
    (shop / "outside.txt").write_text("private")
    rows = [["ref", "vehicle", "kind", "title", "file"], ["D-1", "0007", "other", "a", name]]
    write_folder(job, {**base(), "documents": rows})
    (job / "link.txt").symlink_to(shop / "outside.txt")
    (job / "linked").symlink_to("/etc")
    pipe(job / "pipe")
    circle(job / "circle")
    assert DOCUMENTS[name] in refused("recondition import job", seconds=10).lower()


NAMED = ("../a.html", "/a.html", "c:\\\\a.html", "a/../b.html", "a//b.html", "./a.html", "a:b")


@pytest.mark.long
@pytest.mark.parametrize("name", NAMED)
def test_a_member_of_a_zip_that_leads_elsewhere(shop: Path, history: Released, name: str) -> None:
    with zipfile.ZipFile(shop / "history.zip", "w") as archive:
        for own, content in history.files.items():
            archive.writestr(own, content)
        archive.writestr(zipfile.ZipInfo(name), b"x")
    assert "leads elsewhere" in refused("recondition history verify history.zip")


@pytest.mark.long
def test_two_members_that_one_system_takes_for_one(shop: Path, history: Released) -> None:
    with zipfile.ZipFile(shop / "history.zip", "w") as archive:
        for own, content in history.files.items():
            archive.writestr(own, content)
        archive.writestr("WORK-HISTORY.PDF", b"x")
    assert "a file twice" in refused("recondition history verify history.zip")


@pytest.mark.long
@pytest.mark.usefixtures("shop")
def test_a_folder_that_holds_half_a_system() -> None:
    assert "more than" in refused("recondition history verify /usr", seconds=10)


@pytest.mark.long
def test_links_in_a_received_folder_are_no_way_out(shop: Path, history: Released) -> None:
    for name, content in history.files.items():
        path = shop / "received" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content)
    (shop / "received" / "round").symlink_to(shop / "received")
    pipe(shop / "received" / "work-history-evidence" / "pipe")
    assert ran("recondition history verify received", seconds=10).status == 0


@pytest.mark.long
def test_writing_to_what_is_no_file(shop: Path) -> None:
    pipe(shop / "pipe.xlsx")
    (shop / "lines.csv").symlink_to("/dev/full")
    for line in ("export workbook pipe.xlsx", "backup pipe.xlsx", "import --blank pipe.xlsx"):
        ran(f"recondition {line}", seconds=10)
    assert ran("recondition export lines lines.csv", seconds=10).status in {0, 1}
