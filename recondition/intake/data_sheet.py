"""Taking pH, density, hazards and ingredients of a product from its data sheet's text."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from recondition.book import reading
from recondition.book.again import again
from recondition.book.files import read_incoming, shown_name
from recondition.book.posting import Poster, Status
from recondition.condition.data_sheet import NotADataSheet, read_data_sheet
from recondition.intake.cells import Cell
from recondition.intake.sheets import sheet_named
from recondition.intake.values import parse_cell
from recondition.ledger.drafts import Draft
from recondition.ledger.jobsheet import nature_of

if TYPE_CHECKING:
    from recondition.book.engine import Book


@again
def take_data_sheet(
    book: Book, ref: str, path: Path, *, dated: str | None, author_ref: str
) -> list[str]:
    """Make a new version of a product with what its data sheet says; give what to say.

    What the sheet says nothing about stays as it was. Raises NotADataSheet, FileNotKept for
    what is no text, NotThere, UnknownAuthor and what posting a product names.
    """
    incoming = read_incoming(path)
    if incoming.media_type != "text/plain":
        raise NotADataSheet
    read = read_data_sheet(incoming.content.decode("utf-8"))
    with book.writing() as conn:
        found = reading.one(conn, "product", ref)
        column = sheet_named("products").column("sds_date")
        day = parse_cell(Cell(dated), column, reading.settings_of(conn)) if dated else None
        entry = replace(
            found.entry,
            ph=read.ph if read.ph is not None else found.entry.ph,
            ph_to=read.ph_to if read.ph is not None else found.entry.ph_to,
            density_g_ml=read.density_g_ml or found.entry.density_g_ml,
            hazards=read.hazards or found.entry.hazards,
            ingredients=read.ingredients or found.entry.ingredients,
            sds_date=day or found.entry.sds_date,
        )
        poster = Poster(book, conn, reading.author_of(conn, author_ref))
        result = poster.post(Draft(id=found.id, kind="product", ref=ref, entry=entry))
    says = [
        ("pH", " to ".join(str(p) for p in (read.ph, read.ph_to) if p is not None)),
        ("density g/ml", str(read.density_g_ml or "")),
        ("hazards", read.hazards),
        ("ingredients", read.ingredients),
    ]
    head = f"product {ref}: {result.status.value} from {shown_name(path)}"
    if result.status is Status.SAME:
        head = f"product {ref}: the sheet says what is on record already"
    told = [f"  {name}: {value or 'not on the sheet'}" for name, value in says]
    return [head, *told, f"  so it is {nature_of(ref, entry).words}; look whether that is right"]
