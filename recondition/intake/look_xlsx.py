"""Looking through a workbook before it is opened: what no spreadsheet writes is refused.

The library that opens it builds what it reads in memory. So each part is read once as a stream
that keeps nothing, and what would be built is counted. On the way it is noted which cells hold
a formula whose value was never stored.
"""

from __future__ import annotations

import zipfile
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import IO
from xml.parsers import expat

# As many rows as a sheet has in a spreadsheet (16,384 columns, 1,048,576 rows).
SHEET_ROWS_MAX = 1_048_576
# A cell has up to eight elements: value, formula, or a text in several fonts.
ROW_ELEMENTS_MAX = 8 * 16_384
# A spreadsheet keeps up to 65,490 formats of cells; a part that is no sheet has little else.
OTHER_ELEMENTS_MAX = 300_000
ROW_MAX_BYTES = 16 * 1024 * 1024
TEXTS_MAX = 1_000_000
TEXTS_MAX_BYTES = 64 * 1024 * 1024
SHEETS_MAX = 200
DEPTH_MAX = 64
VALUELESS_MAX = 200_000

_BLOCK_BYTES = 64 * 1024
# The kinds of part that the library reads where a relation leads to them.
_READ = frozenset({"worksheet", "sharedStrings", "styles", "theme", "externalLink", "chartsheet"})
_XML_ENDINGS = (".xml", ".rels")
Place = tuple[int, int]


class NoWorkbook(ValueError):  # noqa: N818 - said of bytes, not an error of ours
    """A part is no XML as spreadsheets write it."""


class TooMuch(ValueError):  # noqa: N818 - as above
    """A part holds more than any spreadsheet can; says of what."""


def look_through(archive: zipfile.ZipFile) -> dict[str, frozenset[Place]]:
    """Look through every part of XML; give the cells of each whose formula has no value.

    A cell is row and column, counted from 1. Raises NoWorkbook, TooMuch.
    """
    found = {}
    for name in archive.namelist():
        if name.lower().endswith(_XML_ENDINGS):
            with archive.open(name) as part:
                found[name] = frozenset(_looked_at(part).valueless)
    return found


def _looked_at(part: IO[bytes]) -> _Look:
    """Look at one part."""
    parser = expat.ParserCreate()
    look = _Look(parser)
    parser.StartElementHandler = look.start
    parser.EndElementHandler = look.end
    parser.StartDoctypeDeclHandler = _no_doctype
    taken, rows = 0, 0
    try:
        while block := part.read(_BLOCK_BYTES):
            parser.Parse(block, False)  # noqa: FBT003 - it takes no names
            taken = taken + len(block) if rows == look.rows else len(block)
            rows = look.rows
            look.weigh(taken, len(block))
        parser.Parse(b"", True)  # noqa: FBT003 - as above
    except (expat.ExpatError, LookupError, ValueError) as error:
        if isinstance(error, TooMuch):
            raise
        raise NoWorkbook(str(error)) from error
    return look


def _no_doctype(*_said: object) -> None:
    """Refuse a document type: no spreadsheet writes one, and its entities can grow or reach out."""
    message = "it declares a document type"
    raise NoWorkbook(message)


