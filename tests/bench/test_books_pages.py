"""The pages of the books over big books, beside the journal that each of them is worked out of."""

from __future__ import annotations

import shutil
import sys
from contextlib import closing
from time import perf_counter
from typing import TYPE_CHECKING

import pytest

from recondition.book.accounting import journal_of
from recondition.book.engine import open_book
from tests.bench.beside import sizes
from tests.bench.big import big_book, big_place
from tests.web.visitors import signed_in

if TYPE_CHECKING:
    from pathlib import Path

PAGES = ("/books", "/books/journal", "/books/accounts", "/books/inventory", "/books/profit",
         "/books/ties", "/books/hours", "/vehicles/0001/ledger", "/vehicles/0001")  # fmt: skip
ROWS_MAX, RATIO_MAX = 100_000, 3


@pytest.mark.bench
@pytest.mark.parametrize("rows", [rows for rows in sizes() if rows <= ROWS_MAX])
def test_pages_of_the_books(tmp_path: Path, rows: int) -> None:
    big_book(rows).close()
    shutil.copy(big_place(rows), tmp_path / "big.book")
    with closing(open_book(str(tmp_path / "big.book"), keep=True)) as book:
        client = signed_in(book, "bookkeeper", "P00")
        with book.reading() as conn:
            began = perf_counter()
            entries = list(journal_of(conn).entries())
            plain = perf_counter() - began
        sys.stdout.write(f"\n{rows:,} lines: {len(entries):,} entries in {plain:.2f} s\n")
        slow = {}
        for page in PAGES:
            client.get(page)
            began = perf_counter()
            answer = client.get(page)
            took = perf_counter() - began
            assert answer.status_code == 200, page
            size = len(answer.get_data()) / 2**20
            sys.stdout.write(f"  {page}: {took:.2f} s, {size:.1f} MiB, ratio {took / plain:.2f}\n")
            if took > RATIO_MAX * plain:
                slow[page] = took
    assert slow == {}
