"""A small real book whose work histories went out, made once for a run.

Folders beside the book: ``first`` and ``second`` hold two editions of one vehicle, ``other`` the
first edition of another. The vehicles, people and firms are invented.
"""

from __future__ import annotations

import io
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pypdf

from recondition.amounts import Quantity
from recondition.book.engine import Book
from recondition.book.keys import no_passphrase, place_of_key
from recondition.condition.film import FilmReading, Instrument, Principle
from recondition.condition.findings import Ended, Outcome, When
from recondition.condition.vehicle import Holding, OdometerUnit, Vehicle
from recondition.fields import Id, Words
from recondition.history.records import Redaction
from recondition.history.signing import fingerprint_of, unb64
from recondition.history.strictly import read
from recondition.ledger.documents import Document, DocumentKind, Visibility
from recondition.ledger.lines import Charge, Origin, Part
from recondition.ledger.people import Person, Rate, Setting
from recondition.reports.history_files import write_release
from recondition.reports.history_release import Wanted, release
from tests.book.make import add, finding, labour, line, links, usd
from tests.once import once
from tests.pictures import photograph
from tests.places import copied_book, opened

if TYPE_CHECKING:
    import pytest

MADE_ON = date(2031, 4, 2)
FOLDERS = ("first", "second", "other")
SAID = "Seam sewn again through the old holes."


@dataclass(frozen=True, slots=True)
class Released:
    """Where it lies, and the bytes of the first edition by their path in its folder."""

    place: Path
    files: dict[str, bytes]

    @property
    def folder(self) -> Path:
        """The folder of the first edition."""
        return self.place / "first"

    @property
    def release(self) -> dict[str, Any]:
        """What the release file says."""
        said: dict[str, Any] = read(self.files["work-history-release.json"].decode())
        return said

    @property
    def code(self) -> str:
        """The short code."""
        return str(self.release["code"])

    @property
    def fingerprint(self) -> str:
        """The fingerprint of the shop's key."""
        return fingerprint_of(unb64(self.release["key"], 32) or b"")

    def folder_of(self, name: str) -> dict[str, bytes]:
        """Give the bytes of the files of one of the folders."""
        return bytes_in(self.place / name)

    def book(self, to: Path) -> Book:
        """Open a copy of the book, with its key."""
        assert (self.place / "book.sqlite.files").exists()
        book = opened(copied_book(self.place / "book.sqlite", to / "book.sqlite"))
        key = place_of_key(book)
        key.write_bytes((self.place / key.name).read_bytes())
        key.chmod(0o600)
        return book


def bytes_in(folder: Path) -> dict[str, bytes]:
    """Give the bytes of every file of a folder by its path within it."""
    found = sorted(each for each in folder.rglob("*") if each.is_file())
    return {each.relative_to(folder).as_posix(): each.read_bytes() for each in found}


def released(factory: pytest.TempPathFactory, empty: Path) -> Released:
    """Give what was released; the first that asks makes it."""
    place, _ = once(factory, "released", partial(_make, empty=empty))
    return Released(place, bytes_in(place / "first"))


def _make(folder: Path, empty: Path) -> str:
    """Fill a book and release three work histories."""
    book = opened(copied_book(empty, folder / "book.sqlite"))
    add(book, "setting", "currency", Setting(value="USD"))
    add(book, "setting", "shop name", Setting(value="Werkhof Brandt"))
    person = add(book, "person", "HK", Person(name=Words("Hanna Kolb"), role="preparer"))
    rate = Rate(
        person=person, from_date=date(2031, 1, 1), cost_rate=usd("38.75"),
        charge_out_rate=usd("95.00"),
    )  # fmt: skip
    add(book, "rate", "R-1", rate)
    own = _vehicle(book, "0007", "Tavorel Lisse", "TL 3 004 217")
    _work(book, own, person)
    _pictures(book, own, folder)
    other = _vehicle(book, "0008", "Ostra 9", "OS 9 118")
    add(book, "finding", "F-9", finding(other, defect="dent", severity=2))
    _release(book, "0007", folder / "first")
    add(book, "finding", "F-4", finding(own, panel="boot lid", defect="fading", severity=1))
    _release(book, "0007", folder / "second")
    _release(book, "0008", folder / "other")
    book.close()
    return "made"


def _release(book: Book, vehicle: str, folder: Path) -> None:
    wanted = Wanted(vehicle=vehicle, made_on=MADE_ON, author="HK", locale="en_GB")
    write_release(release(book, wanted, no_passphrase), folder)


