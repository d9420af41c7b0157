"""Erasing a person's or a firm's texts from the book without breaking the chain.

What law still asks for is restricted instead: the newest version no longer names anybody, so
that no list, report or export does, and the texts of the versions before stay until a day.
"""

from __future__ import annotations

import re
import uuid
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from sqlalchemy import ColumnElement, Connection, delete, select, update

from recondition.book.again import again
from recondition.book.engine import Book
from recondition.book.errors import BookInUse, LastPerson
from recondition.book.files import place_of
from recondition.book.forgetting import forget
from recondition.book.kinds import KINDS
from recondition.book.mentions import Names, mentions, names_of
from recondition.book.posting import Poster
from recondition.book.reading import id_of, one, stored
from recondition.book.tables import entity, erasure, free_text, record, stored_file
from recondition.book.wiping import FILE, owns_files
from recondition.errors import Refused
from recondition.fields import Id, Words
from recondition.ledger.drafts import Draft
from recondition.ledger.people import Erasure

_UNTIL = re.compile(r"restricted until (\d{4}-\d{2}-\d{2}): ")


class GroundNeeded(Refused):
    """An erasure without a ground."""

    exit_status = 2

    def __init__(self) -> None:
        """Say what is missing."""
        super().__init__(
            "an erasure needs its ground", todo="Give --ground, such as 'request of 4 March'."
        )


class GroundNames(Refused):
    """A ground that names the person: it is fixed in the chain and could never be erased."""

    exit_status = 2

    def __init__(self) -> None:
        """Say why, without the name."""
        super().__init__(
            "the ground names whom the erasure is about, and a ground can never be erased",
            todo="Write it without the name, such as 'request of 4 March'.",
        )


class KeptUntil(Refused):
    """Somebody is restricted, and the day until which the texts are kept is not over."""

    def __init__(self, until: date) -> None:
        """Name the day."""
        super().__init__(
            f"what is kept here is restricted already, and stays until {until}",
            todo="Erase from the day after on. Who still needs them reads 'person export' or "
            "'supplier export'.",
        )


class NotAKeepingDay(Refused):
    """A day to keep until that is not to come."""

    exit_status = 2

    def __init__(self, until: date) -> None:
        """Name the day."""
        super().__init__(
            f"{until} is not to come, so there is nothing to keep",
            todo="Give --keep-until a later day, or leave it out.",
        )


class NoSuchText(Refused):
    """A field of a record that holds no free text, or no longer."""

    exit_status = 2

    def __init__(self, kind: str, ref: str, field: str) -> None:
        """Name the place, and all kinds where there is no such kind."""
        known = kind in KINDS
        super().__init__(
            f"{kind} {ref} has no text {field!r} that could be erased",
            todo="Names go with 'person erase' and 'supplier erase'. 'person export' and 'supplier "
            "export' name the fields of other texts."
            if known
            else f"There is no kind {kind!r}. The kinds are: {', '.join(KINDS)}.",
        )


@dataclass(frozen=True, slots=True)
class Erased:
    """How many texts were erased, and the kept files of them that still lie in their folder.

    They do where other books may need them, or where others were at work just then.
    """

    count: int
    left: tuple[Path, ...] = ()


@again
def erase_person(  # noqa: PLR0913 - each is a separate choice of the caller
    book: Book, ref: str, *, author: str, ground: str, kind: str = "person", texts: bool = False
) -> int:
    """Delete name, contact and ref of a person in every version; give how many texts went.

    ``kind`` is person or supplier. With ``texts`` the free texts elsewhere that hold the whole
    name go too. What is left: random ids, the salted hashes, and who erased what, when and why.
    Raises NotThere, GroundNeeded, GroundNames, LastPerson, KeptUntil.
    """
    with book.writing() as conn:
        who, ground = _whom(conn, kind, ref, ground)
        until = kept_until(conn, who)
        if until is not None and book.now().astimezone().date() <= until:
            raise KeptUntil(until)
        eraser = _Eraser(book, conn, author, ground)
        names = names_of(conn, who, ref)
        found = mentions(conn, names, who) if texts else []
        if kind == "person":
            forget(conn, who, names, ref, book.now())
        eraser.erase(record.c.entity == who)
        for mention in found:
            if mention.sure and not mention.fixed:
                eraser.erase(
                    free_text.c.record_id == mention.record, free_text.c.field == mention.field
                )
                if mention.field == "ref":
                    _rename(conn, _entity_of(conn, mention.record), "erased")
        _rename(conn, who, "erased")
    return eraser.count


@again
def restrict_person(  # noqa: PLR0913 - as above
    book: Book, ref: str, *, author: str, ground: str, until: date, kind: str = "person"
) -> str:
    """Take a person's name, contact and ref out of every list, and keep them until a day.

    Gives the ref that the person has from now on. From the day after, ``erase_person`` deletes
    what was kept. Raises NotThere, GroundNeeded, GroundNames, LastPerson, KeptUntil,
    NotAKeepingDay.
    """
    if until <= book.now().astimezone().date():
        raise NotAKeepingDay(until)
    with book.writing() as conn:
        who, ground = _whom(conn, kind, ref, ground)
        before = kept_until(conn, who)
        if before is not None:
            raise KeptUntil(before)
        if kind == "person":
            forget(conn, who, names_of(conn, who, ref), ref, book.now())
        entry = replace(one(conn, kind, ref).entry, name=Words(""), contact=None)
        eraser = _Eraser(book, conn, author, f"restricted until {until}: {ground}")
        made = eraser.poster.post(Draft(id=uuid.uuid4().hex, kind=kind, ref=ref, entry=entry))
        eraser.erase(free_text.c.record_id == made.record, free_text.c.field == "ref")
        return _rename(conn, who, "restricted")


