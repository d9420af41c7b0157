"""The workbook in another program than the one that wrote it, on demand."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import pytest
from openpyxl import load_workbook

from tests.running import done, stand_in


@pytest.mark.bench
def test_an_office_program_opens_the_years_workbook_and_every_difference_is_nil(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    program = shutil.which("soffice")
    assert program, "install LibreOffice to run this"
    stand_in(tmp_path, monkeypatch, book="made/year.book")
    done("recondition demo --year --into made")
    written = tmp_path / "made" / "reports" / "books-year.xlsx"
    out = tmp_path / "opened"
    told = subprocess.run(
        [program, "--headless", "--convert-to", "xlsx", "--outdir", str(out), str(written)],
        check=True, capture_output=True, timeout=300,
    )  # fmt: skip
    assert b"rror" not in told.stderr
    opened = load_workbook(out / written.name, data_only=True)
    assert opened.sheetnames == load_workbook(written, read_only=True).sheetnames
    values = [
        (sheet.title, cell.coordinate, cell.value, str(sheet.cell(1, cell.column).value))
        for sheet in opened
        for row in sheet.iter_rows(min_row=2)
        for cell in row
    ]
    assert [v for v in values if isinstance(v[2], str) and v[2].startswith("#")] == []
    apart = [v for v in values if "difference" in v[3] and v[0] != "stock movements"]
    nil = [v for v in apart if v[2] is not None and v[3] != "price difference"]
    assert len(nil) > 500
    assert {v[2] for v in nil} == {0}
