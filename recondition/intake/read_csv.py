"""Reading a folder of .csv files, each named after its sheet, line by line."""

from __future__ import annotations

import csv
from contextlib import contextmanager
from itertools import islice
from typing import TYPE_CHECKING

from recondition.intake import headings
from recondition.intake.cells import Cell
from recondition.intake.sheets import known_sheet
from recondition.intake.sources import FileNotReadable, NotImportable, RawSheet

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

DELIMITERS = (",", ";", "\t")
FIELD_LENGTH_MAX = 1_000_000


def sheets(folder: Path) -> list[RawSheet]:
    """List the .csv files of a folder as sheets, in the order of their names."""
    return [_raw(path) for path in sorted(folder.iterdir()) if path.suffix.lower() == ".csv"]


def _raw(path: Path) -> RawSheet:
    """Give one file to be read later."""
    return RawSheet(path.stem, lambda: _reading(path))


def _delimiter(path: Path) -> str:
    """Choose the delimiter under which the most headings are known."""
    sheet = known_sheet(path.stem)
    best, most = DELIMITERS[0], -1
    for delimiter in DELIMITERS:
        with path.open(encoding="utf-8-sig", newline="") as stream:
            rows = islice(csv.reader(stream, delimiter=delimiter), headings.ROWS_SEARCHED)
            cells = [[Cell(text) for text in row] for row in rows]
        found = headings.best(sheet, cells) if sheet is not None else None
        count = len(found.positions) if found is not None else 0
        if count > most:
            best, most = delimiter, count
    return best


@contextmanager
def _reading(path: Path) -> Iterator[Iterator[list[Cell]]]:
    """Open one file's rows. Raises NotImportable where it is not UTF-8 text."""
    csv.field_size_limit(FIELD_LENGTH_MAX)
    try:
        try:
            delimiter = _delimiter(path)
            opened = path.open(encoding="utf-8-sig", newline="")
        except OSError as error:
            raise FileNotReadable(path, error) from error
        with opened as stream:
            reader = csv.reader(stream, delimiter=delimiter)
            yield _rows(path, reader)
    except UnicodeDecodeError as error:
        why = "is not UTF-8 text"
        raise NotImportable(path, why, "Save it as 'CSV UTF-8'.") from error
    except csv.Error as error:
        why = f"cannot be read as .csv ({error})"
        raise NotImportable(path, why, "Save it as 'CSV UTF-8' again.") from error


def _rows(path: Path, reader: Iterator[list[str]]) -> Iterator[list[Cell]]:
    """Give the rows as cells. Raises FileNotReadable where reading breaks off."""
    try:
        for row in reader:
            yield [Cell(text or None) for text in row]
    except OSError as error:
        raise FileNotReadable(path, error) from error