@dataclass(slots=True)
class _Look:
    """What was counted in one part so far."""

    parser: expat.XMLParserType
    rows: int = 0
    row: int = 0
    place: str = ""
    beyond_place: int = 0
    depth: int = 0
    texts: int = 0
    texts_bytes: int = 0
    inside: int = 0
    outside: int = 0
    within: str = ""
    formula: bool = False
    value: bool = False
    valueless: set[Place] = field(default_factory=set)
    sheets: int = 0
    targets: set[str] = field(default_factory=set)

    def start(self, tag: str, given: dict[str, str]) -> None:
        """Count an element. Raises TooMuch, ValueError for a place that is none."""
        name = tag.rpartition(":")[2]
        self.depth += 1
        if self.within:
            self.inside += 1
            if name == "c":
                self._cell(given)
            elif name == "f":
                self.formula = True
            elif name == "v" and self.formula:
                self.parser.CharacterDataHandler = self.text
        elif name in {"row", "si"}:
            self._row(name, given)
        else:
            self.outside += 1
            if name in _NOTED:
                _NOTED[name](self, given)
        if self.inside > ROW_ELEMENTS_MAX:
            _beyond("cells in one row")
        if self.outside > OTHER_ELEMENTS_MAX or self.depth > DEPTH_MAX:
            _beyond("formats and other parts")

    def end(self, tag: str) -> None:
        """Leave an element."""
        self.depth -= 1
        name = tag.rpartition(":")[2]
        if name == self.within:
            self.within = ""
        elif name == "v":
            self.parser.CharacterDataHandler = None
        elif name == "c" and self.within == "row" and self.formula and not self.value:
            self.valueless.add((self.row, self._column()))
            if len(self.valueless) > VALUELESS_MAX:
                _beyond("formulas without a stored value")

    def text(self, _text: str) -> None:
        """Note that a formula's value is more than an empty element."""
        self.value = True
        self.parser.CharacterDataHandler = None

    def weigh(self, taken: int, block: int) -> None:
        """Weigh what came since the last row began, and all texts. Raises TooMuch."""
        if taken > ROW_MAX_BYTES:
            _beyond("text in one row")
        if self.texts:
            self.texts_bytes += block
        if self.texts_bytes > TEXTS_MAX_BYTES:
            _beyond("text")

    def _row(self, name: str, given: dict[str, str]) -> None:
        """Begin a row of a sheet, or one of the texts that cells share."""
        self.within, self.inside = name, 0
        self.place, self.beyond_place = "", 0
        self.rows += 1
        self.texts += name == "si"
        self.row = _number(given["r"]) if name == "row" and "r" in given else self.row + 1
        if max(self.row, self.rows) > SHEET_ROWS_MAX:
            _beyond("rows on one sheet")
        if self.texts > TEXTS_MAX:
            _beyond("texts")

    def _cell(self, given: dict[str, str]) -> None:
        """Begin a cell; one that does not say where it stands follows the one before it."""
        place = given.get("r")
        self.place, self.beyond_place = (place, 0) if place else (self.place, self.beyond_place + 1)
        self.formula = self.value = False

    def _column(self) -> int:
        """Give the column that the cell stands in, counted from 1."""
        from openpyxl.utils.cell import coordinate_to_tuple  # noqa: PLC0415 - as for the workbook

        named = coordinate_to_tuple(self.place)[1] if self.place else 0
        return int(named) + self.beyond_place

    def _sheet(self, given: dict[str, str]) -> None:
        """Note a sheet that is listed."""
        self.sheets += 1
        if self.sheets > SHEETS_MAX:
            _beyond("sheets")
        self._once(f"sheet {next((v for k, v in given.items() if k.endswith(':id')), self.sheets)}")

    def _relation(self, given: dict[str, str]) -> None:
        """Note where a part lies that is read; it has to be one that is looked at."""
        kind, target = given.get("Type", "").rpartition("/")[2], given.get("Target", "")
        if kind in _READ and given.get("TargetMode") != "External":
            self._is_xml(target)
            if kind == "worksheet":
                self._once(target.rpartition("/")[2])

    def _override(self, given: dict[str, str]) -> None:
        """Note what a part is said to hold."""
        if given.get("ContentType", "").endswith("+xml"):
            self._is_xml(given.get("PartName", ""))

    def _is_xml(self, target: str) -> None:
        """Refuse a part that is read, and named so that it is not looked at."""
        if not target.lower().endswith(_XML_ENDINGS):
            message = f"a part of XML is named {target[:80]!r}"
            raise NoWorkbook(message)

    def _once(self, target: str) -> None:
        """Refuse two sheets in one part: it would be read once for each of them."""
        if target in self.targets:
            message = "two of its sheets are the same part"
            raise NoWorkbook(message)
        self.targets.add(target)


_NOTED: dict[str, Callable[[_Look, dict[str, str]], None]] = {
    "sheet": _Look._sheet,  # noqa: SLF001 - our own, by name
    "Relationship": _Look._relation,  # noqa: SLF001 - as above
    "Override": _Look._override,  # noqa: SLF001 - as above
}


def _number(text: str) -> int:
    """Read the number of a row as the library does, ``7`` or ``7.0``."""
    number = int(text) if text.isdecimal() else float(text)
    if not 1 <= number <= SHEET_ROWS_MAX:
        _beyond("rows on one sheet")
    return int(number)


def _beyond(what: str) -> None:
    """Say of what there is too much."""
    raise TooMuch(what)
