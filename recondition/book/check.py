"""Checking a whole book: database, guards, chains, columns, texts, money, stock and files.

It proves that the records are whole up to the last head noted outside the book, and no
more; ``against`` compares such noted heads (see ``anchors``). A damaged book never stops it:
what cannot be read is damage, and the other parts are looked at all the same.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from sqlalchemy import select

from recondition.book import (
    check_books,
    check_chains,
    check_database,
    check_files,
    check_names,
    check_schema,
    check_stock,
    check_touched,
)
from recondition.book.damage import Examined
from recondition.book.engine import Book
from recondition.book.errors import AnotherBook, NotABook
from recondition.book.looking import Look, leniently
from recondition.book.tables import chain_head, record
from recondition.book.wiping import owns_files
from recondition.ledger import chain

# In the order in which damage is told: what was posted first, what guards it last.
_PARTS: tuple[tuple[str, Callable[[Look], None]], ...] = (
    ("the chains", check_chains.chains),
    ("the names of entries", check_names.current),
    ("files", check_files.kept),
    ("the folder of files", check_files.others),
    ("stock", check_stock.stock),
    ("the books", check_books.books),
    ("rows of no record", check_names.strays),
    ("the database", check_database.database),
    ("tables and columns", check_schema.schema),
    ("the guards", check_schema.guarded),
    ("what damage touches", check_touched.touched),
)


def check(book: Book) -> Examined:
    """Look through the whole book in one consistent state of it."""
    examined = Examined()
    try:
        with book.reading() as conn, leniently(conn):
            look = Look(conn, book.files, book.location, book.now(), owns_files(book), examined)
            for name, step in _PARTS:
                look.part(name, step)
    except (NotABook, UnicodeError) as error:
        why = error.what if isinstance(error, NotABook) else "it says so in no encoding"
        examined.found(f"the database cannot be read: {why}", "database")
    return examined


def against(book: Book, noted: Sequence[chain.Head]) -> Examined:
    """Compare heads noted outside the book with its chains.

    A chain may have grown since; its record at the noted place must have the noted hash.
    Raises AnotherBook where not one vehicle or product of the heads is in the book.
    """
    examined = Examined()
    with book.reading() as conn, leniently(conn):
        known = set(conn.execute(select(chain_head.c.subject)).scalars())
        own = {head.subject for head in noted} - {chain.SHOP}
        if own and not own & known:
            raise AnotherBook
        for head in noted:
            query = select(record.c.hash).where(
                record.c.subject == head.subject, record.c.sequence == head.count
            )
            found = conn.execute(query).scalar()
            examined.counts["noted heads"] += 1
            if found is None:
                words = f"record {head.count} was noted and is gone"
                examined.found(words, head.subject, subject=head.subject)
            elif found != head.hash:
                words = f"record {head.count} is not the one that was noted"
                examined.found(words, head.subject, subject=head.subject)
        look = Look(conn, book.files, book.location, book.now(), own_folder=False)
        look.examined = examined
        look.part("what damage touches", check_touched.touched)
    return examined
