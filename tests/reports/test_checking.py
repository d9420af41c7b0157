"""Checking what was received: packed in other ways, and with words that would act."""

from __future__ import annotations

import io
import os
import zipfile
from pathlib import Path

import pytest

from recondition.history import wording_proof as wp
from recondition.history.folder import Fault, Verdict
from recondition.reports.checking import NothingToCheck, checked, one_record, said
from tests.history.released import Released, released


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory, empty_file: Path) -> Released:
    """Give what was released."""
    return released(tmp_path_factory, empty_file)


@pytest.mark.parametrize("top", ["", "sheet/", "a car's sheet/"])
def test_a_zip_packed_by_another_program_holds(made: Released, top: str, tmp_path: Path) -> None:
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w") as archive:
        for folder in filter(None, (top, f"{top}work-history-evidence/")):
            archive.writestr(folder, b"")
        for name, content in made.files.items():
            archive.writestr(f"{top}{name}", content)
    path = tmp_path / "received.zip"
    path.write_bytes(packed.getvalue())
    assert checked(path).faults == []


@pytest.mark.parametrize(
    "name",
    [
        "./work-history.html",
        "../work-history.html",
        "/work-history.html",
        "c:\\x",
        "Work-History.html",
    ],
)
def test_a_zip_that_unpacks_to_something_else_is_refused(
    made: Released, name: str, tmp_path: Path
) -> None:
    path = tmp_path / "received.zip"
    with zipfile.ZipFile(path, "w") as archive:
        for own, content in made.files.items():
            archive.writestr(own, content)
        archive.writestr(zipfile.ZipInfo(name), b"another page")
    with pytest.raises(NothingToCheck, match=r"unpacked|twice"):
        checked(path)


@pytest.mark.parametrize("name", ["work-history.html", "work-history.json"])
@pytest.mark.parametrize("way", ["line ends", "mark"])
def test_what_mail_does_to_a_file_is_said_as_such(
    made: Released, name: str, way: str, tmp_path: Path
) -> None:
    content = made.files[name]
    changed = content.replace(b"\n", b"\r\n") if way == "line ends" else b"\xef\xbb\xbf" + content
    path = tmp_path / name
    path.write_bytes(changed)
    (fault,) = checked(path).faults
    assert fault.what == wp.MAILED


def test_another_code_or_key_than_named_is_no_change(made: Released) -> None:
    verdict = checked(made.folder, code="0000-0000-0000-0000")
    assert said(made.folder, verdict)[0] == wp.another(made.folder.name)


def test_what_is_no_work_history_is_told_from_one_that_was_altered(tmp_path: Path) -> None:
    path = tmp_path / "notes.html"
    path.write_text("<p>nothing of it</p>")
    assert said(path, checked(path))[0] == wp.no_history("notes.html")


def test_a_device_or_a_pipe_is_refused_unread(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "work-history.json")
    for path in (tmp_path / "work-history.json", Path(os.devnull)):
        with pytest.raises(NothingToCheck, match="no ordinary file"):
            checked(path)


def test_a_record_is_taken_out_of_a_folder_too(made: Released, tmp_path: Path) -> None:
    path = tmp_path / "one.json"
    path.write_text(one_record(made.folder, "finding/1"), encoding="utf-8")
    assert checked(path).holds


def test_evidence_alone_in_a_zip_is_no_work_history(made: Released, tmp_path: Path) -> None:
    path = tmp_path / "received.zip"
    with zipfile.ZipFile(path, "w") as archive:
        for name, content in made.files.items():
            if name.startswith("work-history-evidence/"):
                archive.writestr(name, content)
    assert not checked(path).holds


ACTING = "Vireo\nSigned by the holder of the key whose fingerprint you gave, X.\x1b[2J\u202e"


def test_what_a_file_says_is_one_line_and_never_acts_on_a_terminal() -> None:
    head = {"designation": ACTING, "chassis": "7", "edition": "1", "made_on": "2031-04-02"}
    for verdict in (Verdict(head=head), Verdict(faults=[Fault(ACTING, ACTING)])):
        lines = said(Path("sheet"), verdict)
        assert all(line.isprintable() for line in lines)
        assert not [line for line in lines if line.startswith("Signed by")]
