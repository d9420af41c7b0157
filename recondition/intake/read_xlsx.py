"""Reading an .xlsx file row by row, with the stored values of its formulas.

A second pass over the formulas runs beside the first only where the file has any, to tell
an empty cell from a formula whose value was never stored.
"""

from __future__ import annotations

import re
import warnings
import zipfile
import zlib
from contextlib import contextmanager
from itertools import islice
from typing import TYPE_CHECKING, Any
from weakref import finalize

from recondition.intake.cells import Cell
from recondition.intake.sources import (
    DamagedWorkbook,
    NotImportable,
    PasswordProtected,
    RawSheet,
    TooLarge,
)

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

UNPACKED_MAX_BYTES = 500 * 1024 * 1024
ROWS_MAX = 100_000
_BATCH = 200

_OLD_FORMAT = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
_ENCRYPTED = "EncryptedPackage".encode("utf-16-le")
_FORMULA = re.compile(rb"<(?:\w+:)?f[ />]")
# ECMA-376 part 1, 22.9.2.19 (ST_Xstring): characters that XML cannot hold.
_ESCAPED = re.compile(r"_x([0-9A-Fa-f]{4})_")
# Both XML readers that openpyxl may use raise a SyntaxError of their own.
_DAMAGE = (KeyError, ValueError, TypeError, IndexError, AttributeError, SyntaxError, EOFError,
           OSError, zipfile.BadZipFile, zlib.error, NotImplementedError)  # fmt: skip


def sheets(path: Path) -> list[RawSheet]:
    """List the sheets of a workbook. Raises NotImportable and its kinds."""
    _check_file(path)
    formulas = _has_formulas(path)
    source = _Source(path)
    names = [sheet.title for sheet in source.opened(data_only=True).worksheets]
    return [_raw(source, name, formulas=formulas) for name in names]


def _raw(source: _Source, name: str, *, formulas: bool) -> RawSheet:
    """Give one sheet to be read later."""
    return RawSheet(name, lambda: _reading(source, name, formulas=formulas))


class _Source:
    """A workbook that is opened once for all its sheets, since opening reads the head of each.

    It is closed when the last sheet that could be read from it is let go.
    """

    def __init__(self, path: Path) -> None:
        """Open nothing yet."""
        self.path = path
        self._opened: dict[bool, Any] = {}
        finalize(self, _close, self._opened)

    def opened(self, *, data_only: bool) -> Any:  # noqa: ANN401 - openpyxl's workbook
        """Give the workbook, for reading by rows. Raises DamagedWorkbook."""
        from openpyxl import load_workbook  # noqa: PLC0415 - heavy, and only for workbooks

        if data_only not in self._opened:
            try:
                with warnings.catch_warnings():
                    warnings.simplefilter("ignore")
                    self._opened[data_only] = load_workbook(
                        self.path, read_only=True, data_only=data_only
                    )
            except _DAMAGE as error:
                raise DamagedWorkbook(self.path) from error
        return self._opened[data_only]


def _close(opened: dict[bool, Any]) -> None:
    """Close what was opened."""
    for workbook in opened.values():
        workbook.close()


def _check_file(path: Path) -> None:
    """Refuse what is no workbook, or one that unpacks to too much."""
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
    try:
        with zipfile.ZipFile(path) as archive:
            sizes = {part.filename: part.file_size for part in archive.infolist()}
    except _DAMAGE as error:
        raise DamagedWorkbook(path) from error
    if "xl/workbook.xml" not in sizes:
        why = "is an archive, but not an .xlsx workbook"
        raise NotImportable(path, why, "Save it as .xlsx in your spreadsheet.")
    if sum(sizes.values()) > UNPACKED_MAX_BYTES:
        why = f"unpacks to more than {UNPACKED_MAX_BYTES // 1024**2} MB"
        raise TooLarge(path, why, "Remove pictures and unused sheets, or save each as .csv.")


def _has_formulas(path: Path) -> bool:
    """Tell whether any sheet of the file holds a formula, without building anything."""
    try:
        with zipfile.ZipFile(path) as archive:
            for name in archive.namelist():
                if name.startswith("xl/worksheets/") and name.endswith(".xml"):
                    with archive.open(name) as part:
                        if _contains_formula(part):
                            return True
    except _DAMAGE as error:
        raise DamagedWorkbook(path) from error
    return False


def _contains_formula(part: Any) -> bool:  # noqa: ANN401 - any entry's or library's type
    """Search a stream for a formula's tag, across the joints of its blocks."""
    tail = b""
    while block := part.read(1 << 20):
        if _FORMULA.search(tail + block):
            return True
        tail = block[-20:]
    return False


@contextmanager
def _reading(source: _Source, name: str, *, formulas: bool) -> Iterator[Iterator[list[Cell]]]:
    """Open one sheet's rows."""
    values = source.opened(data_only=True)[name]
    written = source.opened(data_only=False)[name] if formulas else None
    yield _rows(source.path, values, written)


def _rows(path: Path, values: Any, written: Any) -> Iterator[list[Cell]]:  # noqa: ANN401 - any entry's or library's type
    """Give the rows of a sheet; more than can be held is refused by name."""
    filled = 0
    for row, formulas in _batched(path, values, written):
        cells = [_cell(cell) for cell in row]
        for position, cell in enumerate(formulas):
            if cell.data_type == "f" and (position >= len(cells) or cells[position].value is None):
                cells += [Cell(None)] * (position + 1 - len(cells))
                cells[position] = Cell(None, formula_without_value=True)
        filled += any(not cell.blank for cell in cells)
        if filled > ROWS_MAX:
            why = f"has more than {ROWS_MAX:,} rows on the sheet {values.title}"
            raise TooLarge(path, why, "Save each sheet as .csv: those may be of any length.")
        yield cells


def _batched(path: Path, values: Any, written: Any) -> Iterator[tuple[Any, Any]]:  # noqa: ANN401 - any entry's or library's type
    """Give pairs of rows, pulled in batches so that the library's warnings stay inside."""
    # Some programs write a wrong size into the sheet; without it all rows are read.
    values.reset_dimensions()
    first = values.iter_rows()
    second = None
    if written is not None:
        written.reset_dimensions()
        second = written.iter_rows()
    while True:
        try:
            with warnings.catch_warnings():
                warnings.simplefilter("ignore")
                rows = list(islice(first, _BATCH))
                others = list(islice(second, _BATCH)) if second is not None else [()] * len(rows)
        except _DAMAGE as error:
            raise DamagedWorkbook(path) from error
        if not rows:
            return
        yield from zip(rows, others, strict=True)


def _cell(cell: Any) -> Cell:  # noqa: ANN401 - any entry's or library's type
    """Turn a library's cell into ours."""
    value = cell.value
    if value is None:
        return Cell(None)
    if isinstance(value, str):
        value = _ESCAPED.sub(lambda match: chr(int(match[1], 16)), value)
    return Cell(value, cell.number_format or "General")
