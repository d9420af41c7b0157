"""From a real book to the files a buyer gets: nothing private of any vehicle is in them."""

from __future__ import annotations

from pathlib import Path

import pytest

from recondition import history
from recondition.book import reading
from recondition.book.engine import Book
from recondition.book.keys import no_passphrase
from recondition.book.kinds import KINDS
from recondition.book.public import source_of
from recondition.book.questions import vehicle_of
from recondition.cli.demo import HISTORY_ON
from recondition.history.allowed import Allowed
from recondition.history.folder import HTML, JSON, PDF
from recondition.history.net_forms import without_data
from recondition.history.public import PUBLIC
from recondition.ledger.codec import words_of
from recondition.reports.history_release import Wanted, release
from tests.history.reading import page_text, pdf_insides, pdf_text, squeezed

LEAST_MINOR = 1_000  # an amount of fewer digits may well be a place on a page
SHORTEST = 5  # a shorter text may well stand inside a public word


def _private(book: Book, stock: str) -> dict[str, str]:
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
        source = source_of(conn, vehicle_of(conn, stock), HISTORY_ON)
        agreed = {source.shop_name, *Allowed(source).names()}
    # A private title may equal one of the sheet's own headings.
    own = "".join(each.read_text() for each in Path(history.__file__).parent.glob("*.py"))
    return {
        text: where
        for text, where in found.items()
        if text not in public and text not in agreed and text not in own
    }


def _public(record: reading.Stored) -> list[str]:
    """Give the public texts of a record: one of them may equal a private one elsewhere."""
    fields = PUBLIC.get(record.kind, ())
    return [str(getattr(record.entry, field)) for field in fields]


@pytest.mark.parametrize("stock", ["0007", "0012"])
def test_no_private_text_or_amount_reaches_a_file(demo_book: Book, stock: str) -> None:
    wanted = Wanted(vehicle=stock, made_on=HISTORY_ON)
    files = {each.path: each.content for each in release(demo_book, wanted, no_passphrase).files}
    html, pdf = files[HTML].decode(), files[PDF]
    told = {
        "html": without_data(page_text(html) + html),
        "pdf": pdf_text(pdf),
        "the PDF's insides": pdf_insides(pdf),
        "json": files[JSON].decode(),
    }
    private = _private(demo_book, stock)
    assert len(private) > 100
    for name, text in told.items():
        amounts = name != "the PDF's insides"  # full of numbers that place its letters
        sought = {t: w for t, w in private.items() if amounts or not w.startswith("cost")}
        within = squeezed(text)
        leaked = {t: w for t, w in sought.items() if squeezed(t) in within}
        assert leaked == {}, name
