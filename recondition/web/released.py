"""What was released, kept as it went out: one zip an edition, in a folder beside the book.

An edition can be made again to the byte only until something public changes, so what a buyer's
link shows is kept when it is released. A kept zip is named by the hash of its edition's signed
head and is checked against it before anything of it is shown; what does not fit counts as
missing. Where an edition was released at the command line, it is made again and kept then.
"""

from __future__ import annotations

import io
import zipfile
import zlib
from collections import OrderedDict
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from threading import Lock
from typing import TYPE_CHECKING, Any

from recondition.book import reading
from recondition.book.editions import (
    agreed,
    editions_of,
    erased_since,
    named_then,
    redactions_of,
    rests_on,
    withdrawals_of,
)
from recondition.book.keys import no_passphrase
from recondition.book.people import kept_until
from recondition.book.questions import vehicle_of
from recondition.book.wiping import FILE
from recondition.errors import Refused
from recondition.history.evidence import is_listed
from recondition.history.folder import HTML, JSON, PDF, check_folder
from recondition.history.proof import File, head_hash
from recondition.history.public import PUBLIC
from recondition.reports.history_files import ZIP, zip_of
from recondition.reports.history_release import Wanted, release
from recondition.reports.whole import write_bytes

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date
    from pathlib import Path

    from recondition.book import Connection
    from recondition.book.engine import Book
    from recondition.history.records import Consent, Edition
    from recondition.ledger.drafts import Stored
    from recondition.reports.history_release import Made

IN_MEMORY_MAX = 4
IN_MEMORY_MAX_BYTES = 128 * 1024 * 1024
_NOT_AGAIN_MAX = 1000
_NO_ZIP = (zipfile.BadZipFile, zlib.error, EOFError, ValueError, NotImplementedError, RuntimeError)

