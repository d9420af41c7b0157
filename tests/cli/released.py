"""A book with one car that was worked on, and the first edition of its work history.

0007 has what a buyer sees, and beside it what nobody outside may: costs, names, notes, files.
"""

from __future__ import annotations

import io
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from PIL import Image
from pypdf import PdfWriter

from recondition.book.keys import no_passphrase
from recondition.reports.history_files import write_release
from recondition.reports.history_release import Made, Wanted, release
from tests.once import once
from tests.pictures import photograph
from tests.places import opened
from tests.running import done, stand_in

if TYPE_CHECKING:
    from collections.abc import Callable

    from recondition.book.engine import Book

MADE_ON = date(2031, 3, 4)
LISTED = "--who-may-see-it listing"
BOOK = f"""
recondition book create --currency USD --person MR --name "Mara Ridd"
recondition book set "shop name" "Ridd & Kess"
recondition person add HK "Hana Kess" preparer
recondition person add OW "Otto Wend" owner
recondition person rate MR 2021-01-01 41.00
recondition person rate HK 2021-01-01 38.00
recondition supplier add S-001 "Halm Decals"
recondition product add M-001 "Fine cut 4" "fine polish" ml
recondition vehicle add 0007 "1967 Dunmarch Warden estate" --chassis-number-as-stamped DW67-0412 \
 --arrived 2031-02-01 --private-note "bought from a widow in Harrow Lane"
recondition vehicle add 0008 "1971 Orlanda Brisa coupe" --whose-it-is consigned --owner OW
recondition finding add 0007 bonnet "wash swirls" --severity 2 --found 2031-02-01
recondition finding add 0007 "left front wing" "torn side stripe" --severity 3 --found 2031-02-01
recondition finding add 0008 roof "dull paint" --severity 2 --found 2031-02-01
recondition film instrument G1 "pocket film gauge" "magnetic and eddy current" 2.5
recondition film add 0007 bonnet "101 104 99 103 108" --instrument G1 --place centre \
 --read-on 2031-02-01
recondition terms set 0007 hammer 20000/25000/30000 41
recondition document add 0007 before.jpg photograph "bonnet on arrival" --panel bonnet {LISTED} \
 --taken-at 2031-02-01T09:00+00:00
recondition document add 0007 after.jpg photograph "bonnet polished" --panel bonnet {LISTED} \
 --taken-at 2031-02-02T16:30+00:00 --before D-001
recondition document add 0007 letter.pdf certificate "letter of the archive" {LISTED}
recondition document add 0007 stripe.txt other "stripe compared with the plan" {LISTED}
recondition document add 0007 key.jpg photograph "key in its cabinet"
recondition post labour 0007 2.5 "one-step polish, bonnet" --findings F-001 --panel bonnet \
 --work-date 2031-02-02
recondition stock receive M-001 "500 ml" 18.50 --received-on 2031-01-10
recondition post consumable 0007 M-001 "35 ml" polishing --findings F-001 --work-date 2031-02-02
recondition post sublet 0007 240 "stripe sewn" --findings F-002 --supplier S-001 \
 --work-date 2031-02-03
recondition finding end 0007 F-001 "partly resolved" --severity-after 1 --on 2031-02-02
"""


def _files(folder: Path) -> None:
    """Write what is handed out, and what is not."""
    (folder / "before.jpg").write_bytes(photograph("2031:02:01 09:00:00", shade=70, place=True))
    (folder / "after.jpg").write_bytes(photograph("2031:02:02 16:30:00", shade=140, place=True))
    (folder / "key.jpg").write_bytes(photograph("2031:02:01 09:05:00", shade=30))
    (folder / "stripe.txt").write_text("Stripe of four lines, as on the plan.\n", encoding="utf-8")
    writer = PdfWriter()
    writer.add_blank_page(300, 400)
    writer.add_metadata({"/Author": "Hana Kess"})
    with (folder / "letter.pdf").open("wb") as file:
        writer.write(file)


def make(book: Book, author: str | None = "MR", *, car: str = "0007", **more: object) -> Made:
    """Make a car's work history as of the day of the first edition."""
    wanted = {"made_on": MADE_ON} | more
    return release(book, Wanted(vehicle=car, author=author, **wanted), no_passphrase)  # type: ignore[arg-type]


def _make(folder: Path) -> str:
    with pytest.MonkeyPatch.context() as patched:
        for name in ("RECONDITION_FILES", "RECONDITION_KEY", "RECONDITION_KEY_PASSPHRASE"):
            patched.delenv(name, raising=False)
        stand_in(folder, patched)
        _files(folder)
        said = [done(line) for line in BOOK.strip().splitlines()]
        book = opened("shop.book")
        write_release(make(book), Path("out"), zipped=True)
        book.close()
    return "".join(said)


def released(factory: pytest.TempPathFactory) -> Path:
    """Make the book and its first edition once for a run; give the folder, to be copied."""
    return once(factory, "worked-on", _make)[0]


def files_in(folder: Path) -> dict[str, bytes]:
    """Give every file of a folder by its path within it."""
    found = sorted(each for each in folder.rglob("*") if each.is_file())
    return {each.relative_to(folder).as_posix(): each.read_bytes() for each in found}


def colours(jpeg: bytes) -> Callable[[tuple[int, int]], tuple[int, ...]]:
    """Give a function that tells the colour of a place of a picture, in percent."""
    image = Image.open(io.BytesIO(jpeg)).convert("RGB")

    def at(place: tuple[int, int]) -> tuple[int, ...]:
        wide, high = (size * part // 100 for size, part in zip(image.size, place, strict=True))
        found = image.getpixel((wide, high))
        assert isinstance(found, tuple)
        return found

    return at
