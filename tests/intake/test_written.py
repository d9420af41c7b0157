"""A record written back as a row is the same record."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from recondition.book import reading
from recondition.book.engine import RollBack
from recondition.book.posting import Poster, Status
from recondition.intake.form import draft_of
from recondition.intake.sheets import SHEETS
from recondition.intake.written import ids_named, texts_of

if TYPE_CHECKING:
    from recondition.book.engine import Book
    from recondition.intake.spec import Sheet

# A document brings its file, which lies with the book and not beside the test.
WRITTEN = [sheet for sheet in SHEETS if sheet.kind != "document"]


@pytest.mark.parametrize("sheet", WRITTEN, ids=lambda sheet: sheet.name)
def test_every_record_of_the_demo_entered_again_is_there_already(
    demo_book: Book, sheet: Sheet
) -> None:
    with demo_book.writing() as conn:
        settings = reading.settings_of(conn)
        author = reading.author_of(conn, reading.all_refs(conn, "person")[0])
        found = reading.stored(conn, sheet.kind)[:12]
        for each in found:
            names = reading.names_of(conn, ids_named(sheet, each.entry))
            texts = texts_of(sheet, each.ref, each.entry, names, settings)
            draft = draft_of(conn, sheet.name, texts, ref=each.ref)
            (result,) = Poster(demo_book, conn, author).post_many([draft])
            assert result.status is Status.SAME, (each.ref, texts, result.refused)
        raise RollBack
