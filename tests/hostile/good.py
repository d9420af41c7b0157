"""Good inputs to begin with: what a reader takes is where a fuzzer finds its way in."""

from __future__ import annotations

import csv
import io
import zipfile
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

from PIL import Image

from recondition.book.backup import backup as back_up
from recondition.book.engine import create_book, open_book
from recondition.book.starting import start_book
from tests.history.released import _make, bytes_in
from tests.intake.sheetmaker import base, write_workbook
from tests.pictures import photograph, picture

if TYPE_CHECKING:
    from collections.abc import Iterator

LABELS = (
    "1:10", "10:1", "1+10", "1 to 10", "1 in 10", "10 %", "20 ml per litre of water",
    "2 fl oz per US gallon of mix", "1 part product + 10 parts water", "neat",
)  # fmt: skip
TEXTS = (
    "2024-05-31", "31/05/2024", "2024-05", "2024-05-31T08:00+02:00", "1,234.50", "1.234,50",
    "USD 40", "(5)", "35 ml", "150 min", "90%", "6% to 500; 8%", "F-001 60; F-002 40",
    "C-01; C-02", "104 108 111", "1.2x3.0; 1.1x3.1", "yes", "2 moderate", "papers/a b.pdf",
)  # fmt: skip
TYPED = b"""lamp = sun
gauge = G1
4 swirls; 2; 100 %
bonnet: scratch; 3; 40 mm; lower edge; nail catches
4 film 104 108 111 106 118; centre
4 gloss60 64 65 63; centre
floor: - ; covered by wax
"""
DATA_SHEET = b"""SECTION 2: Hazards
H315 irritates
SECTION 3: Composition
water
SECTION 9: Physical and chemical properties
pH 9.5 to 10
Relative density: 1.02 g/ml
"""


@cache
def workbook() -> dict[str, bytes]:
    """Give the parts of a small workbook by their names."""
    with TemporaryDirectory() as folder:
        path = write_workbook(Path(folder) / "good.xlsx", base())
        with zipfile.ZipFile(path) as archive:
            return {name: archive.read(name) for name in archive.namelist()}


@cache
def backup() -> dict[str, bytes]:
    """Give the parts of a backup of a small book by their names."""
    with TemporaryDirectory() as folder:
        place = Path(folder) / "small.book"
        start_book(str(place), currency="USD", person="MR", name="Mara Ridd", role="x").close()
        back_up(open_book(str(place)), place.with_suffix(".backup"))
        with zipfile.ZipFile(place.with_suffix(".backup")) as archive:
            return {name: archive.read(name) for name in archive.namelist()}


def packed(parts: dict[str, bytes]) -> bytes:
    """Put parts into a zip, unpacked as they are."""
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w") as archive:
        for name, content in parts.items():
            archive.writestr(zipfile.ZipInfo(name), content)
    return file.getvalue()


def csv_files() -> Iterator[tuple[str, bytes]]:
    """Give the sheets of the small job as .csv."""
    for name, rows in base().items():
        text = io.StringIO()
        csv.writer(text).writerows(rows)
        yield name, text.getvalue().encode()


def pictures() -> list[bytes]:
    """Give pictures of every kind that is kept, and of some that are odd."""
    odd = []
    for kind, mode in (("JPEG", "CMYK"), ("JPEG", "L"), ("PNG", "I;16"), ("PNG", "P")):
        file = io.BytesIO()
        Image.new(mode, (9, 7)).save(file, kind)
        odd.append(file.getvalue())
    moving = io.BytesIO()
    frames = [Image.new("RGB", (9, 7), colour) for colour in ("red", "blue")]
    frames[0].save(moving, "PNG", save_all=True, append_images=frames[1:])
    whole = photograph("2031:03:04 10:11:12", "+02:00", place=True)
    return [whole, picture("PNG"), picture("JPEG"), *odd, moving.getvalue()]


def pdf() -> bytes:
    """Give a small PDF of one page."""
    file = io.BytesIO()
    Image.new("RGB", (20, 20), "grey").save(file, "PDF", title="a page")
    return file.getvalue()


_released: dict[str, bytes] = {}


def take_history(folder: Path) -> None:
    """Take a work history that was released already; making one takes ten seconds."""
    _released.update(bytes_in(folder))


@cache
def history() -> dict[str, bytes]:
    """Give the files of a work history that was released from a small book."""
    if _released:
        return _released
    with TemporaryDirectory() as folder:
        place = Path(folder)
        create_book(str(place / "empty.sqlite")).close()
        (place / "made").mkdir()
        _make(place / "made", place / "empty.sqlite")
        return bytes_in(place / "made" / "first")
