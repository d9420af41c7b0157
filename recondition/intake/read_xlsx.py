"""Reading an .xlsx file row by row, with the stored values of its formulas.

The file is looked through before a library opens it; that also tells an empty cell from a
formula whose value was never stored.
"""

from __future__ import annotations

import lzma
import re
import warnings
import zipfile
import zlib
from contextlib import contextmanager
from itertools import islice
from typing import TYPE_CHECKING, Any
from weakref import finalize

from recondition.book.archives import TooManyMembers, open_zip
from recondition.intake.cells import Cell
from recondition.intake.look_xlsx import Place, TooMuch, look_through
from recondition.intake.sources import (
    DamagedWorkbook,
    NotImportable,
    PasswordProtected,
    RawSheet,
    TooLarge,
)

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping
    from pathlib import Path

UNPACKED_MAX_BYTES = 500 * 1024 * 1024
ROWS_MAX = 100_000
# That many rows of 200 columns; one cell far to the right makes a row a wide one.
CELLS_MAX = 20_000_000
MEMBERS_MAX = 5_000
EMPTY = Cell(None)
_BATCH = 200

_OLD_FORMAT = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
_ENCRYPTED = "EncryptedPackage".encode("utf-16-le")
# ECMA-376 part 1, 22.9.2.19 (ST_Xstring): characters that XML cannot hold.
_ESCAPED = re.compile(r"_x([0-9A-Fa-f]{4})_")
# Both XML readers that openpyxl may use raise a SyntaxError of their own; what is nested too
# deeply for it ends in a RecursionError, a zip with a password in a RuntimeError.
DAMAGE = (KeyError, ValueError, TypeError, IndexError, AttributeError, SyntaxError, EOFError,
          OSError, RuntimeError, OverflowError, AssertionError, zipfile.BadZipFile, zlib.error,
          lzma.LZMAError)  # fmt: skip


def sheets(path: Path) -> list[RawSheet]:
    """List the sheets of a workbook. Raises NotImportable and its kinds."""
    source = _Source(path, looked_through(path))
    names = [sheet.title for sheet in source.opened().worksheets]
    return [_raw(source, name) for name in names]


def _raw(source: _Source, name: str) -> RawSheet:
    """Give one sheet to be read later."""
    return RawSheet(name, lambda: _reading(source, name))


class _Source:
    """A workbook that is opened once for all its sheets, since opening reads the head of each.

    It is closed when the last sheet that could be read from it is let go. ``valueless`` are
    the cells of each part whose formula has no value.
    """

    def __init__(self, path: Path, valueless: Mapping[str, frozenset[Place]]) -> None:
        """Open nothing yet."""
        self.path = path
        self.valueless = valueless
        self._opened: list[Any] = []
        finalize(self, _close, self._opened)

    def opened(self) -> Any:  # noqa: ANN401 - openpyxl's workbook
        """Give the workbook, for reading by rows. Raises DamagedWorkbook."""
        from openpyxl import load_workbook  # noqa: PLC0415 - heavy, and only for workbooks

        if not self._opened:
            try:
                with warnings.catch_warnings():
                    warnings.simplefilter("ignore")
                    self._opened.append(load_workbook(self.path, read_only=True, data_only=True))
            except DAMAGE as error:
                raise DamagedWorkbook(self.path) from error
        return self._opened[0]


def _close(opened: list[Any]) -> None:
    """Close what was opened."""
    for workbook in opened:
        workbook.close()


def looked_through(path: Path) -> dict[str, frozenset[Place]]:
    """Refuse what is no workbook, or holds more than any; give its formulas without value.

    Raises NotImportable and its kinds.
    """
    _check_kind(path)
    try:
        with path.open("rb") as stream, open_zip(stream, MEMBERS_MAX) as archive:
            _check_parts(path, archive.infolist())
            return look_through(archive)
    except TooManyMembers as error:
        raise _too_large(path, "is an archive of very many parts") from error
    except TooMuch as error:
        raise _too_large(path, f"holds more {error} than a spreadsheet can") from error
    except DAMAGE as error:
        raise DamagedWorkbook(path) from error


