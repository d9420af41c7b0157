"""A shop of many hands: what each has for itself, and the car and the box they share.

Every preparer is invented, and so are the cars.
"""

from __future__ import annotations

import json
import subprocess
import sys
from collections import Counter
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING

from sqlalchemy import func, select

from recondition.book import reading
from recondition.book.check import check
from recondition.book.shelf import on_hand_of
from recondition.book.starting import start_book
from recondition.book.tables import entity, line, record
from recondition.book.tables_stock import movement
from recondition.intake.form import one_row

if TYPE_CHECKING:
    from recondition.book.engine import Book

COMMON, BOX = "COMMON", "P-CAPS"
RECEIVED = 1_000_000
ROOT = Path(__file__).parents[2]


def name_of(number: int) -> str:
    return f"W{number:02}"


def row(book: Book, sheet: str, ref: str | None, **values: str) -> None:
    result = one_row(book, sheet, values, author_ref=name_of(1), ref=ref)
    assert result.refused is None, result.refused


def prepared(location: str, writers: int) -> Book:
    """Make a book with a preparer and a car for each writer, a common car and a common box."""
    book = start_book(location, currency="USD", person=name_of(1), name="Hand 1", role="preparer")
    for number in range(1, writers + 1):
        name = name_of(number)
        if number > 1:
            row(book, "people", name, name=f"Hand {number}", role="preparer")
        row(book, "rates", None, person=name, from_date="2019-01-01", cost_rate="36")
        row(book, "vehicles", name, designation="1962 Aster Gull", holding="own stock")
    row(book, "vehicles", COMMON, designation="1957 Corvin 90", holding="own stock")
    row(book, "products", BOX, name="Caps", material_type="caps", unit="piece")
    row(book, "receipts", "R-1", product=BOX, received_on="2019-01-02",
        quantity=f"{RECEIVED} piece", price="5000")  # fmt: skip
    return book


@dataclass(frozen=True)
class Run:
    """What the writers of one run acknowledged, and how they fared."""

    acknowledged: dict[str, str]
    overtaken: int
    longest: float
    seconds: float

    def __str__(self) -> str:
        """Write it as a line of figures."""
        count = len(self.acknowledged)
        return (
            f"{count:,} postings in {self.seconds:.1f} s, {count / self.seconds:.0f} a second; "
            f"overtaken {self.overtaken:,} times; the longest took {self.longest:.2f} s"
        )


def write(location: str, folder: Path, writers: int, each: int) -> Run:
    """Let writers post at once, each in a process of its own; give what they acknowledged."""
    command = [sys.executable, "-m", "tests.hands.writer", location, str(folder)]
    subprocess.run([*command, str(writers), str(each)], cwd=ROOT, check=True)
    fared = [json.loads(path.read_text(encoding="utf-8")) for path in folder.glob("*.fared")]
    return Run(
        acknowledged=acknowledged(folder),
        overtaken=sum(one["overtaken"] for one in fared),
        longest=max(one["longest"] for one in fared),
        seconds=max(one["ended"] for one in fared) - min(one["began"] for one in fared),
    )


def acknowledged(folder: Path) -> dict[str, str]:
    """Read what was acknowledged: the record by its ref. A torn last line counts for nothing."""
    found: dict[str, str] = {}
    for path in sorted(folder.glob("*.acks")):
        for text in path.read_text(encoding="utf-8").splitlines(keepends=True):
            if text.endswith("\n"):
                ref, made = text.split()
                assert ref not in found
                found[ref] = made
    return found


def hold(book: Book, acks: dict[str, str], in_flight: int = 0) -> None:
    """Hold that the book has every acknowledged line once, whole chains, and its stock.

    ``in_flight`` writers may each have one line more, which was kept and not acknowledged yet.
    """
    with book.reading() as conn:
        query = select(entity.c.ref, entity.c.id).join(line, line.c.record_id == entity.c.id)
        rows = [(row.ref, row.id) for row in conn.execute(query)]
        product = reading.id_of(conn, "product", BOX)
        left = on_hand_of(conn, product)
        issued = conn.execute(
            select(func.count()).select_from(movement).where(movement.c.flow == "issued")
        ).scalar_one()
        taken = conn.execute(
            select(func.count()).select_from(line).where(line.c.product == product)
        ).scalar_one()
        keys = conn.execute(select(record.c.key)).scalars().all()
    assert [ref for ref, times in Counter(ref for ref, _ in rows).items() if times > 1] == []
    assert len(set(keys)) == len(keys)
    kept = dict(rows)
    assert {ref: kept.get(ref) for ref in acks} == acks
    assert issued == taken
    assert left == Decimal(RECEIVED - taken)
    beyond = Counter(ref.split("-")[0] for ref in kept.keys() - acks.keys())
    assert sum(beyond.values()) <= in_flight
    assert set(beyond.values()) <= {1}
    assert check(book).damages == []
