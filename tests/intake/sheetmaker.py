"""Workbooks and folders for the tests, made the way people make them."""

from __future__ import annotations

import csv
from typing import TYPE_CHECKING, Any

from openpyxl import Workbook

if TYPE_CHECKING:
    from pathlib import Path

Rows = list[list[Any]]

PEOPLE: Rows = [["initials", "name", "role"], ["HK", "Hanna Kest", "preparer"]]
RATES: Rows = [["ref", "person", "from", "cost rate per hour"], ["R-001", "HK", "2024-01-01", 40]]
VEHICLES: Rows = [
    ["stock number", "designation", "whose it is"],
    ["0007", "1961 Tavorel Lisse 1600 coupe", "own stock"],
]
FINDINGS: Rows = [
    ["ref", "vehicle", "panel", "defect", "found"],
    ["F-001", "0007", "bonnet", "oxidation", "2024-05-02"],
    ["F-002", "0007", "roof", "scratch", "2024-05-02"],
]
LABOUR: Rows = [
    ["ref", "vehicle", "work date", "person", "hours", "words (a buyer may read)", "findings"],
    ["L-001", "0007", "2024-05-03", "HK", 2.5, "bonnet polished by hand", "F-001 60; F-002 40"],
]


def base() -> dict[str, Rows]:
    """Give sheets of a small job in good order; every call gives fresh lists."""
    sheets = {
        "people": PEOPLE,
        "rates": RATES,
        "vehicles": VEHICLES,
        "findings": FINDINGS,
        "labour": LABOUR,
    }
    return {name: [list(row) for row in rows] for name, rows in sheets.items()}


def write_workbook(path: Path, sheets: dict[str, Rows]) -> Path:
    """Write sheets into an .xlsx file."""
    workbook = Workbook()
    workbook.remove(workbook.active)
    for name, rows in sheets.items():
        page = workbook.create_sheet(name)
        for row in rows:
            page.append(row)
    workbook.save(path)
    return path


def write_folder(path: Path, sheets: dict[str, Rows], delimiter: str = ",") -> Path:
    """Write sheets into a folder of .csv files."""
    path.mkdir()
    for name, rows in sheets.items():
        with (path / f"{name}.csv").open("w", encoding="utf-8-sig", newline="") as stream:
            csv.writer(stream, delimiter=delimiter).writerows(rows)
    return path