def _vehicle(book: Book, ref: str, designation: str, chassis: str) -> Id:
    car = Vehicle(
        designation=designation,
        holding=Holding.OWN,
        body_style="coupe",
        model_year=1971,
        chassis_stamped=chassis,
        odometer_shown="04237",
        odometer_unit=OdometerUnit.KM,
        arrived_on=date(2031, 3, 1),
    )
    return add(book, "vehicle", ref, car)


def _work(book: Book, own: Id, person: Id) -> None:
    """Note findings with what became of them, readings, and lines with words and figures."""
    scratch = add(
        book, "finding", "F-1", finding(own, severity=3, words=Words("by the \U0001f698"))
    )
    seam = add(book, "finding", "F-2", finding(own, panel="bonnet", severity=2))
    add(book, "finding", "F-3", finding(own, panel="left front door", severity=1))
    gauge = Instrument(
        name="film gauge", principle=Principle.BOTH, uncertainty=Quantity.of("2.5", "um")
    )
    used = add(book, "instrument", "G1", gauge)
    for ref, when, values in (("T-1", When.BEFORE, "104 108 111"), ("T-2", When.AFTER, "101 105")):
        readings = tuple(Decimal(value) for value in values.split())
        film = FilmReading(
            vehicle=own, instrument=used, readings=readings, panel="roof", unit="um",
            read_on=date(2031, 3, 2 if when is When.BEFORE else 20), place="centre", when=when,
            step="polish",
        )  # fmt: skip
        add(book, "film reading", ref, film)
    worked = labour(own, person, "2.5", links=links(scratch), words=Words("Cut, then refined."))
    add(book, "labour", "L-1", worked)
    fitted = Part(
        quantity=Quantity.of("1", "pair"), price=usd("1985.45"), origin=Origin.REPRODUCTION,
        part_name=Words("side decals"), **line(own, links=links(seam), words=Words(SAID)),
    )  # fmt: skip
    add(book, "part", "L-2", fitted)
    add(book, "charge", "L-3", Charge(price=usd("4127.80"), **line(own)))
    ended = Outcome(
        vehicle=own, finding=scratch, ended=Ended.RESOLVED, ended_on=date(2031, 3, 20),
        severity_after=0, words=Words("gone under the lamp"),
    )  # fmt: skip
    add(book, "outcome", "O-1", ended)


def _pictures(book: Book, own: Id, folder: Path) -> None:
    """Keep four listed pictures (two a pair, one with a hidden place), a page, a PDF, a secret."""

    def keep(ref: str, content: bytes, title: str, **more: Any) -> Id:
        path = folder / ref
        path.write_bytes(content)
        given = {"kind": DocumentKind.PHOTOGRAPH, "visibility": Visibility.LISTING} | more
        document = Document(vehicle=own, title=Words(title), **given)
        kept = add(book, "document", ref, document, file=path)
        path.unlink()
        return kept

    def picture(ref: str, day: int, title: str, shade: int, **more: Any) -> Id:
        taken = f"2031-03-{day:02}T10:00:00+00:00"
        content = photograph("2031:03:01 10:00:00", "+00:00", shade=shade, place=True)
        return keep(ref, content, title, taken_at=taken, **more)

    before = picture("D-1.jpg", 1, "roof on arrival", 40, panel="roof")
    picture("D-2.jpg", 20, "roof afterwards", 90, panel="roof", before=before)
    plate = picture("D-3.jpg", 1, "chassis plate", 140)
    picture("D-4.jpg", 21, "front, three quarters", 190)
    hidden = Redaction(
        vehicle=own, document=plate, from_left=Decimal(10), from_top=Decimal(10),
        width=Decimal(30), height=Decimal(30), why=Words("plate of another car"),
    )  # fmt: skip
    add(book, "redaction", "RD-1", hidden)
    keep("D-5.txt", b"Test paper of 4 March: passed.\n", "test paper", kind=DocumentKind.OTHER)
    keep("D-6.pdf", _paper(), "paint code sheet", kind=DocumentKind.CERTIFICATE)
    keep("D-7.txt", b"For us alone.\n", "notes", kind=DocumentKind.OTHER,
         visibility=Visibility.EVIDENCE)  # fmt: skip


def _paper() -> bytes:
    """Give a PDF with one empty page."""
    writer = pypdf.PdfWriter()
    writer.add_blank_page(200, 200)
    file = io.BytesIO()
    writer.write(file)
    return file.getvalue()
