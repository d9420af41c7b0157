"""The books that are killed over: made once for an engine, copied for each kill."""

from __future__ import annotations

import os
import shutil
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING
from unittest.mock import patch

from recondition.book.backup import backup
from recondition.book.engine import open_book
from recondition.book.lowering import downgrade_with_copy
from recondition.book.starting import start_book
from recondition.intake.form import one_row
from tests.faults import verifying
from tests.faults.engines import Ground, Template, site_of
from tests.intake.sheetmaker import base, write_folder, write_workbook
from tests.pictures import picture

if TYPE_CHECKING:
    from multiprocessing.context import ForkServerContext

    from recondition.book.engine import Book
    from tests.faults import deeds

# The oldest schema that all of the records fit.
EARLIER = "0002"
ROWS = 30


@dataclass
class Yard:
    """All that the kills of one engine share."""

    ground: Ground
    context: ForkServerContext
    folder: Path
    templates: dict[str, Template]
    before: Counter[str]
    grown: dict[str, Counter[str]] = field(default_factory=dict)

    def site(self, deed: str, number: int) -> deeds.Site:
        """Lay out a fresh book for a deed."""
        template = self.templates.get(deed, self.templates["own"])
        return site_of(self.ground, template, self.folder / f"kill {number}")

    def clear(self, site: deeds.Site) -> None:
        """Take a book away that is done with."""
        self.ground.drop(site.location)
        shutil.rmtree(site.folder)


def yard_of(ground: Ground, context: ForkServerContext, folder: Path) -> Yard:
    """Make the books of an engine: one to work on, one of an earlier schema, a backup."""
    own, old, new = (folder / name for name in ("own", "old", "new"))
    location, before = shop_of(ground, own)
    (new / "files").mkdir(parents=True)
    with patch.dict(os.environ, RECONDITION_FILES=str(own / "files")):
        book = open_book(location)
        backup(book, new / "earlier.backup")
        book.close()
    shutil.copytree(own, old, ignore=shutil.ignore_patterns("*.book*"))
    earlier = ground.copy(location, old)
    with patch.dict(os.environ, RECONDITION_FILES=str(old / "files")):
        book = open_book(earlier)
        copy = downgrade_with_copy(book, EARLIER)
        book.close()
    if copy is not None:
        copy.unlink()
    templates = {
        "own": Template(location, own),
        "migration": Template(earlier, old),
        "restore": Template("", new, copied=False),
    }
    return Yard(ground, context, folder, templates, before)


def shop_of(ground: Ground, folder: Path) -> tuple[str, Counter[str]]:
    """Make a small book with what can be imported into it; give its place and what it holds."""
    (folder / "files").mkdir(parents=True)
    location = ground.place(folder, "own.book")
    with patch.dict(os.environ, RECONDITION_FILES=str(folder / "files")):
        book = start_book(location, currency="USD", person="MR", name="Mara Ridd", role="preparer")
        _fill(book, folder)
        before = verifying.sound(book)
        book.close()
    _sheets(folder)
    return location, before


def _fill(book: Book, folder: Path) -> None:
    """Enter a car with some lines and two kept files."""

    def row(sheet: str, **values: str) -> None:
        ref = values.pop("ref", None)
        assert one_row(book, sheet, values, author_ref="MR", ref=ref).refused is None

    row("rates", person="MR", from_date="2031-01-01", cost_rate="41.00")
    row("vehicles", ref="0007", designation="1967 Dunmarch Warden estate", holding="own stock")
    for number in range(8):
        row("charges", vehicle="0007", price=f"{number + 1}.00", words="carriage",
            work_date="2031-03-04", unlinked="transport")  # fmt: skip
    for name in ("roof", "bonnet"):
        file = folder / f"{name}.png"
        file.write_bytes(picture() + name.encode())
        row("documents", vehicle="0007", kind="photograph", title=name, file=str(file))


def _sheets(folder: Path) -> None:
    """Write what is to be imported: a car with some dozens of lines and two files."""
    sheets = base()
    sheets["vehicles"][1][0] = "0008"
    for name in ("findings", "labour"):
        for row in sheets[name][1:]:
            row[1] = "0008"
    first = sheets["labour"][1]
    sheets["labour"] += [
        [f"L-{number:03}", *first[1:2], f"2024-06-{number % 28 + 1:02}", *first[3:]]
        for number in range(2, ROWS)
    ]
    sheets["documents"] = [
        ["ref", "vehicle", "kind", "title", "file"],
        ["D-101", "0008", "photograph", "left side", "left.png"],
        ["D-102", "0008", "photograph", "right side", "right.png"],
    ]
    write_workbook(folder / "import.xlsx", sheets)
    write_folder(folder / "import", sheets)
    for place in (folder, folder / "import"):
        for side in ("left", "right"):
            (place / f"{side}.png").write_bytes(picture() + side.encode())
