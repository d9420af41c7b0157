"""Erasing a person's texts from the book without breaking the chain."""

from __future__ import annotations

import uuid

from sqlalchemy import delete, select, update

from recondition.book.engine import Book
from recondition.book.errors import LastPerson
from recondition.book.posting import Poster
from recondition.book.reading import id_of, stored
from recondition.book.tables import entity, free_text, record
from recondition.errors import Refused
from recondition.fields import Id
from recondition.ledger.drafts import Draft
from recondition.ledger.people import Erasure


class GroundNeeded(Refused):
    """An erasure without a ground."""

    exit_status = 2

    def __init__(self) -> None:
        """Say what is missing."""
        super().__init__(
            "an erasure needs its ground", todo="Give --ground, such as 'request of 4 March'."
        )


def erase_person(book: Book, ref: str, *, author: str, ground: str) -> int:
    """Delete name, contact and ref of a person in every version; give how many texts went.

    What is left: random ids, the salted hashes, and who erased what, when and why.
    Raises NotThere, GroundNeeded, LastPerson.
    """
    if not ground.strip():
        raise GroundNeeded
    with book.writing() as conn:
        person_id = id_of(conn, "person", ref)
        others = [p for p in stored(conn, "person") if p.id != person_id and p.entry.name]
        if not others:
            raise LastPerson(ref)
        query = (
            select(free_text.c.record_id, free_text.c.field)
            .join(record, record.c.id == free_text.c.record_id)
            .where(record.c.entity == person_id)
        )
        texts = conn.execute(query).all()
        poster = Poster(book, conn, author)
        for row in texts:
            entry = Erasure(erased=Id(row.record_id), field=row.field, ground=ground.strip())
            new = uuid.uuid4().hex
            poster.post(Draft(id=new, kind="erasure", ref=new, entry=entry))
            conn.execute(
                delete(free_text).where(
                    free_text.c.record_id == row.record_id, free_text.c.field == row.field
                )
            )
        conn.execute(
            update(entity).where(entity.c.id == person_id).values(ref=f"erased-{person_id[:8]}")
        )
    return len(texts)