KINDS = {
    HTML: "text/html", PDF: "application/pdf", JSON: "application/json", ZIP: "application/zip",
}  # fmt: skip
"""What is handed out of an edition, with its media type; the zip holds all of it."""
WORDS = {
    HTML: "the page", PDF: "the PDF", JSON: "the JSON", ZIP: "all of it with the evidence (zip)",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Out:
    """An edition as it went out: its files by their path, its head, short code and fingerprint."""

    files: Mapping[str, bytes]
    head: Mapping[str, Any]
    code: str
    fingerprint: str

    @property
    def size_bytes(self) -> int:
        """How much memory its files take."""
        return sum(len(content) for content in self.files.values())


def file_of(out: Out, name: str) -> bytes | None:
    """Give one of the files that are handed out of an edition, by its name; None for another."""
    if name == ZIP:
        return zip_of(File(path, content) for path, content in out.files.items())
    return out.files.get(name) if name in KINDS else None


def folder_of(book: Book) -> Path:
    """Say where released editions are kept: beside the book, or beside its folder of files."""
    beside = book.path or book.files
    return beside.with_name(f"{beside.name}.released")


def keep(book: Book, made: Made) -> None:
    """Keep an edition that was just made. Raises FileNotWritten."""
    write_bytes(_place(book, _head_of(made)), zip_of(made.files))


def let_go(book: Book, made: Made) -> None:
    """Delete what was kept of an edition that was not noted in the book after all."""
    head = _head_of(made)
    with book.reading() as conn:
        if not any(each.entry.head == head for each in reading.stored(conn, "edition")):
            _place(book, head).unlink(missing_ok=True)


def _head_of(made: Made) -> str:
    """Give the hash of the head of an edition, in hex."""
    return head_hash(made.proof["head"]).hex()


def _place(book: Book, head: str) -> Path:
    """Name the zip of an edition by the hash of its head, in hex."""
    return folder_of(book) / f"{head}.zip"


class Shelf:
    """Editions as they went out, a few of them in memory; what cannot be had again is noted."""

    def __init__(self) -> None:
        """Begin with nothing in memory."""
        self._lock, self._making = Lock(), Lock()
        self._there: OrderedDict[str, Out] = OrderedDict()
        self._not_again: set[tuple[str, str]] = set()

    def out(self, book: Book, stock: str, edition: Stored[Edition]) -> Out | None:
        """Give an edition as it went out; None where it was not kept and cannot be made again."""
        head = edition.entry.head
        with self._lock:
            found = self._there.get(head)
        if found is None:
            found = _read(book, head)
        if found is None:
            with self._making:  # one at a time: it takes seconds
                found = _read(book, head) or self._again(book, stock, edition)
        if found is not None:
            self._put(head, found)
        return found

    def _put(self, head: str, out: Out) -> None:
        """Keep an edition in memory, and let go of those that were shown longest ago."""
        with self._lock:
            self._there[head] = out
            self._there.move_to_end(head)
            while self._too_much():
                self._there.popitem(last=False)

    def _too_much(self) -> bool:
        """Tell whether one has to go; the newest stays in any case."""
        held = sum(each.size_bytes for each in self._there.values())
        more = len(self._there) > IN_MEMORY_MAX or held > IN_MEMORY_MAX_BYTES
        return more and len(self._there) > 1

    def _again(self, book: Book, stock: str, edition: Stored[Edition]) -> Out | None:
        """Make an edition again and keep it, where nothing public changed and the key is open."""
        with book.reading() as conn:
            now = reading.head_of(conn, edition.subject)
        asked = (edition.entry.head, now.hash if now else "")
        if asked in self._not_again:
            return None
        today = book.now().astimezone().date()
        with suppress(Refused):
            made = release(book, Wanted(vehicle=stock, made_on=today), no_passphrase)
            if head_hash(made.proof["head"]).hex() == edition.entry.head:
                keep(book, made)
                return _read(book, edition.entry.head)
        if len(self._not_again) >= _NOT_AGAIN_MAX:
            self._not_again.clear()
        self._not_again.add(asked)
        return None

    def drop(self, book: Book, head: str) -> None:
        """Delete what is kept of an edition, here and in memory."""
        with self._lock:
            self._there.pop(head, None)
            _place(book, head).unlink(missing_ok=True)


def _read(book: Book, head: str) -> Out | None:
    """Read a kept edition and check all of it against its signed head."""
    try:
        with zipfile.ZipFile(io.BytesIO(_place(book, head).read_bytes())) as archive:
            files = {name: archive.read(name) for name in archive.namelist()}
    except (OSError, *_NO_ZIP):
        return None
    verdict = check_folder(files)
    if not verdict.holds or verdict.head is None:
        return None
    if head_hash(verdict.head).hex() != head:
        return None
    return Out(files, verdict.head, verdict.code, verdict.fingerprint)


def shown_to_buyer(
    conn: Connection, stock: str, number: int | None, on: date
) -> Stored[Edition] | None:
    """Give the edition that a buyer may see now; None where there is none.

    Without a number it is the newest, and none where that one was withdrawn: those before it
    gave way to it. Raises NotThere.
    """
    vehicle = vehicle_of(conn, stock)
    made = editions_of(conn, vehicle.id)
    wanted = [each for each in made if number in (None, each.entry.number)][-1:]
    gone = withdrawals_of(conn, vehicle.id)
    for each in wanted:
        if each.id not in gone and not held_back(conn, each, on):
            return each
    return None


def held_back(conn: Connection, edition: Stored[Edition], on: date) -> str:
    """Say why an edition is no longer shown to anybody, '' where it may be.

    What it says was agreed to or not thought of then: a consent that ended since, somebody who
    was forgotten since, words or a picture that were erased since, a picture of which a place was
    hidden since or that is listed no longer.
    """
    vehicle = edition.entry.vehicle
    for each in reading.stored(conn, "consent"):
        if _ended_since(conn, each, edition, on):
            return f"consent {each.ref} has ended since"
    if named_then(conn, edition):
        return "somebody whom it may name was erased or restricted since"
    for kind, ref in _erased(conn, edition):
        return f"something that it may show of {kind} {ref} was erased since"
    later = {
        each.entry.document
        for each in reading.stored(conn, "redaction", vehicle=vehicle)
        if _after(each, edition) and not each.entry.off
    }
    hidden = later.intersection(redactions_of(conn, vehicle))
    for each in reading.stored(conn, "document", vehicle=vehicle):
        if each.id in hidden and is_listed(each.entry):
            return f"a place on picture {each.ref} was hidden since"
        if _listed_then(conn, each, edition):
            return f"{each.ref} is for buyers no longer"
    return ""


def _after(record: Stored[Any], edition: Stored[Edition]) -> bool:
    """Tell whether a record was made after an edition."""
    made = datetime.fromisoformat(record.recorded_at)
    return made > datetime.fromisoformat(edition.recorded_at)


def _holds_for(consent: Consent, edition: Edition) -> bool:
    """Tell whether a consent is about the vehicle of an edition, and was given by its day."""
    about = consent.vehicle in (None, edition.vehicle)
    return about and consent.given_on <= edition.made_on


def _ended_since(
    conn: Connection, consent: Stored[Consent], edition: Stored[Edition], on: date
) -> bool:
    """Tell whether a consent that an edition may rest on has ended by a day."""
    given, ends = consent.entry, consent.entry.withdrawn_on
    if ends is None or ends > on or not _holds_for(given, edition.entry):
        return False
    if not (_after(consent, edition) or ends > edition.entry.made_on):
        return False
    if agreed(conn, given, edition.entry.vehicle, on):
        return False
    return rests_on(conn, edition, given)


def must_go(conn: Connection, edition: Stored[Edition]) -> bool:
    """Tell whether what is kept of an edition has to be deleted: something in it was erased.

    Of somebody who is restricted it stays, and is shown to nobody.
    """
    if _erased(conn, edition):
        return True
    return any(kept_until(conn, each) is None for each in named_then(conn, edition))


def _erased(conn: Connection, edition: Stored[Edition]) -> list[tuple[str, str]]:
    """Give the records of which something that a buyer may see was erased after an edition."""
    return [
        (kind, ref)
        for kind, ref, field in erased_since(conn, edition)
        if field == FILE or field in PUBLIC.get(kind, ())
    ]


def forgotten(conn: Connection, edition: Stored[Edition]) -> bool:
    """Tell whether somebody or something in an edition was erased or restricted since."""
    return bool(named_then(conn, edition) or _erased(conn, edition))


def sweep(book: Book) -> int:
    """Delete what is kept of editions in which something was erased; give how many went."""
    with book.reading() as conn:
        heads = [each.entry.head for each in reading.stored(conn, "edition")
                 if must_go(conn, each)]  # fmt: skip
    places = [place for head in heads if (place := _place(book, head)).exists()]
    for place in places:
        place.unlink(missing_ok=True)
    return len(places)


def _listed_then(conn: Connection, document: Stored[Any], edition: Stored[Edition]) -> bool:
    """Tell whether a file was for buyers when an edition was made, and is so no longer."""
    if is_listed(document.entry) or not _after(document, edition):
        return False
    every = reading.versions(conn, "document", vehicle=edition.entry.vehicle)
    return any(
        is_listed(each.entry) for each in every.get(document.id, ()) if not _after(each, edition)
    )