def erase_text(book: Book, place: tuple[str, str, str], *, author: str, ground: str) -> Erased:
    """Delete one free text in every version of a record; give how many texts went.

    ``place`` is kind, ref and field; the field ``file`` is a document's kept file, which goes
    from the folder too where no other document has it and the folder is this book's own. Names
    of people and suppliers go with ``erase_person``. Raises NotThere, GroundNeeded, GroundNames,
    NoSuchText.
    """
    count, gone = _erase_text(book, place, author, ground)
    try:
        if gone and owns_files(book):
            _let_go(book, gone)
    except BookInUse:  # what was erased is on record; only the file waits
        pass
    left = (place_of(book.files, sha256) for sha256 in gone)
    return Erased(count, tuple(path for path in left if path.exists()))


@again
def _let_go(book: Book, hashes: Sequence[str]) -> None:
    """Delete kept files, but for those that another entry was given meanwhile."""
    with book.writing(alone=True) as conn:
        query = select(stored_file.c.sha256).where(stored_file.c.sha256.in_(hashes))
        for sha256 in set(hashes) - set(conn.execute(query).scalars()):
            place_of(book.files, sha256).unlink(missing_ok=True)


@again
def _erase_text(
    book: Book, place: tuple[str, str, str], author: str, ground: str
) -> tuple[int, list[str]]:
    """Delete one free text; give how many went, and the files that nobody has any more."""
    kind, ref, field = place
    if kind not in KINDS:
        raise NoSuchText(kind, ref, field)
    with book.writing() as conn:
        which = id_of(conn, kind, ref)
        texts = (
            select(free_text.c.content)
            .join(record, record.c.id == free_text.c.record_id)
            .where(record.c.entity == which, free_text.c.field == field)
        )
        names = Names(conn.execute(texts).scalars())
        eraser = _Eraser(book, conn, author, _grounded(ground, names))
        if field == FILE:
            gone = eraser.erase_files(record.c.entity == which)
        elif kind not in ("person", "supplier") and (kind, field) != ("setting", "ref"):
            eraser.erase(record.c.entity == which, free_text.c.field == field)
            gone = []
        if not eraser.count:
            raise NoSuchText(kind, ref, field)
        if field == "ref":
            _rename(conn, which, "erased")
    return eraser.count, gone


def kept_until(conn: Connection, entity_id: str) -> date | None:
    """Give the day until which the texts of a restricted person are kept; None for others."""
    query = (
        select(erasure.c.ground)
        .join(record, record.c.id == erasure.c.erased)
        .where(record.c.entity == entity_id, erasure.c.field == "ref")
    )
    days = [_UNTIL.match(ground) for ground in conn.execute(query).scalars()]
    return max((date.fromisoformat(day[1]) for day in days if day), default=None)


def _whom(conn: Connection, kind: str, ref: str, ground: str) -> tuple[str, str]:
    """Give whom an erasure is about, and its ground. Raises as ``erase_person`` does."""
    who = id_of(conn, kind, ref)
    ground = _grounded(ground, names_of(conn, who, ref))
    others = (each for each in stored(conn, "person") if each.id != who)
    if kind == "person" and not any(each.entry.name for each in others):
        raise LastPerson(ref)
    return who, ground


def _grounded(ground: str, names: Names) -> str:
    """Give a ground that can stay for good. Raises GroundNeeded, GroundNames."""
    if not ground.strip():
        raise GroundNeeded
    if names.found_in(ground) is not None:
        raise GroundNames
    return ground.strip()


def _entity_of(conn: Connection, record_id: str) -> str:
    """Give the id of what a record is a version of."""
    query = select(record.c.entity).where(record.c.id == record_id)
    return str(conn.execute(query).scalar_one())


def _rename(conn: Connection, entity_id: str, word: str) -> str:
    """Give a record a ref that says nothing of whom it is about."""
    ref = f"{word}-{entity_id[:8]}"
    conn.execute(update(entity).where(entity.c.id == entity_id).values(ref=ref))
    return ref


class _Eraser:
    """Deletes texts of one transaction, each after its erasure is on record."""

    def __init__(self, book: Book, conn: Connection, author: str, ground: str) -> None:
        self.poster = Poster(book, conn, author)
        self.count = 0
        self._conn = conn
        self._ground = ground

    def erase(self, *which: ColumnElement[bool]) -> None:
        """Delete the free texts of some records."""
        query = select(free_text.c.record_id, free_text.c.field).join(
            record, record.c.id == free_text.c.record_id
        )
        for row in self._conn.execute(query.where(*which)).all():
            self._note(row.record_id, row.field)
            same = (free_text.c.record_id == row.record_id, free_text.c.field == row.field)
            self._conn.execute(delete(free_text).where(*same))

    def erase_files(self, *which: ColumnElement[bool]) -> list[str]:
        """Let go of the kept files of some records; give the hashes that nobody has any more."""
        query = select(stored_file.c.record_id, stored_file.c.sha256).join(
            record, record.c.id == stored_file.c.record_id
        )
        rows = self._conn.execute(query.where(*which)).all()
        for row in rows:
            self._note(row.record_id, FILE)
            self._conn.execute(delete(stored_file).where(stored_file.c.record_id == row.record_id))
        gone = {row.sha256 for row in rows}
        left = select(stored_file.c.sha256).where(stored_file.c.sha256.in_(gone))
        return sorted(gone - set(self._conn.execute(left).scalars()))

    def _note(self, record_id: str, field: str) -> None:
        """Put on record that one text is erased, and on what ground."""
        entry = Erasure(erased=Id(record_id), field=field, ground=self._ground)
        new = uuid.uuid4().hex
        self.poster.post(Draft(id=new, kind="erasure", ref=new, entry=entry))
        self.count += 1