def _check_kind(path: Path) -> None:
    """Refuse what is no workbook of the kind that is read."""
    with path.open("rb") as stream:
        head = stream.read(len(_OLD_FORMAT))
        if head == _OLD_FORMAT:
            stream.seek(0)
            if _ENCRYPTED in stream.read(8 * 1024 * 1024):
                raise PasswordProtected(path)
            why = "is a workbook of the old .xls kind"
            raise NotImportable(path, why, "Save it as .xlsx and import that.")
    if not zipfile.is_zipfile(path):
        why = "is not a workbook"
        raise NotImportable(path, why, "Give an .xlsx file, or a folder of .csv files.")


def _check_parts(path: Path, parts: list[zipfile.ZipInfo]) -> None:
    """Refuse an archive of another kind, or one that unpacks to too much."""
    if "xl/workbook.xml" not in {part.filename for part in parts}:
        why = "is an archive, but not an .xlsx workbook"
        raise NotImportable(path, why, "Save it as .xlsx in your spreadsheet.")
    if sum(part.file_size for part in parts) > UNPACKED_MAX_BYTES:
        raise _too_large(path, f"unpacks to more than {UNPACKED_MAX_BYTES // 1024**2} MB")


def _too_large(path: Path, why: str) -> TooLarge:
    """Give the refusal of a workbook that holds too much."""
    return TooLarge(path, why, "Remove pictures and unused sheets, or save each as .csv.")


@contextmanager
def _reading(source: _Source, name: str) -> Iterator[Iterator[list[Cell]]]:
    """Open one sheet's rows."""
    values = source.opened()[name]
    # The library tells only in private which part a sheet is.
    valueless = source.valueless.get(values._worksheet_path)  # noqa: SLF001 - as said
    if valueless is None:
        raise DamagedWorkbook(source.path)
    yield _rows(source.path, values, valueless)


def _rows(path: Path, values: Any, valueless: frozenset[Place]) -> Iterator[list[Cell]]:  # noqa: ANN401 - any entry's or library's type
    """Give the rows of a sheet; more than can be held is refused by name."""
    filled = held = 0
    missing = _by_row(valueless)
    for number, row in enumerate(_batched(path, values), start=1):
        held += len(row)
        if held > CELLS_MAX:
            why = f"has more than {CELLS_MAX:,} cells on the sheet {values.title}"
            raise TooLarge(path, why, "Delete what stands far to the right of its columns.")
        cells = [EMPTY if cell.value is None else _cell(cell) for cell in row]
        for column in missing.get(number, ()):
            cells += [EMPTY] * (column - len(cells))
            if cells[column - 1] is EMPTY:
                cells[column - 1] = Cell(None, formula_without_value=True)
        filled += any(cell is not EMPTY and not cell.blank for cell in cells)
        if filled > ROWS_MAX:
            why = f"has more than {ROWS_MAX:,} rows on the sheet {values.title}"
            raise TooLarge(path, why, "Save each sheet as .csv: those may be of any length.")
        yield cells


def _by_row(places: frozenset[Place]) -> dict[int, list[int]]:
    """Give the columns of cells by their row."""
    found: dict[int, list[int]] = {}
    for row, column in sorted(places):
        found.setdefault(row, []).append(column)
    return found


def _batched(path: Path, values: Any) -> Iterator[Any]:  # noqa: ANN401 - any entry's or library's type
    """Give the rows, pulled in batches so that the library's warnings stay inside."""
    # Some programs write a wrong size into the sheet; without it all rows are read.
    values.reset_dimensions()
    rows = values.iter_rows()
    while True:
        try:
            with warnings.catch_warnings():
                warnings.simplefilter("ignore")
                batch = list(islice(rows, _BATCH))
        except DAMAGE as error:
            raise DamagedWorkbook(path) from error
        if not batch:
            return
        yield from batch


def _cell(cell: Any) -> Cell:  # noqa: ANN401 - any entry's or library's type
    """Turn a library's cell into ours."""
    value = cell.value
    if isinstance(value, str):
        value = _ESCAPED.sub(lambda match: chr(int(match[1], 16)), value)
    return Cell(value, cell.number_format or "General")
