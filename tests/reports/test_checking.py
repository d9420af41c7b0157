"""Checking what was received: packed in other ways, and with words that would act."""

from __future__ import annotations

import io
import zipfile
from pathlib import Path

import pytest

from recondition.history.folder import Fault, Verdict
from recondition.reports.checking import checked, said
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
