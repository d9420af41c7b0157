"""Reading a folder of .csv files, each named after its sheet, line by line."""

from __future__ import annotations

import csv
from contextlib import contextmanager
from itertools import islice
from typing import TYPE_CHECKING

from recondition.intake import headings
from recondition.intake.cells import Cell
from recondition.intake.sheets import known_sheet
from recondition.intake.sources import (
    FileNotReadable,
    NotImportable,
    RawSheet,
    TooLarge,
    require_ordinary,
)

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path
    from typing import TextIO

DELIMITERS = (",", ";", "\t")
FIELD_LENGTH_MAX = 1_000_000
# As many columns as a spreadsheet has, and more text than any row of it; a row is held whole.
COLUMNS_MAX = 16_384
ROW_LENGTH_MAX = 4_000_000


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
            rows = islice(_parted(path, stream, delimiter), headings.ROWS_SEARCHED)
            cells = [[Cell(text) for text in row] for row in rows]
        found = headings.best(sheet, cells) if sheet is not None else None
        count = len(found.positions) if found is not None else 0
        if count > most:
            best, most = delimiter, count
    return best


class _Lines:
    """The lines of a file, none read further than a row may reach; quotes join lines to a row."""

    def __init__(self, path: Path, stream: TextIO) -> None:
        """Read nothing yet."""
        self.path = path
        self.left = ROW_LENGTH_MAX
        self._stream = stream

    def __iter__(self) -> Iterator[str]:
        """Give line by line. Raises TooLarge where a row has more than ``left`` characters."""
        while line := self._stream.readline(self.left + 1):
            self.left -= len(line)
            if self.left < 0:
                why = f"has a row of more than {ROW_LENGTH_MAX:,} characters"
                raise TooLarge(self.path, why, "Look for a quote that is never closed in it.")
            yield line


def _parted(path: Path, stream: TextIO, delimiter: str) -> Iterator[list[str]]:
    """Give the rows of a file in parts. Raises TooLarge where one is longer or wider than any."""
    lines = _Lines(path, stream)
    for row in csv.reader(lines, delimiter=delimiter):
        lines.left = ROW_LENGTH_MAX
        if len(row) > COLUMNS_MAX:
            why = f"has a row of more than {COLUMNS_MAX:,} columns"
            raise TooLarge(path, why, "Take out the columns that are not needed.")
        yield row


@contextmanager
def _reading(path: Path) -> Iterator[Iterator[list[Cell]]]:
    """Open one file's rows. Raises NotImportable where it is not UTF-8 text."""
    csv.field_size_limit(FIELD_LENGTH_MAX)
    try:
        try:
            require_ordinary(path)
            delimiter = _delimiter(path)
            opened = path.open(encoding="utf-8-sig", newline="")
        except OSError as error:
            raise FileNotReadable(path, error) from error
        with opened as stream:
            yield _rows(path, _parted(path, stream, delimiter))
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
