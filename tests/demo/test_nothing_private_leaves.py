"""From a real book to the files a buyer gets: nothing private of any vehicle is in them."""

from __future__ import annotations

from pathlib import Path

import pytest

from recondition.book import reading
from recondition.book.engine import Book
from recondition.book.kinds import KINDS
from recondition.book.questions import source_of, vehicle_of
from recondition.history import page, wording
from recondition.history.public import PUBLIC
from recondition.ledger.codec import words_of
from recondition.reports.files import write_history
from tests.history.reading import page_text, pdf_insides, pdf_text, squeezed

LEAST_MINOR = 1_000  # an amount of fewer digits may well be a place on a page
SHORTEST = 5  # a shorter text may well stand inside a public word


def _private(book: Book) -> dict[str, str]:
    """Give every private text and amount of the book with where it stands."""
    found: dict[str, str] = {}
    with book.reading() as conn:
        public = {text for record in reading.stored(conn, *KINDS) for text in _public(record)}
        for record in reading.stored(conn, *KINDS):
            words = words_of(record.entry)
            words |= {f: str(getattr(record.entry, f, None) or "")
                      for f in ("invoice_number", "contact")}  # fmt: skip
            if record.kind == "product":
                words["name"] = record.entry.name
            for field, text in words.items():
                if field not in PUBLIC.get(record.kind, ()) and len(text) >= SHORTEST:
                    found[text] = f"{record.kind} {record.ref}, {field}"
            if record.priced is not None and abs(record.priced.cost.minor) >= LEAST_MINOR:
                found[record.priced.cost.grouped] = f"cost of {record.ref}"
        shop = reading.settings_of(conn).shop_name
    # A private title may equal one of the sheet's own headings.
    own = Path(wording.__file__).read_text() + Path(page.__file__).read_text()
    return {
        text: where
        for text, where in found.items()
        if text not in public and text != shop and text not in own
    }


def _public(record: reading.Stored) -> list[str]:
    """Give the public texts of a record: one of them may equal a private one elsewhere."""
    fields = PUBLIC.get(record.kind, ())
    return [str(getattr(record.entry, field)) for field in fields]


@pytest.mark.parametrize("stock", ["0007", "0012"])
def test_no_private_text_or_amount_reaches_a_file(
    demo_book: Book, tmp_path: Path, stock: str
) -> None:
    with demo_book.reading() as conn:
        source = source_of(conn, vehicle_of(conn, stock))
    html, pdf, plain = write_history(source, tmp_path, made_on=demo_book.now().date())
    told = {
        "html": page_text(html.read_text(encoding="utf-8")) + html.read_text(encoding="utf-8"),
        "pdf": pdf_text(pdf.read_bytes()),
        "the PDF's insides": pdf_insides(pdf.read_bytes()),
        "json": plain.read_text(encoding="utf-8"),
    }
    private = _private(demo_book)
    assert len(private) > 100
    for name, text in told.items():
        amounts = name != "the PDF's insides"  # full of numbers that place its letters
        sought = {t: w for t, w in private.items() if amounts or not w.startswith("cost")}
        within = squeezed(text)
        leaked = {t: w for t, w in sought.items() if squeezed(t) in within}
        assert leaked == {}, name
