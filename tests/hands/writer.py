"""Many writers: each posts lines one after another, and acknowledges each when it is kept.

    python -m tests.hands.writer BOOK FOLDER WRITERS COUNT

Each writer is a process of its own and opens the book itself. Each line is a transaction. Its
ref and record go to a file of the writer's, and to the disk, before the next begins; how it
fared goes to another file at the end.
"""

from __future__ import annotations

import json
import multiprocessing
import os
import sys
import time
from collections import Counter
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from sqlalchemy import event

from recondition.book.engine import Book, open_book
from recondition.intake.form import one_row
from tests.hands.shop import BOX, COMMON, name_of

FIRST = date(2019, 2, 1)
A_DAY = 100
LINE = {"unlinked": "whole vehicle", "words": "tidy up"}


def values_of(name: str, number: int) -> tuple[str, dict[str, str]]:
    """Give the sheet and the fields of a writer's line: mixed kinds, by turns."""
    day = (FIRST + timedelta(days=number // A_DAY)).isoformat()
    line = LINE | {"work_date": day}
    match number % 5:
        case 0:
            return "labour", line | {"vehicle": name, "person": name, "quantity": "3 min"}
        case 1:
            return "charges", line | {"vehicle": name, "price": "12.50"}
        case 2:
            return "charges", line | {"vehicle": COMMON, "price": "7.25"}
        case 3:
            return "labour", line | {"vehicle": COMMON, "person": name, "quantity": "4 min"}
        case _:
            return "consumables", line | {"vehicle": name, "product": BOX, "quantity": "1 piece"}


def post(book: Book, name: str, number: int) -> tuple[str, str]:
    """Post one line; give its ref and its record."""
    sheet, values = values_of(name, number)
    ref = f"{name}-{number}"
    result = one_row(book, sheet, values, author_ref=name, ref=ref, key=f"key {ref}")
    if result.refused is not None:
        raise result.refused
    return ref, result.record


def keep_posting(location: str, folder: Path, name: str, count: int) -> None:
    """Post lines as one of the writers."""
    book = open_book(location, keep=True)
    told: Counter[str] = Counter()

    def overtaken(_context: Any) -> None:
        told["overtaken"] += 1

    event.listen(book.engine, "handle_error", overtaken)
    began, longest = time.time(), 0.0
    with (folder / f"{name}.acks").open("a", encoding="utf-8") as acks:
        for number in range(count):
            started = time.monotonic()
            ref, made = post(book, name, number)
            acks.write(f"{ref} {made}\n")
            acks.flush()
            os.fsync(acks.fileno())
            longest = max(longest, time.monotonic() - started)
    book.close()
    fared = {"overtaken": told["overtaken"], "longest": longest}
    fared |= {"began": began, "ended": time.time()}
    (folder / f"{name}.fared").write_text(json.dumps(fared), encoding="utf-8")


def main(location: str, folder: Path, writers: int, count: int) -> int:
    """Let writers post at once; give how many of them failed."""
    # What is loaded once is not loaded by each: the processes begin as copies of this one.
    copies = multiprocessing.get_context("fork")
    started = [
        copies.Process(target=keep_posting, args=(location, folder, name_of(number), count))
        for number in range(1, writers + 1)
    ]
    for process in started:
        process.start()
    for process in started:
        process.join()
    return sum(process.exitcode != 0 for process in started)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1], Path(sys.argv[2]), int(sys.argv[3]), int(sys.argv[4])))
