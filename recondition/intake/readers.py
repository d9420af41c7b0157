"""Opening whatever is to be imported: a workbook, or a folder of .csv files."""

from __future__ import annotations

from typing import TYPE_CHECKING

from recondition.intake import read_csv, read_xlsx
from recondition.intake.sheets import SHEETS, known_sheet
from recondition.intake.sources import (
    READ_ME,
    FileNotReadable,
    NoSuchFile,
    NothingToImport,
    NotImportable,
    RawSheet,
    require_ordinary,
)

if TYPE_CHECKING:
    from pathlib import Path


def open_source(path: Path) -> tuple[list[RawSheet], list[str]]:
    """Give the known sheets of a file or folder in import order, and the names of the others.

    Raises NoSuchFile and NotImportable with its kinds.
    """
    try:
        if not path.exists():
            raise NoSuchFile(path)
        found = _sheets(path)
    except OSError as error:
        raise FileNotReadable(path, error) from error
    known = {sheet.name: raw for raw in found if (sheet := known_sheet(raw.name)) is not None}
    unknown = [
        raw.name
        for raw in found
        if raw not in known.values() and raw.name.strip().casefold() != READ_ME
    ]
    if not known:
        raise NothingToImport(path, unknown, [sheet.name for sheet in SHEETS])
    return [known[sheet.name] for sheet in SHEETS if sheet.name in known], unknown


def _sheets(path: Path) -> list[RawSheet]:
    """List the sheets of whatever lies at a path."""
    if path.is_dir():
        return read_csv.sheets(path)
    require_ordinary(path)
    if path.suffix.lower() == ".csv":
        why = "is one .csv file alone"
        raise NotImportable(path, why, "Put it into a folder, named after its sheet.")
    return read_xlsx.sheets(path)
